//! Completions as phones sent them, and the answers under their keys.
use super::Conn;
use chrono::{DateTime, Utc};
use serde_json::Value;
use uuid::Uuid;

/// The answer that was given under a key.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Answered {
    /// SHA-256 of the content that came first.
    pub fingerprint: Vec<u8>,
    pub answer: Value,
}

/// Holds the key until the transaction ends; false: somebody else is at work on it.
///
/// # Errors
/// When the database does not answer.
pub async fn hold_key(conn: &mut Conn, person: Uuid, key: &str) -> sqlx::Result<bool> {
    sqlx::query_scalar("select pg_try_advisory_xact_lock(hashtextextended($1::text || ':' || $2, 7))")
        .bind(person)
        .bind(key)
        .fetch_one(conn)
        .await
}

/// What was answered under the key.
///
/// # Errors
/// When the database does not answer.
pub async fn answered(conn: &mut Conn, person: Uuid, key: &str) -> sqlx::Result<Option<Answered>> {
    sqlx::query_as("select fingerprint, answer from idempotency_key where person_id = $1 and key = $2")
        .bind(person)
        .bind(key)
        .fetch_optional(conn)
        .await
}

/// Forgets the answers that were given before this moment; how many.
///
/// # Errors
/// When the database does not answer.
pub async fn forget_answers(conn: &mut Conn, before: DateTime<Utc>) -> sqlx::Result<u64> {
    let done =
        sqlx::query("delete from idempotency_key where answered_at < $1").bind(before).execute(conn).await?;
    Ok(done.rows_affected())
}

/// Keeps the answer under its key.
///
/// # Errors
/// `idempotency_key_once` when there is one.
pub async fn keep_answer(
    conn: &mut Conn,
    person: Uuid,
    key: &str,
    answered: &Answered,
    at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query(
        "insert into idempotency_key (person_id, key, fingerprint, answer, answered_at) values ($1, $2, $3, $4, $5)",
    )
    .bind(person)
    .bind(key)
    .bind(&answered.fingerprint)
    .bind(&answered.answer)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// A completion to be kept.
#[derive(Debug, Clone)]
pub struct New<'a> {
    pub id: Uuid,
    pub person_id: Uuid,
    pub visit_id: Option<Uuid>,
    /// As JSON, in the words of whoever sent it.
    pub sent: &'a str,
    /// `recorded`, `flagged`, `kept` or `closed`.
    pub state: &'static str,
    pub words: &'a str,
    pub record_id: Option<Uuid>,
    pub phone_completed_at: Option<DateTime<Utc>>,
    pub phone_sent_at: DateTime<Utc>,
    pub received_at: DateTime<Utc>,
}

/// Keeps a completion.
///
/// # Errors
/// `completion_pkey` when its id is taken.
pub async fn insert(conn: &mut Conn, c: &New<'_>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into completion (id, person_id, visit_id, sent, state, words, record_id, phone_completed_at,
            phone_sent_at, received_at)
         values ($1, $2, $3, $4::json, $5, $6, $7, $8, $9, $10)",
    )
    .bind(c.id)
    .bind(c.person_id)
    .bind(c.visit_id)
    .bind(c.sent)
    .bind(c.state)
    .bind(c.words)
    .bind(c.record_id)
    .bind(c.phone_completed_at)
    .bind(c.phone_sent_at)
    .bind(c.received_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Whether a completion or a record has this id.
///
/// # Errors
/// When the database does not answer.
pub async fn is_taken(conn: &mut Conn, id: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from completion where id = $1)
            or exists (select 1 from application_record where id = $1)",
    )
    .bind(id)
    .fetch_one(conn)
    .await
}

/// Whether the visit is, or ever was, this person's.
///
/// # Errors
/// When the database does not answer.
pub async fn was_theirs(conn: &mut Conn, visit: Uuid, person: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from visit where id = $1 and technician_id = $2)
            or exists (select 1 from visit_change where visit_id = $1 and technician_id = $2)",
    )
    .bind(visit)
    .bind(person)
    .fetch_one(conn)
    .await
}

/// A completion that was kept as it was sent.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Kept {
    pub id: Uuid,
    pub person_name: String,
    pub visit_id: Option<Uuid>,
    /// Whether such a visit is known.
    pub visit_known: bool,
    pub sent: String,
    pub words: String,
    pub received_at: DateTime<Utc>,
    pub phone_completed_at: Option<DateTime<Utc>>,
}

/// Kept ones that nobody has settled, oldest first.
///
/// # Errors
/// When the database does not answer.
pub async fn waiting(conn: &mut Conn, at_most: i64) -> sqlx::Result<Vec<Kept>> {
    sqlx::query_as(
        "select c.id, p.name as person_name, c.visit_id, v.id is not null as visit_known, c.sent::text as sent,
            c.words, c.received_at, c.phone_completed_at
         from completion c join person p on p.id = c.person_id left join visit v on v.id = c.visit_id
         where c.state = 'kept' and c.settled_at is null order by c.received_at, c.id limit $1",
    )
    .bind(at_most)
    .fetch_all(conn)
    .await
}

/// Writes down what came of a kept one; whether it still waited.
///
/// # Errors
/// When the database does not answer.
pub async fn settle(
    conn: &mut Conn,
    id: Uuid,
    person: Uuid,
    words: &str,
    at: DateTime<Utc>,
) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update completion set settled_by = $2, settled_words = $3, settled_at = $4
         where id = $1 and state = 'kept' and settled_at is null",
    )
    .bind(id)
    .bind(person)
    .bind(words)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}
