//! What a version copies: people with their certifications of that day, plants, products and labels as
//! they are called now, so that the record says the same in three years.
use super::{Applied, Stop};
use crate::{
    actions::{Error, Result, visit::decimal},
    db::{
        Conn,
        record::{self, Choice, Head, Item, Planted},
    },
    domain::{
        product_kind::ProductKind,
        quantity::{AmountUnit, Exact, floor_at, from_decimal},
    },
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Fills the parts of the head that the stop decides.
pub async fn fill(conn: &mut Conn, head: &mut Head, stop: &Stop) -> Result<()> {
    times(stop)?;
    let applicator = named(conn, stop.applicator, &head.site_state, stop.on, "applicator").await?;
    let supervisor = named(conn, stop.supervisor, &head.site_state, stop.on, "supervisor").await?;
    head.origin.clone_from(&stop.origin);
    head.applied_on = stop.on;
    head.started_at = stop.started_at;
    head.finished_at = stop.finished_at;
    head.applicator_id = stop.applicator;
    (head.applicator_name, head.applicator_certification) =
        applicator.unwrap_or_else(|| (stop.other_name.clone(), stop.other_certification.clone()));
    head.supervisor_id = stop.supervisor;
    (head.supervisor_name, head.supervisor_certification) = supervisor.unwrap_or_default();
    head.wind_direction.clone_from(&stop.wind_direction);
    head.wind_mph = stop.wind_mph;
    head.temperature_f = stop.temperature_f;
    head.area_treated_sqft = stop.area_treated_sqft;
    head.note.clone_from(&stop.note);
    Ok(())
}

fn times(stop: &Stop) -> Result<()> {
    match (stop.started_at, stop.finished_at) {
        (Some(started), Some(finished)) if finished < started => {
            Err(Error::field("finished_at", "The work ends before it starts."))
        }
        _ => Ok(()),
    }
}

/// Name and certification number in force in that state that day.
async fn named(
    conn: &mut Conn,
    id: Option<Uuid>,
    state: &str,
    on: NaiveDate,
    field: &'static str,
) -> Result<Option<(String, String)>> {
    let Some(id) = id else { return Ok(None) };
    let found = record::person_on(conn, id, state, on).await?;
    let found = found.ok_or_else(|| Error::field(field, "Choose one of these people."))?;
    Ok(Some((found.name, found.number)))
}

/// Every item as the record keeps it.
pub async fn items(conn: &mut Conn, site: Uuid, on: NaiveDate, applied: &[Applied]) -> Result<Vec<Item>> {
    if applied.is_empty() {
        return Err(Error::refused(
            "Nothing was entered: a record holds at least one amount that was applied.",
        ));
    }
    let plants = record::plants(conn, site).await?;
    let mut items = Vec::with_capacity(applied.len());
    for (position, one) in (1..).zip(applied) {
        let plant = match one.plant {
            None => None,
            Some(id) => Some(plants.iter().find(|p| p.id == id).ok_or(Error::NotFound)?),
        };
        let choice = record::choice_on(conn, one.label_use, on).await?.ok_or(Error::NotFound)?;
        items.push(item(position, one, plant, choice)?);
    }
    Ok(items)
}

fn item(position: i32, one: &Applied, plant: Option<&Planted>, label: Choice) -> Result<Item> {
    unit_fits(&label, &one.unit)?;
    let rate = one.measure.map(|measure| rate(one.amount, measure, one.count)).transpose()?;
    Ok(Item {
        position,
        plant_id: one.plant,
        plant_words: plant.map_or_else(|| one.words.clone(), |p| p.place.clone()),
        host_plant: plant.map(|p| p.host_plant.clone()).unwrap_or_default(),
        target_pest: plant.map(|p| p.target_pest.clone()).unwrap_or_default(),
        product_id: label.product_id,
        label_version_id: label.label_version_id,
        label_use_id: Some(label.label_use_id),
        product_name: label.product_name,
        registration_number: label.registration_number,
        method: label.method,
        measure: one.measure,
        measure_basis: if one.measure.is_some() { label.measure } else { String::new() },
        count: one.count,
        rate,
        amount: one.amount,
        unit: one.unit.clone(),
        water: one.water,
        water_unit: one.water.and(one.water_unit.clone()),
        lot: one.lot.clone(),
    })
}

/// What is poured is a volume, what is weighed a mass, packets are counted; nothing else adds up.
fn unit_fits(label: &Choice, unit: &str) -> Result<()> {
    let Some(kind) = ProductKind::from_code(&label.form) else { return Ok(()) };
    let name = &label.product_name;
    let words = match (AmountUnit::from_code(unit), kind) {
        (Err(_), _) => format!("{unit:?} is no unit that can be read."),
        (Ok(unit), kind) if kind.is_measured_in(unit) => return Ok(()),
        (_, ProductKind::Liquid) => {
            format!("{name} is poured: write its amount as a volume, such as mL or floz.")
        }
        (_, ProductKind::Dry) => format!("{name} is weighed: write its amount as a mass, such as g or oz."),
        (_, ProductKind::Packet | ProductKind::Tablet) => {
            format!("{name} comes {}: write how many {}s were used.", kind.words(), kind.code())
        }
    };
    Err(Error::field("unit", words))
}

/// Amount per foot or inch of one plant. It says what was done and decides nothing, so six decimals do.
fn rate(amount: Decimal, measure: Decimal, count: i32) -> Result<Decimal> {
    let each: Exact = from_decimal(amount) / from_decimal(measure * Decimal::from(count));
    Ok(decimal(&floor_at(&each, 6))?.max(Decimal::new(1, 6)))
}
