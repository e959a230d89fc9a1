//! What reports are made of: lines of the application log, and counts of a year's records.
//!
//! Only newest versions that were not withdrawn, and only work of the company
//! itself: what others applied counts for the cap of the land, not here.
use super::Conn;
use crate::domain::record::Field;
use chrono::{NaiveDate, NaiveTime};
use futures_util::stream::BoxStream;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Which part of the log. Empty texts narrow nothing.
#[derive(Debug, Clone)]
pub struct Filter {
    pub from: NaiveDate,
    pub until: NaiveDate,
    pub state: String,
    pub county: String,
}

/// A place in the log: day, record, position in the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    pub applied_on: NaiveDate,
    pub record_id: Uuid,
    pub position: i32,
}

/// One product of one record, with what its record says.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    pub record_id: Uuid,
    pub version: i32,
    pub applied_on: NaiveDate,
    pub started_at: Option<NaiveTime>,
    pub customer_name: String,
    pub site_address: String,
    pub site_state: String,
    pub site_county: String,
    pub applicator_name: String,
    pub applicator_certification: String,
    pub supervisor_name: String,
    pub supervisor_certification: String,
    pub wind_direction: String,
    pub wind_mph: Option<Decimal>,
    pub temperature_f: Option<Decimal>,
    pub position: i32,
    pub plant_words: String,
    pub host_plant: String,
    pub target_pest: String,
    pub product_name: String,
    pub registration_number: String,
    pub amount: Decimal,
    pub unit: String,
    pub measure: Option<Decimal>,
    pub measure_basis: String,
    pub count: i32,
    pub rate: Option<Decimal>,
    /// Unit of the label's rate; none where no use of the label was named.
    pub rate_unit: Option<String>,
    pub water: Option<Decimal>,
    pub water_unit: Option<String>,
    pub method: String,
    pub lot: String,
    pub restricted_use: bool,
    /// What one packet or tablet weighs by the label that the record names, and in which unit.
    pub piece_mass: Option<Decimal>,
    pub piece_unit: Option<String>,
    /// Limits that this version broke, with whether they were answered.
    pub flags: String,
    present: Vec<bool>,
}

impl Line {
    /// Where it stands.
    #[must_use]
    pub fn place(&self) -> Place {
        Place { applied_on: self.applied_on, record_id: self.record_id, position: self.position }
    }

    /// What the record holds for this line.
    #[must_use]
    pub fn present(&self) -> Vec<Field> {
        fields(&self.present)
    }
}

/// What every record holds, for the table does not let it out.
const ALWAYS: [Field; 4] = [Field::Date, Field::Product, Field::RegistrationNumber, Field::Amount];

/// What a record may lack, in the order of `present!`.
const SOMETIMES: [Field; 19] = [
    Field::StartTime,
    Field::EndTime,
    Field::Customer,
    Field::CustomerAddress,
    Field::SiteAddress,
    Field::SiteZip,
    Field::County,
    Field::Treated,
    Field::Size,
    Field::TargetPest,
    Field::Rate,
    Field::Mixture,
    Field::Method,
    Field::Applicator,
    Field::CertificationNumber,
    Field::Supervisor,
    Field::WindSpeed,
    Field::WindDirection,
    Field::AirTemperature,
];

/// Whether each field is there, as `record::present` says it of a whole version: a
/// certified applicator needs no supervisor, and only plants have a number for a size.
macro_rules! present {
    () => {
        "array[r.started_at is not null, r.finished_at is not null, r.customer_name <> '',
            r.customer_address <> '', r.site_address <> '', r.site_address ~ '(^|\\s)[0-9]{5}\\S*\\s*$', r.site_county <> '',
            i.host_plant <> '' or i.plant_words <> '', r.area_treated_sqft is not null or i.plant_id is not null,
            i.target_pest <> '', i.rate is not null, i.water is not null, i.method <> '',
            r.applicator_name <> '', r.applicator_certification <> '' or r.supervisor_certification <> '',
            r.applicator_certification <> '' or r.supervisor_certification <> '', r.wind_mph is not null,
            r.wind_direction <> '', r.temperature_f is not null]"
    };
}

pub(super) use present;

pub(super) fn fields(present: &[bool]) -> Vec<Field> {
    let sometimes = SOMETIMES.into_iter().zip(present);
    ALWAYS.into_iter().chain(sometimes.filter(|(_, there)| **there).map(|(field, _)| field)).collect()
}

macro_rules! narrowed {
    () => {
        " from application_now r
            join application_item i on i.record_id = r.id and i.version = r.version
            join label_version v on v.id = i.label_version_id
            left join label_use u on u.id = i.label_use_id
         where r.origin = 'own' and r.applied_on >= $1 and r.applied_on <= $2
            and ($3 = '' or r.site_state = $3) and ($4 = '' or lower(r.site_county) = lower($4))"
    };
}

