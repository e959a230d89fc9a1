//! Links that let a person choose a password: invitations and the first set-up.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Whom a link is for and until when.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Invitation {
    pub person_id: Uuid,
    pub name: String,
    pub email: String,
    pub expires_at: DateTime<Utc>,
}

/// Makes a link for the person; links made for them before stop working.
///
/// # Errors
/// When the database does not answer.
pub async fn insert(
    conn: &mut Conn,
    secret_hash: &[u8],
    person: Uuid,
    invited_by: Option<Uuid>,
    at: DateTime<Utc>,
    expires_at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query("delete from invitation where person_id = $1 and used_at is null")
        .bind(person)
        .execute(&mut *conn)
        .await?;
    sqlx::query(
        "insert into invitation (secret_hash, person_id, invited_by, created_at, expires_at) values ($1, $2, $3, $4, $5)",
    )
    .bind(secret_hash)
    .bind(person)
    .bind(invited_by)
    .bind(at)
    .bind(expires_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// The invitation behind a secret, while it can still be used.
///
/// # Errors
/// When the database does not answer.
pub async fn find_open(
    conn: &mut Conn,
    secret_hash: &[u8],
    at: DateTime<Utc>,
) -> sqlx::Result<Option<Invitation>> {
    sqlx::query_as(
        "select i.person_id, p.name, p.email, i.expires_at from invitation i join person p on p.id = i.person_id
         where i.secret_hash = $1 and i.used_at is null and i.expires_at > $2 and p.retired_at is null",
    )
    .bind(secret_hash)
    .bind(at)
    .fetch_optional(conn)
    .await
}

/// Uses the link up; false when somebody else was faster.
///
/// # Errors
/// When the database does not answer.
pub async fn use_up(conn: &mut Conn, secret_hash: &[u8], at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update invitation set used_at = $2 where secret_hash = $1 and used_at is null and expires_at > $2",
    )
    .bind(secret_hash)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Replaces the set-up link's secret.
///
/// # Errors
/// When the database does not answer.
pub async fn save_setup(conn: &mut Conn, secret_hash: &[u8], at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into setup_link (secret_hash, created_at) values ($1, $2)
         on conflict (only_row) do update set secret_hash = excluded.secret_hash, created_at = excluded.created_at",
    )
    .bind(secret_hash)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Whether this is the set-up link's secret and nobody has been entered yet.
///
/// # Errors
/// When the database does not answer.
pub async fn setup_is_open(conn: &mut Conn, secret_hash: &[u8]) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from setup_link where secret_hash = $1) and not exists (select 1 from person)",
    )
    .bind(secret_hash)
    .fetch_one(conn)
    .await
}

/// Takes the set-up link away; false when it was not there any more. The row lock
/// makes two people at once take turns.
///
/// # Errors
/// When the database does not answer.
pub async fn use_up_setup(conn: &mut Conn, secret_hash: &[u8]) -> sqlx::Result<bool> {
    let done = sqlx::query("delete from setup_link where secret_hash = $1")
        .bind(secret_hash)
        .execute(&mut *conn)
        .await?;
    Ok(done.rows_affected() == 1 && !super::person::anyone(conn).await?)
}
