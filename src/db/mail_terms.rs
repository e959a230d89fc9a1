//! How the company writes to its customers: one row, made when it is first needed.
use super::Conn;
use crate::domain::reminder;
use chrono::NaiveDate;

/// The company's terms of mail. Nobody sees the key of links through this.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Terms {
    /// Whether reminders are written at all.
    pub running: bool,
    pub days_before: Vec<i32>,
    pub days_after: Vec<i32>,
    /// 1 is Monday.
    pub quiet_weekdays: Vec<i16>,
    pub quiet_dates: Vec<NaiveDate>,
    /// Days for which a customer's link works.
    pub link_days: i32,
}

impl Terms {
    /// The dates as the domain counts with them.
    #[must_use]
    pub fn dates(&self) -> reminder::Terms {
        let days = |all: &[i32]| all.iter().filter_map(|days| u32::try_from(*days).ok()).collect();
        reminder::Terms {
            before: days(&self.days_before),
            after: days(&self.days_after),
            quiet_weekdays: self.quiet_weekdays.iter().filter_map(|day| u32::try_from(*day).ok()).collect(),
            quiet_dates: self.quiet_dates.clone(),
        }
    }
}

/// The terms; none: nobody has needed them yet.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn) -> sqlx::Result<Option<Terms>> {
    sqlx::query_as(
        "select running, days_before, days_after, quiet_weekdays, quiet_dates, link_days from mail_terms",
    )
    .fetch_optional(conn)
    .await
}

/// Makes the row with its usual values and this key of links, where there is none yet.
///
/// # Errors
/// `mail_terms_key_long` when the key has not 32 bytes.
pub async fn make(conn: &mut Conn, key: &[u8]) -> sqlx::Result<()> {
    sqlx::query("insert into mail_terms (link_key) values ($1) on conflict (only_row) do nothing")
        .bind(key)
        .execute(conn)
        .await?;
    Ok(())
}

/// The key of signed links; none: the row is not made yet.
///
/// # Errors
/// When the database does not answer.
pub async fn link_key(conn: &mut Conn) -> sqlx::Result<Option<Vec<u8>>> {
    sqlx::query_scalar("select link_key from mail_terms").fetch_optional(conn).await
}

/// Changes the terms.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn save(conn: &mut Conn, t: &Terms) -> sqlx::Result<()> {
    sqlx::query(
        "update mail_terms set running = $1, days_before = $2, days_after = $3, quiet_weekdays = $4,
            quiet_dates = $5, link_days = $6",
    )
    .bind(t.running)
    .bind(&t.days_before)
    .bind(&t.days_after)
    .bind(&t.quiet_weekdays)
    .bind(&t.quiet_dates)
    .bind(t.link_days)
    .execute(conn)
    .await?;
    Ok(())
}
