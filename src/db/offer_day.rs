//! What the days ahead have room for: hours of technicians and what is booked in them.
use super::Conn;
use chrono::NaiveDate;
use uuid::Uuid;

/// A technician's weekday with its minutes of work.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Working {
    pub person_id: Uuid,
    /// 1 is Monday.
    pub weekday: i16,
    pub minutes: i64,
}

/// The usual hours of everybody at work.
///
/// # Errors
/// When the database does not answer.
pub async fn working(conn: &mut Conn) -> sqlx::Result<Vec<Working>> {
    sqlx::query_as(
        "select w.person_id, w.weekday,
            (extract(epoch from w.ends - w.starts) / 60)::bigint - w.break_minutes as minutes
         from working_day w join person p on p.id = w.person_id and p.retired_at is null
         order by w.person_id, w.weekday",
    )
    .fetch_all(conn)
    .await
}

/// What somebody has booked on a day.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Booked {
    pub person_id: Uuid,
    pub on_date: NaiveDate,
    pub stops: i64,
    /// Minutes at the stops, by the company's terms or the site's own.
    pub minutes: i64,
}

/// What is booked from this day on, by person and day.
///
/// # Errors
/// When the database does not answer.
pub async fn booked(conn: &mut Conn, from: NaiveDate, until: NaiveDate) -> sqlx::Result<Vec<Booked>> {
    sqlx::query_as(
        "select v.technician_id as person_id, v.on_date, count(*) as stops,
            sum(coalesce(s.service_minutes, c.stop_minutes + ceil(c.plant_minutes * (
                select coalesce(sum(d.count), 0) from planned_dose d where d.visit_id = v.id))))::bigint as minutes
         from visit v join site s on s.id = v.site_id cross join company c
         where v.status = 'booked' and v.on_date between $1 and $2
         group by v.technician_id, v.on_date",
    )
    .bind(from)
    .bind(until)
    .fetch_all(conn)
    .await
}

/// What a stop at this site takes for so many plants, in minutes; and the weekdays on which it may be entered
/// (none: any).
///
/// # Errors
/// When the database does not answer.
pub async fn stop(conn: &mut Conn, site: Uuid, plants: i64) -> sqlx::Result<(i64, Vec<i16>)> {
    let minutes: Option<i64> = sqlx::query_scalar(
        "select coalesce(s.service_minutes, c.stop_minutes + ceil(c.plant_minutes * $2))::bigint
         from site s cross join company c where s.id = $1",
    )
    .bind(site)
    .bind(plants)
    .fetch_optional(&mut *conn)
    .await?;
    let weekdays =
        sqlx::query_scalar("select distinct weekday from site_window where site_id = $1 order by 1")
            .bind(site)
            .fetch_all(&mut *conn)
            .await?;
    Ok((minutes.unwrap_or(0), weekdays))
}

/// The days in this span on which nothing is applied at the site.
///
/// # Errors
/// When the database does not answer.
pub async fn held(
    conn: &mut Conn,
    site: Uuid,
    from: NaiveDate,
    until: NaiveDate,
) -> sqlx::Result<Vec<NaiveDate>> {
    sqlx::query_scalar(
        "select h.on_date from day_hold h join site s on s.id = $1
         where h.lifted_at is null and h.on_date between $2 and $3
            and (h.state is null or (h.state = s.state and lower(h.county) = lower(s.county)))",
    )
    .bind(site)
    .bind(from)
    .bind(until)
    .fetch_all(conn)
    .await
}
