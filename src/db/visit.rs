//! Visits and the doses that they mean to apply.
use super::{Conn, ledger::Locked};
use crate::domain::plant::Measure;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A visit with the words that every page of it needs.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Visit {
    pub id: Uuid,
    pub site_id: Uuid,
    pub parcel_id: Uuid,
    pub technician_id: Uuid,
    pub technician_name: String,
    /// Who answers for a technician without a certification of the site's state.
    pub supervisor_id: Option<Uuid>,
    pub supervisor_name: Option<String>,
    pub on_date: NaiveDate,
    /// `booked`, `done` or `cancelled`.
    pub status: String,
    pub note: String,
    pub booked_by: Uuid,
    pub booked_at: DateTime<Utc>,
    pub closed_at: Option<DateTime<Utc>>,
    /// The customer was told this day: no plan moves it to another.
    pub promised: bool,
    /// The hour that the plan of its day has.
    pub arrives_at: Option<NaiveTime>,
    /// Why it waits to be planned anew; empty: it does not.
    pub waiting_reason: String,
    pub site_name: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub zip: String,
    pub county: String,
    pub access_note: String,
    /// Feet to the nearest water; nobody has measured: `None`.
    pub water_distance_ft: Option<Decimal>,
    pub customer_name: String,
    pub customer_phone: String,
}

impl Visit {
    /// Whether it is still to be done.
    #[must_use]
    pub fn is_booked(&self) -> bool {
        self.status == "booked"
    }
}

/// A visit to be entered.
#[derive(Debug, Clone)]
pub struct New {
    pub id: Uuid,
    pub site_id: Uuid,
    pub technician_id: Uuid,
    pub supervisor_id: Option<Uuid>,
    pub on_date: NaiveDate,
    pub note: String,
    /// The customer was told this day.
    pub promised: bool,
    pub booked_by: Uuid,
}

/// A dose to be entered: the measure and count are those of the day of booking.
#[derive(Debug, Clone)]
pub struct NewDose {
    pub visit_id: Uuid,
    pub plant_id: Uuid,
    pub label_use_id: Uuid,
    pub measure: Decimal,
    pub count: i32,
    pub rate: Decimal,
    pub amount: Decimal,
    pub unit: String,
}

/// Enters a visit without doses.
///
/// # Errors
/// `visit_pkey` when it is already there.
pub async fn insert(conn: &mut Conn, v: &New, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into visit (id, site_id, technician_id, on_date, note, booked_by, booked_at, promised,
            supervisor_id)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(v.id)
    .bind(v.site_id)
    .bind(v.technician_id)
    .bind(v.on_date)
    .bind(&v.note)
    .bind(v.booked_by)
    .bind(at)
    .bind(v.promised)
    .bind(v.supervisor_id)
    .execute(conn)
    .await?;
    Ok(())
}

/// Reserves a dose. It takes the proof that the parcel's ledger is held: what was
/// checked against the cap still holds when this row comes to be.
///
/// # Errors
/// `RowNotFound` when the visit is not on the parcel that is held.
pub async fn insert_dose(conn: &mut Conn, held: &Locked, d: &NewDose) -> sqlx::Result<()> {
    let done = sqlx::query(
        "insert into planned_dose (visit_id, plant_id, label_use_id, measure, count, rate, amount, unit)
         select v.id, $2, $3, $4, $5, $6, $7, $8 from visit v join site s on s.id = v.site_id
         where v.id = $1 and s.parcel_id = $9",
    )
    .bind(d.visit_id)
    .bind(d.plant_id)
    .bind(d.label_use_id)
    .bind(d.measure)
    .bind(d.count)
    .bind(d.rate)
    .bind(d.amount)
    .bind(&d.unit)
    .bind(held.parcel())
    .execute(conn)
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(sqlx::Error::RowNotFound) }
}

/// One visit.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Visit>> {
    sqlx::query_as(
        "select v.*, s.parcel_id, p.name as technician_name,
            w.name as supervisor_name, s.name as site_name, s.street, s.city, s.state, s.zip,
            s.county, s.access_note, s.water_distance_ft, c.name as customer_name, c.phone as customer_phone
         from visit v join site s on s.id = v.site_id join customer c on c.id = s.customer_id
         join person p on p.id = v.technician_id left join person w on w.id = v.supervisor_id where v.id = $1",
    )
    .bind(id)
    .fetch_optional(conn)
    .await
}

