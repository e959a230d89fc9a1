//! What a week's plan is gathered from: bookings, plants that are due, hours of sites, days on hold.
use crate::db::Conn;
use chrono::{NaiveDate, NaiveTime};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A booked visit that a plan may take in.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Booked {
    pub id: Uuid,
    pub site_id: Uuid,
    pub technician_id: Uuid,
    pub on_date: NaiveDate,
    pub supervisor_id: Option<Uuid>,
}

const BOOKED: &str = "select v.id, v.site_id, v.technician_id, v.on_date, v.supervisor_id from visit v where v.status = 'booked' and ";

/// Visits of these technicians that are booked from this day to that one.
///
/// # Errors
/// When the database does not answer.
pub async fn visits_in(
    conn: &mut Conn,
    technicians: &[Uuid],
    from: NaiveDate,
    until: NaiveDate,
) -> sqlx::Result<Vec<Booked>> {
    let text = format!(
        "{BOOKED} v.waiting_since is null and v.technician_id = any($1) and v.on_date between $2 and $3
         order by v.on_date, v.technician_id, v.stop_number, v.booked_at, v.id"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(technicians).bind(from).bind(until).fetch_all(conn).await
}

/// Visits that wait to be planned anew.
///
/// # Errors
/// When the database does not answer.
pub async fn waiting(conn: &mut Conn) -> sqlx::Result<Vec<Booked>> {
    let text = format!("{BOOKED} v.waiting_since is not null order by v.on_date, v.id");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).fetch_all(conn).await
}

/// A plant that is due by some day and in no booked visit.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Due {
    pub site_id: Uuid,
    pub plant_id: Uuid,
    pub due_on: NaiveDate,
}

/// Plants due by this day that nobody has booked, site by site, the most urgent first. What a customer answered
/// counts: a day of their choice stands for the day due, and a no keeps the plant out.
///
/// # Errors
/// When the database does not answer.
pub async fn due_in(conn: &mut Conn, until: NaiveDate) -> sqlx::Result<Vec<Due>> {
    sqlx::query_as(
        "select d.site_id, d.plant_id, coalesce(a.wanted_on, d.due_on) as due_on
         from due d join site s on s.id = d.site_id and s.retired_at is null
         left join standing_answer a on a.plant_id = d.plant_id
         where coalesce(a.wanted_on, d.due_on) <= $1 and d.due_on is not null and d.allowed_on is not null
            and a.kind is distinct from 'no' and not exists (
            select 1 from planned_dose b join visit v on v.id = b.visit_id and v.status = 'booked'
            where b.plant_id = d.plant_id and b.status = 'planned')
         order by min(coalesce(a.wanted_on, d.due_on)) over (partition by d.site_id), d.site_id, due_on, d.plant_id",
    )
    .bind(until)
    .fetch_all(conn)
    .await
}

/// Every plant of a site that is in use, has an answer and is in no booked visit.
///
/// # Errors
/// When the database does not answer.
pub async fn open_plants(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Uuid>> {
    sqlx::query_scalar(
        "select p.id from plant p left join due d on d.plant_id = p.id
         where p.site_id = $1 and p.retired_at is null and p.product_id is not null and not exists (
            select 1 from planned_dose b join visit v on v.id = b.visit_id and v.status = 'booked'
            where b.plant_id = p.id and b.status = 'planned')
         order by d.due_on, p.id",
    )
    .bind(site)
    .fetch_all(conn)
    .await
}

/// A dose of a visit, as it is checked anew for another day.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Left {
    pub visit_id: Uuid,
    pub plant_id: Uuid,
    pub label_use_id: Uuid,
    pub rate: Decimal,
}

/// The doses that these visits still mean to apply.
///
/// # Errors
/// When the database does not answer.
pub async fn visit_doses(conn: &mut Conn, visits: &[Uuid]) -> sqlx::Result<Vec<Left>> {
    sqlx::query_as(
        "select visit_id, plant_id, label_use_id, rate from planned_dose
         where visit_id = any($1) and status = 'planned' order by visit_id, plant_id",
    )
    .bind(visits)
    .fetch_all(conn)
    .await
}

/// Hours in which a site may be entered; 1 is Monday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::FromRow)]
pub struct SiteWindow {
    pub site_id: Uuid,
    pub weekday: i16,
    pub opens: NaiveTime,
    pub closes: NaiveTime,
}

