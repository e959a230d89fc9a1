//! The facts of a parcel, gathered for the engine: its land, plants, products, past and bookings.
//! In them plants, products and uses are named by their UUIDs.
mod every;
mod gathered;
mod product;
mod rows;

use super::Conn;
use crate::domain::{
    calendar::{MonthDay, YearlySpan},
    facts::{Application, Eaten, Facts, PlantFacts, SiteFacts},
    label::{MeasureBasis, Registration},
    measure::StemRule,
    permission::Applicator,
    plant::{food_reached, measure_for},
    quantity::{Amount, AmountUnit, Area, AreaUnit, Exact, from_decimal},
};
use chrono::NaiveDate;
pub use every::{Every, Share};
use gathered::Gathered;
use product::Catalogue;
pub use product::described;
use rows::{AppliedRow, BookedRow, LandRow, PlantRow};
use std::collections::HashSet;
use uuid::Uuid;

/// Everything that the engine needs to know of a parcel. Plants without a treatment, or
/// without the measure that it asks, are not among the plants: no day can be worked out.
///
/// # Errors
/// `RowNotFound` when there is no such parcel; a decode error when a row cannot be.
pub async fn of_parcel(
    conn: &mut Conn,
    parcel: Uuid,
    today: NaiveDate,
    applicator: Applicator,
) -> sqlx::Result<Facts> {
    for_day(conn, parcel, today, today, applicator).await
}

/// The same for a plan on that day: registrations that end before it count as ended.
///
/// # Errors
/// As [`of_parcel`].
pub async fn for_day(
    conn: &mut Conn,
    parcel: Uuid,
    today: NaiveDate,
    on: NaiveDate,
    applicator: Applicator,
) -> sqlx::Result<Facts> {
    let mut gathered = Gathered::read(conn, &[parcel], on).await?;
    gathered.take(parcel, today, applicator)?.ok_or(sqlx::Error::RowNotFound)
}

/// The facts of many parcels as the company's due days ask for them, in as few queries as for one.
///
/// # Errors
/// As [`of_parcel`], save that a parcel that is not there is left out.
pub async fn of_parcels(
    conn: &mut Conn,
    parcels: &[Uuid],
    today: NaiveDate,
) -> sqlx::Result<Vec<(Uuid, Facts)>> {
    let certified: HashSet<Uuid> = rows::certified(conn, parcels, today).await?.into_iter().collect();
    let mut gathered = Gathered::read(conn, parcels, today).await?;
    let mut all = Vec::with_capacity(parcels.len());
    for parcel in parcels {
        let applicator = company(certified.contains(parcel));
        if let Some(facts) = gathered.take(*parcel, today, applicator)? {
            all.push((*parcel, facts));
        }
    }
    Ok(all)
}

/// Whether somebody at work holds a certification of the parcel's state that day: due days ask
/// whether the company may do the work at all, a booking asks who comes.
///
/// # Errors
/// When the database does not answer.
pub async fn company_as_applicator(conn: &mut Conn, parcel: Uuid, on: NaiveDate) -> sqlx::Result<Applicator> {
    Ok(company(!rows::certified(conn, &[parcel], on).await?.is_empty()))
}

fn company(certified: bool) -> Applicator {
    Applicator { certified, ..Applicator::default() }
}

/// A registration that holds on the day asked about is expected to be renewed as every year: its end holds
/// back no later day. Who books a visit asks about the visit's day.
fn registration(state: String, ends: NaiveDate, on: NaiveDate) -> Registration {
    Registration { state, from: None, until: (ends < on).then_some(ends) }
}

fn site(land: LandRow, today: NaiveDate) -> SiteFacts {
    let area = land.cap_area_sqft().map(|sqft| Area::new(from_decimal(sqft), AreaUnit::SquareFoot));
    SiteFacts {
        state: land.state,
        county: land.county,
        cap_area: area,
        // Until somebody has answered, nothing before tomorrow counts as known.
        history_known_from: land.history_known_from.or_else(|| today.succ_opt()),
        ..SiteFacts::default()
    }
}

fn plant(row: &PlantRow, catalogue: &Catalogue) -> sqlx::Result<Option<PlantFacts>> {
    let Some(item) = catalogue.use_of_code(row.product_id, &row.use_code) else { return Ok(None) };
    let basis = MeasureBasis::from_code(&item.measure).ok_or_else(|| unknown("measure", &item.measure))?;
    let stems: Vec<Exact> = row.stems_in.iter().map(|s| from_decimal(*s)).collect();
    let rule = row.stem_rule.as_deref().and_then(StemRule::from_code);
    let Some(measure) = measure_for(basis, row.height_ft.map(from_decimal), &stems, rule) else {
        return Ok(None);
    };
    let eaten = |text: &str| Eaten::from_code(text).ok_or_else(|| unknown("answer", text));
    let bloom = row.bloom_from.as_deref().zip(row.bloom_to.as_deref());
    let bloom = bloom
        .and_then(|(from, to)| Some(YearlySpan { from: MonthDay::parse(from)?, to: MonthDay::parse(to)? }));
    Ok(Some(PlantFacts {
        id: row.id.to_string(),
        name: Some(format!("{}, {}", row.host_plant, row.place)),
        use_id: item.id.to_string(),
        rate: row.planned_rate.map(from_decimal),
        measure,
        count: u32::try_from(row.count).map_err(|_| unknown("count", &row.count.to_string()))?,
        first_wanted: row.first_wanted,
        host: Some(row.host_plant.to_lowercase()),
        in_bloom: row.in_bloom,
        bloom: bloom.into_iter().collect(),
        eaten: food_reached(eaten(&row.eaten)?, eaten(&row.food_in_root_zone)?),
        active: true,
        ..PlantFacts::default()
    }))
}

fn application(row: &AppliedRow, catalogue: &Catalogue) -> sqlx::Result<Application> {
    Ok(Application {
        plant: row.plant_id.map(|id| id.to_string()),
        product: catalogue.key_of_version(row.product_id, row.label_version_id),
        use_id: row.label_use_id.map(|id| id.to_string()),
        on: row.applied_on,
        amount: amount(row.amount, &row.unit)?,
    })
}

fn reservation(row: &BookedRow, catalogue: &Catalogue) -> sqlx::Result<Application> {
    Ok(Application {
        plant: Some(row.plant_id.to_string()),
        product: catalogue.key_of_version(row.product_id, row.label_version_id),
        use_id: Some(row.label_use_id.to_string()),
        on: row.on_date,
        amount: amount(row.amount, &row.unit)?,
    })
}

fn amount(value: rust_decimal::Decimal, unit: &str) -> sqlx::Result<Amount> {
    let unit = AmountUnit::from_code(unit).map_err(|_| unknown("unit", unit))?;
    Ok(Amount::new(from_decimal(value), unit))
}

/// A row that cannot be: a code that the table's checks should have refused.
fn unknown(what: &str, text: &str) -> sqlx::Error {
    sqlx::Error::Decode(format!("unknown {what} {text:?}").into())
}