/// Puts a checked dose in the place of the plant's old one; again with the proof.
///
/// # Errors
/// `RowNotFound` when the visit is not on the parcel that is held or the old dose is no longer planned.
pub async fn renew_dose(conn: &mut Conn, held: &Locked, old_use: Uuid, d: &NewDose) -> sqlx::Result<()> {
    let done = sqlx::query(
        "update planned_dose set label_use_id = $3, measure = $4, count = $5, rate = $6, amount = $7, unit = $8
         where visit_id = $1 and plant_id = $2 and label_use_id = $9 and status = 'planned' and exists
            (select 1 from visit v join site s on s.id = v.site_id where v.id = $1 and s.parcel_id = $10)",
    )
    .bind(d.visit_id)
    .bind(d.plant_id)
    .bind(d.label_use_id)
    .bind(d.measure)
    .bind(d.count)
    .bind(d.rate)
    .bind(d.amount)
    .bind(&d.unit)
    .bind(old_use)
    .bind(held.parcel())
    .execute(conn)
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(sqlx::Error::RowNotFound) }
}

/// A dose of a visit, with the words of its plant, product and use.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Dose {
    pub plant_id: Uuid,
    pub label_use_id: Uuid,
    pub label_version_id: Uuid,
    pub measure: Decimal,
    pub count: i32,
    pub rate: Decimal,
    pub amount: Decimal,
    pub unit: String,
    /// `planned`, `applied`, `skipped` or `released`.
    pub status: String,
    pub skip_reason: String,
    pub place: String,
    pub host_plant: String,
    pub target_pest: String,
    pub plant_kind: String,
    pub plant_note: String,
    pub product_id: Uuid,
    pub product_name: String,
    pub registration_number: String,
    pub use_name: String,
    pub method: String,
    /// Code of a `MeasureBasis`, such as `height-ft`.
    pub measure_basis: String,
    /// In the terms of the label, like the dose's own rate.
    pub rate_low: Decimal,
    pub rate_high: Decimal,
    /// For how many feet, inches and so on rates and water are stated.
    pub rate_per: Decimal,
    pub water_low: Option<Decimal>,
    pub water_high: Option<Decimal>,
    pub water_unit: Option<String>,
}

impl Dose {
    /// Whether it is meant to be applied or was: what was left undone or released counts nowhere.
    #[must_use]
    pub fn counts(&self) -> bool {
        matches!(self.status.as_str(), "planned" | "applied")
    }
}

/// A dose with its words; what follows says whose.
pub(super) const DOSE: &str = "select d.*, p.place, p.host_plant, p.target_pest, p.kind as plant_kind,
        case when p.in_bloom then 'Seen in bloom' else '' end as plant_note,
        l.product_id, r.name as product_name, r.registration_number, u.label_version_id, u.name as use_name,
        u.method, u.measure as measure_basis, u.rate_low, u.rate_high, u.rate_per, u.water_low,
        u.water_high, u.water_unit
    from planned_dose d join plant p on p.id = d.plant_id join label_use u on u.id = d.label_use_id
    join label_version l on l.id = u.label_version_id join product r on r.id = l.product_id where ";

/// The doses of a visit by place.
///
/// # Errors
/// When the database does not answer.
pub async fn doses(conn: &mut Conn, visit: Uuid) -> sqlx::Result<Vec<Dose>> {
    let text = format!("{DOSE} d.visit_id = $1 order by lower(p.place), d.plant_id");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(visit).fetch_all(conn).await
}

/// The methods of these uses of labels, each once.
///
/// # Errors
/// When the database does not answer.
pub async fn methods(conn: &mut Conn, uses: &[Uuid]) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar("select distinct method from label_use where id = any($1) order by method")
        .bind(uses)
        .fetch_all(conn)
        .await
}

