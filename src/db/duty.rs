//! What was done of the notices and signs that the law asks for at a visit.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// A duty that is done.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Done {
    pub visit_id: Uuid,
    /// Code of a rule of `domain::notice`.
    pub code: String,
    pub done_at: DateTime<Utc>,
    pub by: String,
    pub how: String,
}

/// What was done of these visits' duties.
///
/// # Errors
/// When the database does not answer.
pub async fn of_visits(conn: &mut Conn, visits: &[Uuid]) -> sqlx::Result<Vec<Done>> {
    sqlx::query_as(
        "select d.visit_id, d.code, d.done_at, p.name as by, d.how from visit_duty d join person p on p.id = d.done_by
         where d.visit_id = any($1) order by d.visit_id, d.code",
    )
    .bind(visits)
    .fetch_all(conn)
    .await
}

/// Notes that a duty is done; false: it was noted before.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(
    conn: &mut Conn,
    visit: Uuid,
    code: &str,
    (by, at): (Uuid, DateTime<Utc>),
    how: &str,
) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into visit_duty (visit_id, code, done_at, done_by, how) values ($1, $2, $3, $4, $5)
         on conflict do nothing",
    )
    .bind(visit)
    .bind(code)
    .bind(at)
    .bind(by)
    .bind(how)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}
