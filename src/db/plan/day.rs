//! Who works when.
use crate::db::Conn;
use chrono::{NaiveDate, NaiveTime};
use rust_decimal::Decimal;
use uuid::Uuid;

/// One technician's day in a plan, with the hours as they were when it was made.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Day {
    pub technician_id: Uuid,
    pub technician_name: String,
    pub on_date: NaiveDate,
    pub starts: NaiveTime,
    pub ends: NaiveTime,
    pub break_minutes: i32,
    pub break_from: Option<NaiveTime>,
    pub break_until: Option<NaiveTime>,
    /// Degrees north of where the day begins and ends.
    pub start_latitude: f64,
    pub start_longitude: f64,
    /// What the vehicle carries; nobody said: no limit is known.
    pub tank_gal: Option<Decimal>,
}

/// Somebody who could be sent out.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Worker {
    pub id: Uuid,
    pub name: String,
    pub role: String,
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
    pub tank_gal: Option<Decimal>,
    /// Whether any working hours are entered.
    pub has_hours: bool,
}

/// The hours that a person usually works on one weekday; 1 is Monday.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Hours {
    pub person_id: Uuid,
    pub weekday: i16,
    pub starts: NaiveTime,
    pub ends: NaiveTime,
    pub break_minutes: i32,
    pub break_from: Option<NaiveTime>,
    pub break_until: Option<NaiveTime>,
}

/// Everybody at work who goes out: technicians, and others with working hours.
///
/// # Errors
/// When the database does not answer.
pub async fn workers(conn: &mut Conn) -> sqlx::Result<Vec<Worker>> {
    sqlx::query_as(
        "select * from (select p.id, p.name, p.role, coalesce(p.start_latitude, c.latitude) as latitude,
                coalesce(p.start_longitude, c.longitude) as longitude, v.tank_gal,
                exists (select 1 from working_day w where w.person_id = p.id) as has_hours
             from person p left join company c on true
                left join vehicle v on v.id = p.vehicle_id and v.retired_at is null
             where p.retired_at is null) w
         where role = 'technician' or has_hours order by lower(name), id",
    )
    .fetch_all(conn)
    .await
}

/// The usual hours of these people.
///
/// # Errors
/// When the database does not answer.
pub async fn hours(conn: &mut Conn, people: &[Uuid]) -> sqlx::Result<Vec<Hours>> {
    sqlx::query_as(
        "select person_id, weekday, starts, ends, break_minutes, break_from, break_until from working_day
         where person_id = any($1) order by person_id, weekday",
    )
    .bind(people)
    .fetch_all(conn)
    .await
}

/// The technicians' days of a plan, by day and name.
///
/// # Errors
/// When the database does not answer.
pub async fn days(conn: &mut Conn, plan: Uuid) -> sqlx::Result<Vec<Day>> {
    sqlx::query_as(
        "select d.technician_id, p.name as technician_name, d.on_date, d.starts, d.ends, d.break_minutes,
            d.break_from, d.break_until, d.start_latitude, d.start_longitude, d.tank_gal
         from plan_day d join person p on p.id = d.technician_id where d.plan_id = $1
         order by d.on_date, lower(p.name), d.technician_id",
    )
    .bind(plan)
    .fetch_all(conn)
    .await
}

/// Puts a technician's day into the plan, in place of the one that is there.
///
/// # Errors
/// `plan_day_span` when it ends before it begins.
pub async fn keep_day(conn: &mut Conn, plan: Uuid, d: &Day) -> sqlx::Result<()> {
    sqlx::query(
        "insert into plan_day (plan_id, technician_id, on_date, starts, ends, break_minutes, break_from, break_until,
            start_latitude, start_longitude, tank_gal)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
         on conflict (plan_id, technician_id, on_date) do update set starts = excluded.starts, ends = excluded.ends,
            break_minutes = excluded.break_minutes, break_from = excluded.break_from,
            break_until = excluded.break_until, start_latitude = excluded.start_latitude,
            start_longitude = excluded.start_longitude, tank_gal = excluded.tank_gal",
    )
    .bind(plan)
    .bind(d.technician_id)
    .bind(d.on_date)
    .bind(d.starts)
    .bind(d.ends)
    .bind(d.break_minutes)
    .bind(d.break_from)
    .bind(d.break_until)
    .bind(d.start_latitude)
    .bind(d.start_longitude)
    .bind(d.tank_gal)
    .execute(conn)
    .await?;
    Ok(())
}

/// Takes every day out of the plan on which nothing stands.
///
/// # Errors
/// When the database does not answer.
pub async fn forget_days(conn: &mut Conn, plan: Uuid) -> sqlx::Result<()> {
    sqlx::query(
        "delete from plan_day d where plan_id = $1 and not exists (select 1 from plan_stop s
            where s.plan_id = d.plan_id and s.technician_id = d.technician_id and s.on_date = d.on_date)",
    )
    .bind(plan)
    .execute(conn)
    .await?;
    Ok(())
}
