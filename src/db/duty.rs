//! What was done of the notices and signs that the law asks for at a visit. Rows are added and stay: which of them
//! counts follows from the visit's day (`domain::notice::standing`).
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// Something that was done of a duty, or why the law leaves it open.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Done {
    pub visit_id: Uuid,
    /// Code of a rule of `domain::notice`.
    pub code: String,
    /// The visit's day when it was done.
    pub for_day: NaiveDate,
    pub done_at: DateTime<Utc>,
    pub by: String,
    pub how: String,
    /// Not done, and not asked for: `how` says why.
    pub excused: bool,
}

/// What was done of these visits' duties, what was noted first at the front.
///
/// # Errors
/// When the database does not answer.
pub async fn of_visits(conn: &mut Conn, visits: &[Uuid]) -> sqlx::Result<Vec<Done>> {
    sqlx::query_as(
        "select d.visit_id, d.code, d.for_day, d.done_at, p.name as by, d.how, d.excused
         from visit_duty d join person p on p.id = d.done_by
         where d.visit_id = any($1) order by d.visit_id, d.code, d.noted_at",
    )
    .bind(visits)
    .fetch_all(conn)
    .await
}

/// A deed to be written down.
#[derive(Debug, Clone)]
pub struct New<'a> {
    pub visit: Uuid,
    pub code: &'a str,
    pub for_day: NaiveDate,
    pub done_at: DateTime<Utc>,
    pub by: Uuid,
    pub how: &'a str,
    pub excused: bool,
}

/// Writes a deed down; false: the very same moment has one.
///
/// # Errors
/// `visit_duty_done_before_noted` when it is still to come.
pub async fn insert(conn: &mut Conn, new: &New<'_>, noted_at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into visit_duty (visit_id, code, for_day, done_at, done_by, how, excused, noted_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8) on conflict do nothing",
    )
    .bind(new.visit)
    .bind(new.code)
    .bind(new.for_day)
    .bind(new.done_at)
    .bind(new.by)
    .bind(new.how)
    .bind(new.excused)
    .bind(noted_at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}
