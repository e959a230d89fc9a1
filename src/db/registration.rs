//! Counties in which the company is registered.
use super::Conn;
use chrono::NaiveDate;
use uuid::Uuid;

/// A registration with a county; first and last day count.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Registration {
    pub id: Uuid,
    pub state: String,
    pub county: String,
    pub number: String,
    pub valid_from: NaiveDate,
    pub expires_on: NaiveDate,
}

/// Enters a registration.
///
/// # Errors
/// `county_registration_pkey` when it was sent before, or another rule of the table.
pub async fn insert(conn: &mut Conn, r: &Registration) -> sqlx::Result<()> {
    sqlx::query(
        "insert into county_registration (id, state, county, number, valid_from, expires_on)
         values ($1, $2, $3, $4, $5, $6)",
    )
    .bind(r.id)
    .bind(&r.state)
    .bind(&r.county)
    .bind(&r.number)
    .bind(r.valid_from)
    .bind(r.expires_on)
    .execute(conn)
    .await?;
    Ok(())
}

/// Every registration, by place, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn) -> sqlx::Result<Vec<Registration>> {
    sqlx::query_as("select * from county_registration order by state, lower(county), expires_on desc, id")
        .fetch_all(conn)
        .await
}
