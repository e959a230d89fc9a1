//! A technician's day on paper: the stops in their order with what is planned at each.
use super::{
    Conn,
    visit::{DOSE, Dose},
};
use chrono::{NaiveDate, NaiveTime};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A stop with the words of its site and customer.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Stop {
    pub id: Uuid,
    pub site_id: Uuid,
    /// `booked` or `done`.
    pub status: String,
    pub stop_number: Option<i32>,
    pub arrives_at: Option<NaiveTime>,
    pub leaves_at: Option<NaiveTime>,
    pub note: String,
    pub promised: bool,
    /// Why it waits to be planned anew; empty: it does not.
    pub waiting_reason: String,
    pub site_name: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub county: String,
    pub zip: String,
    pub access_note: String,
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
    pub water_distance_ft: Option<Decimal>,
    /// Hours before the work by which somebody must be told; none: nobody.
    pub notice_hours: Option<i32>,
    pub notice_reason: String,
    pub customer_name: String,
    pub customer_phone: String,
}

/// The stops of a technician's day: as the plan numbered them, the others by time and by when they were
/// booked.
///
/// # Errors
/// When the database does not answer.
pub async fn stops(conn: &mut Conn, technician: Uuid, on: NaiveDate) -> sqlx::Result<Vec<Stop>> {
    sqlx::query_as(
        "select v.id, v.site_id, v.status, v.stop_number, v.arrives_at, v.leaves_at, v.note, v.promised,
            v.waiting_reason, s.name as site_name, s.street, s.city, s.state, s.county, s.zip, s.access_note, s.latitude,
            s.longitude, s.water_distance_ft, s.notice_hours, s.notice_reason, c.name as customer_name,
            c.phone as customer_phone
         from visit v join site s on s.id = v.site_id join customer c on c.id = s.customer_id
         where v.technician_id = $1 and v.on_date = $2 and v.status in ('booked', 'done')
         order by v.stop_number nulls last, v.arrives_at nulls last, v.booked_at, v.id",
    )
    .bind(technician)
    .bind(on)
    .fetch_all(conn)
    .await
}

/// A dose and whose it is.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct DoseOf {
    pub visit_id: Uuid,
    #[sqlx(flatten)]
    pub dose: Dose,
}

/// The doses of all these visits, by place.
///
/// # Errors
/// When the database does not answer.
pub async fn doses(conn: &mut Conn, visits: &[Uuid]) -> sqlx::Result<Vec<DoseOf>> {
    let text = format!("{DOSE} d.visit_id = any($1) order by lower(p.place), d.plant_id");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(visits).fetch_all(conn).await
}

/// The hours of each of these sites on that weekday (1 is Monday): site, from, until.
///
/// # Errors
/// When the database does not answer.
pub async fn hours(
    conn: &mut Conn,
    sites: &[Uuid],
    weekday: i16,
) -> sqlx::Result<Vec<(Uuid, NaiveTime, NaiveTime)>> {
    sqlx::query_as(
        "select site_id, opens, closes from site_window where site_id = any($1) and weekday = $2
         order by site_id, opens",
    )
    .bind(sites)
    .bind(weekday)
    .fetch_all(conn)
    .await
}

/// A technician's day with visits.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct BookedDay {
    pub on_date: NaiveDate,
    pub technician_id: Uuid,
    pub technician_name: String,
    pub stops: i64,
    /// Stops that wait to be planned anew.
    pub waiting: i64,
}

/// The days in this span on which somebody has visits.
///
/// # Errors
/// When the database does not answer.
pub async fn booked_days(conn: &mut Conn, from: NaiveDate, until: NaiveDate) -> sqlx::Result<Vec<BookedDay>> {
    sqlx::query_as(
        "select v.on_date, v.technician_id, p.name as technician_name, count(*) as stops,
            count(v.waiting_since) as waiting
         from visit v join person p on p.id = v.technician_id
         where v.status = 'booked' and v.on_date between $1 and $2
         group by v.on_date, v.technician_id, p.name order by v.on_date, lower(p.name), v.technician_id",
    )
    .bind(from)
    .bind(until)
    .fetch_all(conn)
    .await
}
