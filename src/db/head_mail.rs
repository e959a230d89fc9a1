//! Where heads are mailed to: one row.
use super::Conn;

/// The setting.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow, serde::Serialize)]
pub struct HeadMail {
    /// Empty: nothing is mailed.
    pub recipient: String,
    /// Code of a `domain::head_mail::Often`.
    pub every: String,
}

/// The setting; none: nobody has made one.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn) -> sqlx::Result<Option<HeadMail>> {
    sqlx::query_as("select recipient, every from head_mail").fetch_optional(conn).await
}

/// The setting, held until the transaction ends: one copy of the program at a time asks whether a head is due.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn) -> sqlx::Result<Option<HeadMail>> {
    sqlx::query_as("select recipient, every from head_mail for update").fetch_optional(conn).await
}

/// Writes the setting over the one before.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn save(conn: &mut Conn, new: &HeadMail) -> sqlx::Result<()> {
    sqlx::query(
        "insert into head_mail (recipient, every) values ($1, $2)
         on conflict (only_row) do update set recipient = excluded.recipient, every = excluded.every",
    )
    .bind(&new.recipient)
    .bind(&new.every)
    .execute(conn)
    .await?;
    Ok(())
}