pub(super) use narrowed;

/// The statement of the log: its period, state and county, the place to go on from, and how many lines.
pub const LINES: &str = concat!(
    "select r.id as record_id, r.version, r.applied_on, r.started_at, r.customer_name, r.site_address, r.site_state,
        r.site_county, r.applicator_name, r.applicator_certification, r.supervisor_name,
        r.supervisor_certification, r.wind_direction, r.wind_mph, r.temperature_f, i.position, i.plant_words,
        i.host_plant, i.target_pest, i.product_name, i.registration_number, i.amount, i.unit, i.measure,
        i.measure_basis, i.count, i.rate, u.rate_unit, i.water, i.water_unit, i.method, i.lot, v.restricted_use, v.piece_mass, v.piece_unit,
        coalesce((select string_agg(f.words || case when f.answered_at is null then ' (not answered)'
                else ' (answered)' end, '; ' order by f.raised_at, f.id)
            from record_flag f where f.record_id = r.id and f.version = r.version), '') as flags, ",
    present!(),
    " as present",
    narrowed!(),
    " and ($5::date is null or (r.applied_on, r.id, i.position) > ($5, $6, $7))
     order by r.applied_on, r.id, i.position limit $8"
);

/// The log from this place on, at most so many lines.
///
/// # Errors
/// When the database does not answer.
pub async fn lines(
    conn: &mut Conn,
    filter: &Filter,
    after: Option<Place>,
    at_most: Option<i64>,
) -> sqlx::Result<Vec<Line>> {
    sqlx::query_as(LINES)
        .bind(filter.from)
        .bind(filter.until)
        .bind(&filter.state)
        .bind(&filter.county)
        .bind(after.map(|a| a.applied_on))
        .bind(after.map(|a| a.record_id))
        .bind(after.map(|a| a.position))
        .bind(at_most)
        .fetch_all(conn)
        .await
}

/// The whole log of the filter, line by line as the reader takes them: one
/// statement, so that every line is from the same moment.
pub fn stream<'c>(conn: &'c mut Conn, filter: &Filter) -> BoxStream<'c, sqlx::Result<Line>> {
    sqlx::query_as(LINES)
        .bind(filter.from)
        .bind(filter.until)
        .bind(filter.state.clone())
        .bind(filter.county.clone())
        .bind(None::<NaiveDate>)
        .bind(None::<Uuid>)
        .bind(None::<i32>)
        .bind(None::<i64>)
        .fetch(conn)
}

/// How much the filter leaves: lines and records.
///
/// # Errors
/// When the database does not answer.
pub async fn totals(conn: &mut Conn, filter: &Filter) -> sqlx::Result<(i64, i64)> {
    sqlx::query_as(concat!("select count(*), count(distinct r.id)", narrowed!()))
        .bind(filter.from)
        .bind(filter.until)
        .bind(&filter.state)
        .bind(&filter.county)
        .fetch_one(conn)
        .await
}

/// Lines of one county and month that hold the same fields.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Worked {
    pub state: String,
    pub county: String,
    /// First day of the month.
    pub month: NaiveDate,
    pub restricted_use: bool,
    /// The records that the lines belong to.
    pub records: Vec<Uuid>,
    present: Vec<bool>,
}

impl Worked {
    /// What these records hold.
    #[must_use]
    pub fn present(&self) -> Vec<Field> {
        fields(&self.present)
    }
}

/// Where the company worked, month by month, grouped by what the records hold.
///
/// # Errors
/// When the database does not answer.
pub async fn worked(conn: &mut Conn, from: NaiveDate, until: NaiveDate) -> sqlx::Result<Vec<Worked>> {
    sqlx::query_as(concat!(
        "select r.site_state as state, r.site_county as county, date_trunc('month', r.applied_on)::date as month,
            v.restricted_use, array_agg(distinct r.id) as records, ",
        present!(),
        " as present",
        narrowed!(),
        " group by 1, 2, 3, 4, 6"
    ))
    .bind(from)
    .bind(until)
    .bind("")
    .bind("")
    .fetch_all(conn)
    .await
}

/// Whether the company ever worked in this county, however its name is spelled.
///
/// # Errors
/// When the database does not answer.
pub async fn ever_worked(conn: &mut Conn, state: &str, county: &str) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from application_now r where r.origin = 'own' and r.site_state = $1
            and lower(r.site_county) = lower($2))",
    )
    .bind(state)
    .bind(county)
    .fetch_one(conn)
    .await
}

/// States and counties in which there are sites, for the filter of the log.
///
/// # Errors
/// When the database does not answer.
pub async fn places(conn: &mut Conn) -> sqlx::Result<Vec<(String, String)>> {
    sqlx::query_as("select distinct state, county from site order by 1, 2 limit 500").fetch_all(conn).await
}
