//! Photos from the field.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// What is known of a photo beside its bytes.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Kept {
    pub person_id: Uuid,
    /// `image/jpeg` or `image/png`.
    pub kind: String,
    pub sent_hash: Vec<u8>,
    pub stripped: bool,
    /// How many bytes are kept.
    pub bytes: i64,
}

/// Keeps a photo; false: its id is taken.
///
/// # Errors
/// When the database does not answer.
pub async fn insert(
    conn: &mut Conn,
    id: Uuid,
    photo: &Kept,
    content: &[u8],
    at: DateTime<Utc>,
) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into photo (id, person_id, kind, sent_hash, stripped, content, received_at)
         values ($1, $2, $3, $4, $5, $6, $7) on conflict (id) do nothing",
    )
    .bind(id)
    .bind(photo.person_id)
    .bind(&photo.kind)
    .bind(&photo.sent_hash)
    .bind(photo.stripped)
    .bind(content)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// A photo without its bytes.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Kept>> {
    sqlx::query_as(
        "select person_id, kind, sent_hash, stripped, length(content)::bigint as bytes from photo where id = $1",
    )
    .bind(id)
    .fetch_optional(conn)
    .await
}

/// Which of these have arrived.
///
/// # Errors
/// When the database does not answer.
pub async fn arrived(conn: &mut Conn, ids: &[Uuid]) -> sqlx::Result<Vec<Uuid>> {
    sqlx::query_scalar("select id from photo where id = any($1)").bind(ids).fetch_all(conn).await
}

/// Kind and bytes of a photo that the newest version of the record names.
///
/// # Errors
/// When the database does not answer.
pub async fn of_record(
    conn: &mut Conn,
    record: Uuid,
    photo: Uuid,
) -> sqlx::Result<Option<(String, Vec<u8>)>> {
    sqlx::query_as(
        "select kind, content from photo where id = $2 and exists (select 1 from application_record r
            where r.id = $1 and r.conditions -> 'photos' ? $2::text)",
    )
    .bind(record)
    .bind(photo)
    .fetch_optional(conn)
    .await
}