/// The hours of these sites; a site without a row may be entered at any time.
///
/// # Errors
/// When the database does not answer.
pub async fn windows(conn: &mut Conn, sites: &[Uuid]) -> sqlx::Result<Vec<SiteWindow>> {
    sqlx::query_as(
        "select site_id, weekday, opens, closes from site_window where site_id = any($1) order by site_id, weekday, opens",
    )
    .bind(sites)
    .fetch_all(conn)
    .await
}

/// A day on which nothing is applied, everywhere or in one county.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Hold {
    pub on_date: NaiveDate,
    pub state: Option<String>,
    pub county: Option<String>,
    pub reason: String,
}

/// The holds from this day to that one that nobody has lifted.
///
/// # Errors
/// When the database does not answer.
pub async fn holds(conn: &mut Conn, from: NaiveDate, until: NaiveDate) -> sqlx::Result<Vec<Hold>> {
    sqlx::query_as(
        "select on_date, state::text, county, reason from day_hold
         where lifted_at is null and on_date between $1 and $2 order by on_date, placed_at, id",
    )
    .bind(from)
    .bind(until)
    .fetch_all(conn)
    .await
}

/// How the company counts the time of a stop, and where its days begin.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Terms {
    pub stop_minutes: i32,
    pub plant_minutes: Decimal,
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
}

/// The company's terms; nothing before the set-up.
///
/// # Errors
/// When the database does not answer.
pub async fn terms(conn: &mut Conn) -> sqlx::Result<Option<Terms>> {
    sqlx::query_as("select stop_minutes, plant_minutes, latitude, longitude from company")
        .fetch_optional(conn)
        .await
}

/// What gathering needs to know of a site.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Ground {
    pub id: Uuid,
    pub parcel_id: Uuid,
    pub state: String,
    /// How long a stop there takes, where somebody said.
    pub service_minutes: Option<i32>,
}

/// These sites.
///
/// # Errors
/// When the database does not answer.
pub async fn grounds(conn: &mut Conn, sites: &[Uuid]) -> sqlx::Result<Vec<Ground>> {
    sqlx::query_as("select id, parcel_id, state::text, service_minutes from site where id = any($1)")
        .bind(sites)
        .fetch_all(conn)
        .await
}

/// A plant of a planned site that is not part of the stop there.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Apart {
    pub site_id: Uuid,
    pub host_plant: String,
    pub place: String,
    pub has_treatment: bool,
    /// It is due by the end of the week all the same; else it has no day at all.
    pub is_due: bool,
}

/// The plants in use of a plan's sites that are due by this day and in no visit and no stop, and those that
/// have no due day: not measured, or without treatment.
///
/// # Errors
/// When the database does not answer.
pub async fn apart(conn: &mut Conn, plan: Uuid, until: NaiveDate) -> sqlx::Result<Vec<Apart>> {
    sqlx::query_as(
        "select p.site_id, p.host_plant, p.place, p.product_id is not null as has_treatment,
            d.plant_id is not null as is_due
         from plant p left join due d on d.plant_id = p.id
         where p.retired_at is null and p.site_id in (select site_id from plan_stop where plan_id = $1)
            and (d.plant_id is null or d.due_on <= $2)
            and not exists (select 1 from plan_stop_plant sp join plan_stop t on t.id = sp.stop_id
                where t.plan_id = $1 and sp.plant_id = p.id)
            and not exists (select 1 from planned_dose b join visit v on v.id = b.visit_id and v.status = 'booked'
                where b.plant_id = p.id and b.status = 'planned')
         order by p.site_id, lower(p.place), p.id",
    )
    .bind(plan)
    .bind(until)
    .fetch_all(conn)
    .await
}

/// How many plants are due nowhere because nothing can be worked out for them; counted to a thousand.
///
/// # Errors
/// When the database does not answer.
pub async fn has_no_day(conn: &mut Conn) -> sqlx::Result<i64> {
    sqlx::query_scalar(
        "select count(*) from (select 1 from plant p join site s on s.id = p.site_id
            where p.retired_at is null and s.retired_at is null
                and not exists (select 1 from due d where d.plant_id = p.id) limit 1000) x",
    )
    .fetch_one(conn)
    .await
}
