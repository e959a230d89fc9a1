//! The week's plans: who works when, which stops, in which order, and the calculations of them.
mod candidate;
mod day;
mod run;
mod stop;

pub use candidate::{
    Apart, Booked, Due, Ground, Hold, Left, SiteWindow, Terms, apart, due_in, grounds, has_no_day, holds,
    open_plants, terms, visit_doses, visits_in, waiting, windows,
};
pub use day::{Day, Hours, Worker, days, forget_days, hours, keep_day, workers};
pub use run::{
    Run, ask_to_stop, beat, begin, end, insert_run, is_wanted_to_stop, newest_run, running, set_before,
    take_run,
};
pub use stop::{
    NewStop, Placed, Stop, delete_loose, delete_stop, insert_stop, lock_stop, number, place, plants_of,
    say_why, set_visit, set_visit_times, stop, stops,
};

use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// The plan of one week.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct WeekPlan {
    pub id: Uuid,
    pub week_start: NaiveDate,
    /// Counted up by every change.
    pub version: i32,
    /// The version that the technicians have.
    pub released_version: Option<i32>,
    pub changed_by: Uuid,
    pub changed_by_name: String,
    pub changed_at: DateTime<Utc>,
}

const PLAN: &str = "select w.id, w.week_start, w.version, w.released_version, w.changed_by,
        p.name as changed_by_name, w.changed_at
     from week_plan w join person p on p.id = w.changed_by where ";

/// The plan of the week that begins on this Monday.
///
/// # Errors
/// When the database does not answer.
pub async fn of_week(conn: &mut Conn, monday: NaiveDate) -> sqlx::Result<Option<WeekPlan>> {
    let text = format!("{PLAN} w.week_start = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(monday).fetch_optional(conn).await
}

/// The plan of that id.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<WeekPlan>> {
    let text = format!("{PLAN} w.id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// The same, held until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn hold(conn: &mut Conn, monday: NaiveDate) -> sqlx::Result<Option<WeekPlan>> {
    sqlx::query("select 1 from week_plan where week_start = $1 for update")
        .bind(monday)
        .execute(&mut *conn)
        .await?;
    of_week(conn, monday).await
}

/// Makes the week's plan unless it is there.
///
/// # Errors
/// `week_plan_monday` when the week does not begin on a Monday.
pub async fn make(
    conn: &mut Conn,
    id: Uuid,
    monday: NaiveDate,
    by: Uuid,
    at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query(
        "insert into week_plan (id, week_start, made_by, made_at, changed_by, changed_at)
         values ($1, $2, $3, $4, $3, $4) on conflict (week_start) do nothing",
    )
    .bind(id)
    .bind(monday)
    .bind(by)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Counts the plan's version up; the new one.
///
/// # Errors
/// When the database does not answer.
pub async fn changed(conn: &mut Conn, id: Uuid, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<i32> {
    sqlx::query_scalar(
        "update week_plan set version = version + 1, changed_by = $2, changed_at = $3 where id = $1
         returning version",
    )
    .bind(id)
    .bind(by)
    .bind(at)
    .fetch_one(conn)
    .await
}

/// Writes down that the technicians have this version.
///
/// # Errors
/// When the database does not answer.
pub async fn released(conn: &mut Conn, id: Uuid, version: i32) -> sqlx::Result<()> {
    sqlx::query("update week_plan set released_version = $2 where id = $1")
        .bind(id)
        .bind(version)
        .execute(conn)
        .await?;
    Ok(())
}

/// A line of the list of plans.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    pub week_start: NaiveDate,
    pub version: i32,
    pub released_version: Option<i32>,
    pub changed_by_name: String,
    pub changed_at: DateTime<Utc>,
    pub placed: i64,
    pub left_out: i64,
    pub running: bool,
}

/// The newest plans.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, at_most: i64) -> sqlx::Result<Vec<Line>> {
    sqlx::query_as(
        "select w.week_start, w.version, w.released_version, p.name as changed_by_name, w.changed_at,
            (select count(*) from plan_stop s where s.plan_id = w.id and s.position is not null) as placed,
            (select count(*) from plan_stop s where s.plan_id = w.id and s.position is null) as left_out,
            exists (select 1 from plan_run r where r.plan_id = w.id and r.state in ('waiting', 'running')) as running
         from week_plan w join person p on p.id = w.changed_by order by w.week_start desc limit $1",
    )
    .bind(at_most)
    .fetch_all(conn)
    .await
}

/// Who did what to a plan after this version, in the words of the deeds.
///
/// # Errors
/// When the database does not answer.
pub async fn deeds_after(
    conn: &mut Conn,
    plan: Uuid,
    version: i32,
) -> sqlx::Result<Vec<(String, DateTime<Utc>, String)>> {
    sqlx::query_as(
        "select coalesce(p.name, 'the program'), a.at, coalesce(a.detail->>'words', a.deed) from audit a
            left join person p on p.id = a.person_id
         where a.noun = 'week_plan' and a.noun_id = $1 and (a.detail->>'version')::int > $2 order by a.at, a.id limit 20",
    )
    .bind(plan)
    .bind(version)
    .fetch_all(conn)
    .await
}
