//! Limits that recorded facts broke, and the answers of licensed people.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// A limit that one version of a record broke.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Flag {
    pub id: Uuid,
    pub record_id: Uuid,
    pub version: i32,
    /// Code of the rule.
    pub rule: String,
    pub words: String,
    pub raised_at: DateTime<Utc>,
    pub answered_by: Option<Uuid>,
    pub answered_name: Option<String>,
    pub answered_number: Option<String>,
    pub answered_at: Option<DateTime<Utc>>,
    pub answer: String,
}

/// Raises a flag.
///
/// # Errors
/// When the database does not answer.
pub async fn raise(
    conn: &mut Conn,
    record: Uuid,
    version: i32,
    rule: &str,
    words: &str,
    at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query(
        "insert into record_flag (id, record_id, version, rule, words, raised_at) values ($1, $2, $3, $4, $5, $6)",
    )
    .bind(Uuid::now_v7())
    .bind(record)
    .bind(version)
    .bind(rule)
    .bind(words)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// The flags of every version of a record, newest version first.
///
/// # Errors
/// When the database does not answer.
pub async fn of_record(conn: &mut Conn, record: Uuid) -> sqlx::Result<Vec<Flag>> {
    sqlx::query_as(
        "select f.*, p.name as answered_name, c.number as answered_number from record_flag f
         left join person p on p.id = f.answered_by
         left join certification c on c.id = f.answered_certification_id
         where f.record_id = $1 order by f.version desc, f.raised_at, f.id",
    )
    .bind(record)
    .fetch_all(conn)
    .await
}

/// One flag, its row held until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Flag>> {
    sqlx::query_as(
        "select f.*, null::text as answered_name, null::text as answered_number
         from record_flag f where f.id = $1 for update",
    )
    .bind(id)
    .fetch_optional(conn)
    .await
}

/// Writes the answer.
///
/// # Errors
/// When the database does not answer.
pub async fn answer(
    conn: &mut Conn,
    id: Uuid,
    person: Uuid,
    certification: Uuid,
    at: DateTime<Utc>,
    words: &str,
) -> sqlx::Result<()> {
    sqlx::query(
        "update record_flag set answered_by = $2, answered_certification_id = $3, answered_at = $4, answer = $5
         where id = $1 and answered_at is null",
    )
    .bind(id)
    .bind(person)
    .bind(certification)
    .bind(at)
    .bind(words)
    .execute(conn)
    .await?;
    Ok(())
}

/// How many flags of newest versions wait for an answer.
///
/// # Errors
/// When the database does not answer.
pub async fn open_count(conn: &mut Conn) -> sqlx::Result<i64> {
    sqlx::query_scalar(
        "select count(*) from record_flag f join application_now r on r.id = f.record_id and r.version = f.version
         where f.answered_at is null",
    )
    .fetch_one(conn)
    .await
}