/// Writes down what became of a dose.
///
/// # Errors
/// `planned_dose_skip_says_why` when one is skipped without a reason.
pub async fn settle_dose(
    conn: &mut Conn,
    visit: Uuid,
    plant: Uuid,
    label_use: Uuid,
    status: &str,
    reason: &str,
) -> sqlx::Result<()> {
    sqlx::query(
        "update planned_dose set status = $4, skip_reason = $5
         where visit_id = $1 and plant_id = $2 and label_use_id = $3 and status = 'planned'",
    )
    .bind(visit)
    .bind(plant)
    .bind(label_use)
    .bind(status)
    .bind(reason)
    .execute(conn)
    .await?;
    Ok(())
}

/// Gives back what the visit still reserves.
///
/// # Errors
/// When the database does not answer.
pub async fn release_doses(conn: &mut Conn, visit: Uuid) -> sqlx::Result<()> {
    sqlx::query("update planned_dose set status = 'released' where visit_id = $1 and status = 'planned'")
        .bind(visit)
        .execute(conn)
        .await?;
    Ok(())
}

/// Ends a booked visit as `done` or `cancelled`; whether it was still booked. It waits for nothing any more.
///
/// # Errors
/// When the database does not answer.
pub async fn close(conn: &mut Conn, id: Uuid, status: &str, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update visit set status = $2, closed_at = $3, waiting_since = null, waiting_reason = ''
             where id = $1 and status = 'booked'",
    )
    .bind(id)
    .bind(status)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Adds a line to the visit's note.
///
/// # Errors
/// When the database does not answer.
pub async fn add_note(conn: &mut Conn, id: Uuid, line: &str) -> sqlx::Result<()> {
    sqlx::query("update visit set note = concat_ws(E'\\n', nullif(note, ''), $2) where id = $1")
        .bind(id)
        .bind(line)
        .execute(conn)
        .await?;
    Ok(())
}

/// Gives a booked visit another day, technician and supervisor; whether it was still booked. Its place in the old
/// day goes, it waits no longer, and what the customer was told of another day holds no longer.
///
/// # Errors
/// When the database does not answer.
pub async fn set_day(
    conn: &mut Conn,
    id: Uuid,
    on: NaiveDate,
    technician: Uuid,
    supervisor: Option<Uuid>,
) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update visit set on_date = $2, technician_id = $3, supervisor_id = $4,
            promised = promised and on_date = $2, stop_number = null, arrives_at = null, leaves_at = null,
            waiting_since = null, waiting_reason = '' where id = $1 and status = 'booked'",
    )
    .bind(id)
    .bind(on)
    .bind(technician)
    .bind(supervisor)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Notes whether the customer was told the day; whether the visit is still booked.
///
/// # Errors
/// When the database does not answer.
pub async fn set_promised(conn: &mut Conn, id: Uuid, promised: bool) -> sqlx::Result<bool> {
    let done = sqlx::query("update visit set promised = $2 where id = $1 and status = 'booked'")
        .bind(id)
        .bind(promised)
        .execute(conn)
        .await?;
    Ok(done.rows_affected() == 1)
}

/// Which visits.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only this technician's.
    pub technician: Option<Uuid>,
    /// Booked ones from the earliest day on; else the closed ones from the newest day backwards.
    pub booked: bool,
    /// Where the page before ended: day, place in the day, visit.
    pub after: Option<(NaiveDate, i32, Uuid)>,
}

/// A line of the list.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    pub id: Uuid,
    pub on_date: NaiveDate,
    pub status: String,
    pub technician_id: Uuid,
    pub technician_name: String,
    pub street: String,
    pub city: String,
    pub customer_name: String,
    /// How many doses it means, or meant.
    pub doses: i64,
    /// Its place in the technician's day and its times, once a plan was released.
    pub stop_number: Option<i32>,
    pub arrives_at: Option<NaiveTime>,
    pub leaves_at: Option<NaiveTime>,
    pub promised: bool,
    /// Why it waits to be planned anew; empty: it does not.
    pub waiting_reason: String,
}

/// The place of a visit that no plan has put into an order: after all that have one.
pub const UNORDERED: i32 = 1_000_000;

