//! What a record copies of its site and its people, as they stand when it is written.
use crate::db::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A site with its customer, in the words that a record keeps.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Place {
    pub site_id: Uuid,
    pub parcel_id: Uuid,
    pub state: String,
    pub county: String,
    pub site_address: String,
    pub customer_name: String,
    pub customer_address: String,
    pub retired_at: Option<DateTime<Utc>>,
}

/// The site in a record's words.
///
/// # Errors
/// When the database does not answer.
pub async fn place(conn: &mut Conn, site: Uuid) -> sqlx::Result<Option<Place>> {
    sqlx::query_as(
        "select s.id as site_id, s.parcel_id, s.state, s.county, s.retired_at,
            concat(s.street, ', ', s.city, ', ', s.state, ' ', s.zip) as site_address, c.name as customer_name,
            concat_ws(', ', nullif(c.street, ''), nullif(c.city, ''), nullif(trim(c.state || ' ' || c.zip), ''))
                as customer_address
         from site s join customer c on c.id = s.customer_id where s.id = $1",
    )
    .bind(site)
    .fetch_optional(conn)
    .await
}

/// Somebody who may be named in a record, with their certification of that state on that day.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Named {
    pub id: Uuid,
    pub name: String,
    /// Empty: none is in force that day.
    pub number: String,
    pub retired: bool,
}

/// Everybody, those at work first, with the certification of `state` that is in force on that day.
///
/// # Errors
/// When the database does not answer.
pub async fn people_on(conn: &mut Conn, state: &str, on: NaiveDate) -> sqlx::Result<Vec<Named>> {
    sqlx::query_as(
        "select p.id, p.name, p.retired_at is not null as retired, coalesce((select c.number
                from certification c where c.person_id = p.id and c.state = $1 and $2 between c.valid_from and c.expires_on
                order by c.expires_on desc, c.id limit 1), '') as number
         from person p order by p.retired_at is not null, lower(p.name), p.id",
    )
    .bind(state)
    .bind(on)
    .fetch_all(conn)
    .await
}

/// One of them.
///
/// # Errors
/// When the database does not answer.
pub async fn person_on(conn: &mut Conn, id: Uuid, state: &str, on: NaiveDate) -> sqlx::Result<Option<Named>> {
    Ok(people_on(conn, state, on).await?.into_iter().find(|one| one.id == id))
}
