//! Who is signed in, and how often a sign-in failed.
use super::{Conn, person::role_of};
use crate::domain::user::Role;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// A live session with the person and the company it belongs to: one read a request.
#[derive(Debug, Clone)]
pub struct Session {
    pub secret_hash: Vec<u8>,
    pub person_id: Uuid,
    pub name: String,
    pub role: Role,
    pub csrf: String,
    pub last_seen_at: DateTime<Utc>,
    pub company: String,
    pub time_zone: String,
    /// Tag of the language that they read.
    pub language: String,
}

#[derive(sqlx::FromRow)]
struct Row {
    secret_hash: Vec<u8>,
    person_id: Uuid,
    name: String,
    role: String,
    csrf: String,
    last_seen_at: DateTime<Utc>,
    company: String,
    time_zone: String,
    language: String,
}

/// The session behind a secret, if it was seen since `idle` and begun since `absolute`.
///
/// # Errors
/// When the database does not answer.
pub async fn find(
    conn: &mut Conn,
    secret_hash: &[u8],
    idle: DateTime<Utc>,
    absolute: DateTime<Utc>,
) -> sqlx::Result<Option<Session>> {
    let row: Option<Row> = sqlx::query_as(
        "select s.secret_hash, s.person_id, p.name, p.role, s.csrf, s.last_seen_at,
            coalesce(c.name, 'Plantward') as company, coalesce(c.time_zone, 'UTC') as time_zone, p.language
         from session s join person p on p.id = s.person_id left join company c on true
         where s.secret_hash = $1 and s.last_seen_at > $2 and s.created_at > $3 and p.retired_at is null",
    )
    .bind(secret_hash)
    .bind(idle)
    .bind(absolute)
    .fetch_optional(conn)
    .await?;
    row.map(|r| {
        Ok(Session {
            secret_hash: r.secret_hash,
            person_id: r.person_id,
            name: r.name,
            role: role_of(&r.role)?,
            csrf: r.csrf,
            last_seen_at: r.last_seen_at,
            company: r.company,
            time_zone: r.time_zone,
            language: r.language,
        })
    })
    .transpose()
}

/// Begins a session.
///
/// # Errors
/// When the database does not answer.
pub async fn insert(
    conn: &mut Conn,
    secret_hash: &[u8],
    person: Uuid,
    csrf: &str,
    user_agent: &str,
    at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query(
        "insert into session (secret_hash, person_id, csrf, user_agent, created_at, last_seen_at)
         values ($1, $2, $3, $4, $5, $5)",
    )
    .bind(secret_hash)
    .bind(person)
    .bind(csrf)
    .bind(user_agent)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Notes that the session is in use.
///
/// # Errors
/// When the database does not answer.
pub async fn touch(conn: &mut Conn, secret_hash: &[u8], at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query("update session set last_seen_at = $2 where secret_hash = $1")
        .bind(secret_hash)
        .bind(at)
        .execute(conn)
        .await?;
    Ok(())
}

/// Ends one session.
///
/// # Errors
/// When the database does not answer.
pub async fn delete(conn: &mut Conn, secret_hash: &[u8]) -> sqlx::Result<()> {
    sqlx::query("delete from session where secret_hash = $1").bind(secret_hash).execute(conn).await?;
    Ok(())
}

/// Ends every session of a person; how many there were.
///
/// # Errors
/// When the database does not answer.
pub async fn delete_all(conn: &mut Conn, person: Uuid) -> sqlx::Result<u64> {
    let done = sqlx::query("delete from session where person_id = $1").bind(person).execute(conn).await?;
    Ok(done.rows_affected())
}

/// How often the key failed since then.
///
/// # Errors
/// When the database does not answer.
pub async fn failures(conn: &mut Conn, key: &str, since: DateTime<Utc>) -> sqlx::Result<i64> {
    sqlx::query_scalar("select count(*) from sign_in_failure where key = $1 and at > $2")
        .bind(key)
        .bind(since)
        .fetch_one(conn)
        .await
}

/// Notes a failure for each key.
///
/// # Errors
/// When the database does not answer.
pub async fn note_failure(conn: &mut Conn, keys: &[String], at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query("insert into sign_in_failure (key, at) select unnest($1::text[]), $2")
        .bind(keys)
        .bind(at)
        .execute(conn)
        .await?;
    Ok(())
}

/// Forgets sessions and failures that can no longer matter.
///
/// # Errors
/// When the database does not answer.
pub async fn sweep(
    conn: &mut Conn,
    absolute: DateTime<Utc>,
    failures_before: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query("delete from session where created_at <= $1").bind(absolute).execute(&mut *conn).await?;
    sqlx::query("delete from sign_in_failure where at <= $1").bind(failures_before).execute(conn).await?;
    Ok(())
}
