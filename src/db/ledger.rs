//! The lock on a parcel's cap ledger. Whoever reserves from the cap must hold it,
//! so that two bookings at once cannot both take what is left.
use super::Conn;
use uuid::Uuid;

/// Proof that this transaction holds the parcel's ledger until it ends.
#[derive(Debug)]
pub struct Locked {
    parcel: Uuid,
}

impl Locked {
    /// The parcel whose ledger is held.
    #[must_use]
    pub fn parcel(&self) -> Uuid {
        self.parcel
    }
}

/// Waits for the parcel's ledger and holds it until the transaction ends.
///
/// # Errors
/// `RowNotFound` when there is no such parcel.
pub async fn lock(conn: &mut Conn, parcel: Uuid) -> sqlx::Result<Locked> {
    let parcel = sqlx::query_scalar("select id from parcel where id = $1 for update")
        .bind(parcel)
        .fetch_one(conn)
        .await?;
    Ok(Locked { parcel })
}

/// Holds the ledger of the parcel on which the site lies.
///
/// # Errors
/// `RowNotFound` when there is no such site.
pub async fn lock_of_site(conn: &mut Conn, site: Uuid) -> sqlx::Result<Locked> {
    let parcel = sqlx::query_scalar(
        "select id from parcel where id = (select parcel_id from site where id = $1) for update",
    )
    .bind(site)
    .fetch_one(conn)
    .await?;
    Ok(Locked { parcel })
}