const LINE: &str =
    "select v.id, v.on_date, v.status, v.technician_id, v.promised, v.waiting_reason, v.stop_number,
        v.arrives_at, v.leaves_at, p.name as technician_name, s.street, s.city,
        c.name as customer_name, (select count(*) from planned_dose d where d.visit_id = v.id) as doses
     from visit v join site s on s.id = v.site_id join customer c on c.id = s.customer_id
     join person p on p.id = v.technician_id
     where ($1::uuid is null or v.technician_id = $1)";

/// Visits by day, each day in the order of its plan.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, filter: &Filter, at_most: i64) -> sqlx::Result<Vec<Line>> {
    let (which, compare, order) =
        if filter.booked { ("= 'booked'", ">", "asc") } else { ("<> 'booked'", "<", "desc") };
    let text = format!(
        "{LINE} and v.status {which} and ($2::date is null
            or (v.on_date, coalesce(v.stop_number, {UNORDERED}), v.id) {compare} ($2, $3, $4))
         order by v.on_date {order}, coalesce(v.stop_number, {UNORDERED}) {order}, v.id {order} limit $5"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text))
        .bind(filter.technician)
        .bind(filter.after.map(|(day, _, _)| day))
        .bind(filter.after.map(|(_, place, _)| place))
        .bind(filter.after.map(|(_, _, id)| id))
        .bind(at_most)
        .fetch_all(conn)
        .await
}

/// A plant that may stand on a booking form: what it is treated with, and the
/// band of the label in force, where there is one.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Bookable {
    pub plant_id: Uuid,
    pub place: String,
    pub host_plant: String,
    pub kind: String,
    pub count: i32,
    pub height_ft: Option<Decimal>,
    pub stems_in: Vec<Decimal>,
    pub stem_rule: Option<String>,
    pub girth_in: Option<Decimal>,
    pub ground: Option<Decimal>,
    pub ground_unit: Option<String>,
    pub planned_rate: Option<Decimal>,
    pub product_id: Option<Uuid>,
    pub product_name: Option<String>,
    pub label_use_id: Option<Uuid>,
    pub use_name: Option<String>,
    pub measure_basis: Option<String>,
    pub rate_low: Option<Decimal>,
    pub rate_high: Option<Decimal>,
    pub rate_unit: Option<String>,
    pub rate_per: Option<Decimal>,
    pub retired_at: Option<DateTime<Utc>>,
    pub product_retired_at: Option<DateTime<Utc>>,
    pub label_version_id: Option<Uuid>,
    /// What the due engine says of it.
    pub due_on: Option<NaiveDate>,
    /// Codes of the rules that hold it back, the most important one first.
    pub held_by: Vec<String>,
    /// The day of its next booked visit.
    pub visit_on: Option<NaiveDate>,
}

impl Bookable {
    /// What was measured.
    #[must_use]
    pub fn measure(&self) -> Measure {
        Measure {
            height_ft: self.height_ft,
            stems_in: self.stems_in.clone(),
            stem_rule: self.stem_rule.clone(),
            girth_in: self.girth_in,
            ground: self.ground,
            ground_unit: self.ground_unit.clone(),
        }
    }
}

/// The plants of a site, retired ones as well, by place.
///
/// # Errors
/// When the database does not answer.
pub async fn bookable(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Bookable>> {
    sqlx::query_as(
        "select p.id as plant_id, p.place, p.host_plant, p.kind, p.count, p.height_ft, p.stems_in, p.stem_rule,
            p.girth_in, p.ground, p.ground_unit, p.planned_rate, p.product_id, r.name as product_name,
            u.id as label_use_id, u.name as use_name,
            u.measure as measure_basis, u.rate_low, u.rate_high, u.rate_unit, u.rate_per, p.retired_at,
            r.retired_at as product_retired_at, l.id as label_version_id, d.due_on,
            coalesce(d.held_by, '{}') as held_by,
            (select min(v.on_date) from planned_dose b join visit v on v.id = b.visit_id and v.status = 'booked'
                where b.plant_id = p.id and b.status = 'planned') as visit_on
         from plant p left join due d on d.plant_id = p.id left join product r on r.id = p.product_id
         left join label_in_force l on l.product_id = p.product_id
         left join label_use u on u.label_version_id = l.id and u.code = p.use_code
         where p.site_id = $1 order by lower(p.place), p.id",
    )
    .bind(site)
    .fetch_all(conn)
    .await
}
