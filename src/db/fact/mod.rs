//! The facts of a parcel, gathered for the engine: its land, plants, products, past and bookings.
//! In them plants, products and uses are named by their UUIDs.
mod applicator;
mod every;
mod gathered;
mod offer;
mod part;
mod product;
mod rows;
mod rules;

use super::Conn;
use crate::domain::{
    calendar::{MonthDay, YearlySpan},
    dose::dose,
    due::Allocation,
    facts::{Application, Eaten, Facts, PlantFacts, SiteFacts},
    label::{MeasureBasis, Product, Registration},
    permission::Applicator,
    plant::{Measure, food_reached},
    quantity::{Amount, AmountUnit, Area, AreaUnit, from_decimal},
};
pub use applicator::{applicator, company_as_applicator, company_holds, person_as_applicator};
use chrono::NaiveDate;
pub use every::{Every, Share};
use gathered::Gathered;
pub use offer::{Offerable, OfferedUse, offerable};
use product::Catalogue;
pub use product::described;
use rows::{AppliedRow, BookedRow, LandRow, PlantRow, RegistrationRow};
use uuid::Uuid;

/// Everything that the engine needs to know of a parcel. Plants without a treatment, or
/// without the measure that it asks, or for which no whole number of packets lies within the band, are not
/// among the plants: no day can be worked out.
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
    let gathered = Gathered::read(conn, parcels, today).await?;
    let companies = gathered.companies(conn, today).await?;
    gathered.take_all(parcels, today, &companies)
}

/// A registration that holds on the day asked about is expected to be renewed as every year: its end holds
/// back no later day. Who books a visit asks about the visit's day.
fn registration(row: RegistrationRow, on: NaiveDate) -> Registration {
    let until = (row.expires_on < on).then_some(row.expires_on);
    Registration { state: row.state, from: row.valid_from, until }
}

fn site(land: LandRow, today: NaiveDate) -> sqlx::Result<SiteFacts> {
    let area = land.cap_area_sqft().map(|sqft| Area::new(from_decimal(sqft), AreaUnit::SquareFoot));
    let sharing = Allocation::from_code(&land.sharing).ok_or_else(|| unknown("sharing", &land.sharing))?;
    Ok(SiteFacts {
        state: land.state,
        county: land.county,
        municipality: land.municipality,
        agricultural: land.agricultural,
        cap_area: area,
        // Until somebody has answered, nothing before tomorrow counts as known.
        history_known_from: land.history_known_from.or_else(|| today.succ_opt()),
        sharing,
        ..SiteFacts::default()
    })
}

fn plant(row: &PlantRow, catalogue: &Catalogue) -> sqlx::Result<Option<PlantFacts>> {
    let Some(item) = catalogue.use_of_code(row.product_id, &row.use_code) else { return Ok(None) };
    let basis = MeasureBasis::from_code(&item.measure).ok_or_else(|| unknown("measure", &item.measure))?;
    let Some(measure) = row.measure().for_basis(basis) else { return Ok(None) };
    let eaten = |text: &str| Eaten::from_code(text).ok_or_else(|| unknown("answer", text));
    Ok(Some(PlantFacts {
        id: row.id.to_string(),
        name: Some(format!("{}, {}", row.host_plant, row.place)),
        use_id: item.id.to_string(),
        // The plant's rate is written in the terms of its label.
        rate: row.planned_rate.map(|rate| from_decimal(rate) / from_decimal(item.rate_per)),
        measure,
        count: u32::try_from(row.count).map_err(|_| unknown("count", &row.count.to_string()))?,
        first_wanted: row.first_wanted,
        host: Some(row.host_plant.to_lowercase()),
        in_bloom: row.in_bloom,
        bloom: yearly(row.bloom_from.as_deref(), row.bloom_to.as_deref()),
        pest: (!row.target_pest.is_empty()).then(|| row.target_pest.to_lowercase()),
        harvest: yearly(row.harvest_from.as_deref(), row.harvest_to.as_deref()),
        harvest_on: row.harvest_on,
        eaten: food_reached(eaten(&row.eaten)?, eaten(&row.food_in_root_zone)?),
        active: true,
    }))
}

impl PlantRow {
    fn measure(&self) -> Measure {
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

/// The span of every year, where both its days are known.
fn yearly(from: Option<&str>, to: Option<&str>) -> Vec<YearlySpan> {
    let span = from
        .zip(to)
        .and_then(|(from, to)| Some(YearlySpan { from: MonthDay::parse(from)?, to: MonthDay::parse(to)? }));
    span.into_iter().collect()
}

/// Packets and tablets are not divided: where no whole number of them lies within the band there is no dose.
fn has_dose(products: &[Product], plant: &PlantFacts) -> bool {
    let found = products.iter().find_map(|product| Some((product, product.find_use(&plant.use_id)?)));
    found.is_some_and(|(product, item)| {
        dose(product, item, &plant.measure, plant.count, plant.rate.as_ref()).is_ok()
    })
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
