//! Who lives or works beside a site and is told before something is applied there.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// A neighbour of a site.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Neighbour {
    pub id: Uuid,
    pub site_id: Uuid,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub email: String,
    /// How or why they are told.
    pub note: String,
}

const COLUMNS: &str = "select id, site_id, name, address, phone, email, note from site_neighbour where ";

/// Those on a site's list, by name.
///
/// # Errors
/// When the database does not answer.
pub async fn of_site(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Neighbour>> {
    let text = format!("{COLUMNS} site_id = $1 and removed_at is null order by lower(name), id");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(site).fetch_all(conn).await
}

/// One of a site's list.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, site: Uuid, id: Uuid) -> sqlx::Result<Option<Neighbour>> {
    let text = format!("{COLUMNS} site_id = $1 and id = $2 and removed_at is null");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(site).bind(id).fetch_optional(conn).await
}

/// Puts one on the list.
///
/// # Errors
/// When a rule of the table breaks (`site_neighbour_pkey`: the same form twice).
pub async fn insert(conn: &mut Conn, n: &Neighbour, by: Option<Uuid>, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into site_neighbour (id, site_id, name, address, phone, email, note, entered_by, entered_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(n.id)
    .bind(n.site_id)
    .bind(&n.name)
    .bind(&n.address)
    .bind(&n.phone)
    .bind(&n.email)
    .bind(&n.note)
    .bind(by)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes what is written about one.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn update(conn: &mut Conn, n: &Neighbour) -> sqlx::Result<()> {
    sqlx::query(
        "update site_neighbour set name = $3, address = $4, phone = $5, email = $6, note = $7
         where site_id = $1 and id = $2 and removed_at is null",
    )
    .bind(n.site_id)
    .bind(n.id)
    .bind(&n.name)
    .bind(&n.address)
    .bind(&n.phone)
    .bind(&n.email)
    .bind(&n.note)
    .execute(conn)
    .await?;
    Ok(())
}

/// Takes one off the list; false: nobody like that is on it.
///
/// # Errors
/// When the database does not answer.
pub async fn remove(conn: &mut Conn, site: Uuid, id: Uuid, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update site_neighbour set removed_at = $3 where site_id = $1 and id = $2 and removed_at is null",
    )
    .bind(site)
    .bind(id)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}
