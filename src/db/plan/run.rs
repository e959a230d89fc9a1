//! Calculations of a plan in the background.
use crate::db::Conn;
use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A calculation, how far it is and what it found.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Run {
    pub id: Uuid,
    pub plan_id: Uuid,
    pub plan_version: i32,
    pub random_start: i64,
    pub seconds: Decimal,
    /// `waiting`, `running`, `done`, `stopped` or `failed`.
    pub state: String,
    pub stop_asked: bool,
    pub percent: i32,
    pub best_minutes: Option<i32>,
    pub best_miles: Option<Decimal>,
    pub best_unserved: Option<i32>,
    pub minutes_before: Option<i32>,
    pub miles_before: Option<Decimal>,
    pub words: String,
    pub asked_by: Uuid,
    pub asked_at: DateTime<Utc>,
    pub started_at: Option<DateTime<Utc>>,
    pub beat_at: Option<DateTime<Utc>>,
    pub ended_at: Option<DateTime<Utc>>,
}

impl Run {
    /// Whether it goes on.
    #[must_use]
    pub fn goes_on(&self) -> bool {
        matches!(self.state.as_str(), "waiting" | "running")
    }
}

/// Asks for a calculation.
///
/// # Errors
/// `plan_run_one_at_a_time` when one goes on already.
pub async fn insert_run(conn: &mut Conn, r: &Run) -> sqlx::Result<()> {
    sqlx::query(
        "insert into plan_run (id, plan_id, plan_version, random_start, seconds, asked_by, asked_at)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(r.id)
    .bind(r.plan_id)
    .bind(r.plan_version)
    .bind(r.random_start)
    .bind(r.seconds)
    .bind(r.asked_by)
    .bind(r.asked_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// The plan's newest calculation.
///
/// # Errors
/// When the database does not answer.
pub async fn newest_run(conn: &mut Conn, plan: Uuid) -> sqlx::Result<Option<Run>> {
    sqlx::query_as("select * from plan_run where plan_id = $1 order by asked_at desc, id desc limit 1")
        .bind(plan)
        .fetch_optional(conn)
        .await
}

/// Whether a calculation of the plan goes on.
///
/// # Errors
/// When the database does not answer.
pub async fn running(conn: &mut Conn, plan: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from plan_run where plan_id = $1 and state in ('waiting', 'running'))",
    )
    .bind(plan)
    .fetch_one(conn)
    .await
}

/// Takes a calculation that waits, or one on which nobody has worked since `stale`; no two takers get one.
///
/// # Errors
/// When the database does not answer.
pub async fn take_run(
    conn: &mut Conn,
    stale: DateTime<Utc>,
    now: DateTime<Utc>,
) -> sqlx::Result<Option<Run>> {
    sqlx::query_as(
        "update plan_run set state = 'running', started_at = $2, beat_at = $2, percent = 0
         where id = (select id from plan_run where state = 'waiting' or (state = 'running' and beat_at < $1)
            order by asked_at, id limit 1 for update skip locked)
         returning *",
    )
    .bind(stale)
    .bind(now)
    .fetch_optional(conn)
    .await
}

/// The same for a run whose `started_at` marks who has it: whether it is still theirs.
///
/// # Errors
/// When the database does not answer.
pub async fn beat(conn: &mut Conn, run: &Run, now: DateTime<Utc>, best: &Run) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update plan_run set beat_at = $3, percent = $4, best_minutes = $5, best_miles = $6, best_unserved = $7
         where id = $1 and state = 'running' and started_at = $2",
    )
    .bind(run.id)
    .bind(run.started_at)
    .bind(now)
    .bind(best.percent)
    .bind(best.best_minutes)
    .bind(best.best_miles)
    .bind(best.best_unserved)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// What was driven before.
///
/// # Errors
/// When the database does not answer.
pub async fn set_before(conn: &mut Conn, id: Uuid, minutes: i32, miles: Decimal) -> sqlx::Result<()> {
    sqlx::query("update plan_run set minutes_before = $2, miles_before = $3 where id = $1")
        .bind(id)
        .bind(minutes)
        .bind(miles)
        .execute(conn)
        .await?;
    Ok(())
}

/// Holds a run that somebody works on; whether it is still theirs.
///
/// # Errors
/// When the database does not answer.
pub async fn begin(conn: &mut Conn, run: &Run) -> sqlx::Result<bool> {
    let held = sqlx::query(
        "select 1 from plan_run where id = $1 and state = 'running' and started_at = $2 for update",
    )
    .bind(run.id)
    .bind(run.started_at)
    .fetch_optional(conn)
    .await?;
    Ok(held.is_some())
}

/// Ends a calculation.
///
/// # Errors
/// When the database does not answer.
pub async fn end(
    conn: &mut Conn,
    id: Uuid,
    state: &str,
    words: &str,
    now: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query(
        "update plan_run set state = $2, words = $3, ended_at = $4, percent = case when $2 = 'done' then 100 else percent end
         where id = $1",
    )
    .bind(id)
    .bind(state)
    .bind(words)
    .bind(now)
    .execute(conn)
    .await?;
    Ok(())
}

/// Asks whoever works on it to stop; one that waits is stopped at once. Whether it went on.
///
/// # Errors
/// When the database does not answer.
pub async fn ask_to_stop(conn: &mut Conn, plan: Uuid, id: Uuid, now: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update plan_run set stop_asked = true,
            state = case state when 'waiting' then 'stopped' else state end,
            ended_at = case state when 'waiting' then $3 else ended_at end,
            words = case state when 'waiting' then 'Stopped before it began.' else words end
         where id = $2 and plan_id = $1 and state in ('waiting', 'running')",
    )
    .bind(plan)
    .bind(id)
    .bind(now)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Whether somebody asked for the end.
///
/// # Errors
/// When the database does not answer.
pub async fn is_wanted_to_stop(conn: &mut Conn, id: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar("select stop_asked from plan_run where id = $1").bind(id).fetch_one(conn).await
}
