//! Who did what, when: one row per deed, in the deed's own transaction; and who saw what.
mod link;
mod list;

pub use link::{link, verify};
pub use list::{After, Filter, Line, Trail, count, list, nouns, people};

use super::Conn;
use chrono::{DateTime, Utc};
use serde_json::Value;
use uuid::Uuid;

/// A deed to be written down.
#[derive(Debug)]
pub struct Deed<'a> {
    pub at: DateTime<Utc>,
    /// Nobody: the program itself, or a visitor without a session.
    pub person: Option<Uuid>,
    pub deed: &'a str,
    pub noun: &'a str,
    pub noun_id: Option<Uuid>,
    pub detail: Value,
}

/// Whether the person saw this since then, by the newest of their rows.
///
/// # Errors
/// When the database does not answer.
pub async fn was_seen(
    conn: &mut Conn,
    person: Option<Uuid>,
    noun: &str,
    noun_id: Option<Uuid>,
    since: DateTime<Utc>,
) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from audit where person_id = $1 and at >= $4 and deed = 'seen' and noun = $2
            and noun_id is not distinct from $3)",
    )
    .bind(person)
    .bind(noun)
    .bind(noun_id)
    .bind(since)
    .fetch_one(conn)
    .await
}

/// Writes the deed down.
///
/// # Errors
/// When the database does not answer.
pub async fn write(conn: &mut Conn, deed: Deed<'_>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into audit (at, person_id, deed, noun, noun_id, detail) values ($1, $2, $3, $4, $5, $6)",
    )
    .bind(deed.at)
    .bind(deed.person)
    .bind(deed.deed)
    .bind(deed.noun)
    .bind(deed.noun_id)
    .bind(deed.detail)
    .execute(conn)
    .await?;
    Ok(())
}
