//! Whom customers name to be told before work at their site; the office decides.
use super::{Conn, neighbour::Neighbour};
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Somebody whom a customer named.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Proposal {
    pub id: Uuid,
    pub site_id: Uuid,
    pub customer_id: Uuid,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub email: String,
    pub note: String,
    pub given_at: DateTime<Utc>,
}

impl Proposal {
    /// As they would stand on the site's list, under this id.
    #[must_use]
    pub fn as_neighbour(&self, id: Uuid) -> Neighbour {
        let Self { site_id, name, address, phone, email, note, .. } = self.clone();
        Neighbour { id, site_id, name, address, phone, email, note }
    }
}

const COLUMNS: &str = "select id, site_id, customer_id, name, address, phone, email, note, given_at from neighbour_proposal where ";

/// Those of a site that nobody has decided about, what was given first at the front.
///
/// # Errors
/// When the database does not answer.
pub async fn open_of_site(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Proposal>> {
    let text = format!("{COLUMNS} site_id = $1 and settled_at is null order by given_at, id");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(site).fetch_all(conn).await
}

/// A site with open proposals, and how many.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Waiting {
    pub site_id: Uuid,
    pub street: String,
    pub customer_name: String,
    pub count: i64,
}

/// The sites where proposals wait, the oldest first.
///
/// # Errors
/// When the database does not answer.
pub async fn waiting(conn: &mut Conn, limit: i64) -> sqlx::Result<Vec<Waiting>> {
    sqlx::query_as(
        "select p.site_id, s.street, c.name as customer_name, count(*) as count
         from neighbour_proposal p join site s on s.id = p.site_id join customer c on c.id = s.customer_id
         where p.settled_at is null group by p.site_id, s.street, c.name order by min(p.given_at), p.site_id limit $1",
    )
    .bind(limit)
    .fetch_all(conn)
    .await
}

/// An open one, held until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, site: Uuid, id: Uuid) -> sqlx::Result<Option<Proposal>> {
    let text = format!("{COLUMNS} site_id = $1 and id = $2 and settled_at is null for update");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(site).bind(id).fetch_optional(conn).await
}

/// Keeps one; false: it is kept already.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(conn: &mut Conn, p: &Proposal) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into neighbour_proposal (id, site_id, customer_id, name, address, phone, email, note, given_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9) on conflict (id) do nothing",
    )
    .bind(p.id)
    .bind(p.site_id)
    .bind(p.customer_id)
    .bind(&p.name)
    .bind(&p.address)
    .bind(&p.phone)
    .bind(&p.email)
    .bind(&p.note)
    .bind(p.given_at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Notes what became of one that is held: who came onto the list by it, or nobody.
///
/// # Errors
/// When the database does not answer.
pub async fn settle(
    conn: &mut Conn,
    id: Uuid,
    (by, at): (Uuid, DateTime<Utc>),
    neighbour: Option<Uuid>,
) -> sqlx::Result<()> {
    sqlx::query(
        "update neighbour_proposal set settled_at = $3, settled_by = $2, neighbour_id = $4 where id = $1",
    )
    .bind(id)
    .bind(by)
    .bind(at)
    .bind(neighbour)
    .execute(conn)
    .await?;
    Ok(())
}
