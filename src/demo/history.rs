//! The visits of the past and what was recorded of them.
use super::{
    days::{ahead, at},
    people::{Member, People},
    product::{Held, Shelf, key},
    world::{Call, Plant, Quirk, World},
};
use crate::db::{
    Conn,
    demo::{Table, fill},
    label,
    record::{self, Head, Item, Version},
};
use chrono::{NaiveTime, TimeDelta};
use rust_decimal::Decimal;
use serde_json::{Value, json};
use uuid::Uuid;

/// Why the amended record was amended.
pub const AMENDED: &str = "The photo of the cup shows 18 mL, not 24 mL; the wind was left out.";

/// Enters every visit of the past with its doses, and the records in the order in which they
/// were written. Each call with the id of its record.
pub async fn enter(
    conn: &mut Conn,
    w: &mut World,
    people: &People,
    shelf: &Shelf,
) -> anyhow::Result<Vec<(Call, Uuid)>> {
    let mut calls = std::mem::take(&mut w.calls);
    calls.sort_by_key(|call| (call.on, call.place));
    let (mut visits, mut doses, mut versions, mut known) = (vec![], vec![], vec![], vec![]);
    for call in calls {
        let (record, visit) = (w.chance.id(), w.chance.id());
        let items = items(w, &call, shelf)?;
        let own = call.quirk != Quirk::Lawn;
        if own {
            visits.push(visit_row(w, &call, visit, people));
            doses.extend(items.iter().map(|item| dose_row(visit, item)));
        }
        let head = head(w, &call, record, own.then_some(visit), people);
        versions.extend(as_recorded(&call, Version { head, items }));
        known.push((call, record));
    }
    fill(conn, Table::Visit, &visits).await?;
    fill(conn, Table::PlannedDose, &doses).await?;
    versions.sort_by_key(|version| (version.head.recorded_at, version.head.id, version.head.version));
    for version in &versions {
        record::insert(conn, version).await?;
    }
    Ok(known)
}

fn visit_row(w: &World, call: &Call, id: Uuid, people: &People) -> Value {
    json!({ "id": id, "site_id": w.places[call.place].id, "technician_id": people.technicians[call.technician].id,
        "on_date": call.on, "status": "done", "note": "", "booked_by": people.office,
        "booked_at": at(super::days::ago(call.on, 9), 10, 15), "closed_at": at(call.on, 15, 30) })
}

fn dose_row(visit: Uuid, item: &Item) -> Value {
    json!({ "visit_id": visit, "plant_id": item.plant_id, "label_use_id": item.label_use_id,
        "measure": item.measure, "count": item.count, "rate": item.rate, "amount": item.amount,
        "unit": item.unit, "status": "applied" })
}

/// The figure that a use multiplies its rate with.
pub fn measure(plant: &Plant, basis: &str) -> Option<Decimal> {
    match basis {
        "height-ft" => plant.height,
        // The demo's trees of several stems count them all.
        _ => (!plant.stems.is_empty()).then(|| plant.stems.iter().sum()),
    }
}

fn items(w: &World, call: &Call, shelf: &Shelf) -> anyhow::Result<Vec<Item>> {
    if call.quirk == Quirk::Lawn {
        return Ok(vec![lawn(shelf.get(key::LAWN)?)?]);
    }
    let mut items = vec![];
    for (position, plant) in (1_i32..).zip(&call.plants) {
        let plant = &w.plants[*plant];
        let (key, code) =
            plant.treatment.ok_or_else(|| anyhow::anyhow!("{} has no treatment", plant.spot))?;
        let held = shelf.get(key)?;
        let version =
            held.in_force(call.on).ok_or_else(|| anyhow::anyhow!("no label of {key} on {}", call.on))?;
        let used = version.uses.iter().find(|u| u.code == code);
        let used = used.ok_or_else(|| anyhow::anyhow!("no use {code} of {key}"))?;
        items.push(item(position, plant, held, used)?);
    }
    Ok(items)
}

fn item(position: i32, plant: &Plant, held: &Held, used: &label::Use) -> anyhow::Result<Item> {
    let measure =
        measure(plant, &used.measure).ok_or_else(|| anyhow::anyhow!("{} not measured", plant.spot))?;
    let rate = plant.rate.unwrap_or(used.rate_low);
    let times = measure * Decimal::from(plant.count);
    Ok(Item {
        position,
        plant_id: Some(plant.id),
        plant_words: plant.spot.clone(),
        host_plant: plant.host.to_owned(),
        target_pest: plant.pest.to_owned(),
        product_id: held.product.id,
        label_version_id: used.label_version_id,
        label_use_id: Some(used.id),
        product_name: held.product.name.clone(),
        registration_number: held.product.registration_number.clone(),
        method: used.method.clone(),
        measure: Some(measure),
        measure_basis: used.measure.clone(),
        count: i32::try_from(plant.count)?,
        rate: Some(rate),
        amount: rate * times,
        unit: used.rate_unit.clone(),
        water: used.water_low.map(|low| low * times),
        water_unit: used.water_unit.clone(),
        lot: String::new(),
    })
}

/// A quarter of an acre of lawn at 0.3 lb of ingredient an acre: 15 lb of granules of 0.5 percent.
fn lawn(held: &Held) -> anyhow::Result<Item> {
    let version = held.versions.first().ok_or_else(|| anyhow::anyhow!("the lawn product has no label"))?;
    Ok(Item {
        position: 1,
        plant_id: None,
        plant_words: "Back lawn, a quarter of an acre".to_owned(),
        host_plant: "Lawn".to_owned(),
        target_pest: "White grubs".to_owned(),
        product_id: held.product.id,
        label_version_id: version.id,
        label_use_id: None,
        product_name: held.product.name.clone(),
        registration_number: held.product.registration_number.clone(),
        method: "broadcast".to_owned(),
        measure: None,
        measure_basis: String::new(),
        count: 1,
        rate: None,
        amount: Decimal::from(15),
        unit: "lb".to_owned(),
        water: None,
        water_unit: None,
        lot: String::new(),
    })
}

fn head(w: &World, call: &Call, id: Uuid, visit_id: Option<Uuid>, people: &People) -> Head {
    let place = &w.places[call.place];
    let customer = &w.customers[place.customer];
    let address =
        |street: &str, town: super::world::Town| format!("{street}, {}, CA {}", town.name, town.zip);
    let minute = u32::try_from(call.place % 50).unwrap_or_default();
    let start = NaiveTime::from_hms_opt(8 + minute % 5, minute, 0);
    let length = TimeDelta::minutes(20 + 6 * i64::try_from(call.plants.len()).unwrap_or_default());
    let technician = &people.technicians[call.technician];
    Head {
        id,
        version: 1,
        visit_id,
        site_id: place.id,
        parcel_id: w.lands[place.land].id,
        origin: "own".to_owned(),
        withdrawn: false,
        applied_on: call.on,
        started_at: start,
        finished_at: start.map(|time| time + length),
        customer_name: customer.name.clone(),
        customer_address: address(&customer.street, customer.town),
        site_address: address(&place.street, place.town),
        site_state: "CA".to_owned(),
        site_county: place.town.county.to_owned(),
        applicator_id: Some(technician.id),
        applicator_name: technician.name.to_owned(),
        applicator_certification: technician.number.to_owned(),
        supervisor_id: Some(people.owner.id),
        supervisor_name: people.owner.name.to_owned(),
        supervisor_certification: people.owner.number.to_owned(),
        wind_direction: ["W", "NW", "SW", "S"][call.place % 4].to_owned(),
        wind_mph: Some(Decimal::from(2 + minute % 6)),
        temperature_f: Some(Decimal::from(58 + minute % 20)),
        area_treated_sqft: Some(Decimal::from(40 + 25 * call.plants.len())),
        note: String::new(),
        recorded_by: technician.id,
        recorded_at: at(call.on, 16, minute),
        amend_reason: String::new(),
        conditions: None,
    }
}

/// The versions that the call left behind.
fn as_recorded(call: &Call, mut version: Version) -> Vec<Version> {
    match call.quirk {
        Quirk::Gaps => {
            let head = &mut version.head;
            (head.started_at, head.finished_at) = (None, None);
            (head.wind_mph, head.temperature_f, head.area_treated_sqft) = (None, None, None);
            head.wind_direction.clear();
            head.applicator_certification.clear();
            vec![version]
        }
        Quirk::Lawn => vec![of_lawn_company(call, version)],
        Quirk::Amended => {
            let second = amended(call, &version);
            version.head.wind_direction.clear();
            version.head.wind_mph = None;
            if let Some(item) = version.items.first_mut() {
                item.rate = Some(Decimal::from(4));
                item.amount = Decimal::from(24);
            }
            vec![version, second]
        }
        Quirk::Plain | Quirk::Unanswered | Quirk::Answered => vec![version],
    }
}

fn amended(call: &Call, first: &Version) -> Version {
    let mut second = first.clone();
    second.head.version = 2;
    second.head.recorded_at = at(ahead(call.on, 2), 9, 20);
    second.head.amend_reason = AMENDED.to_owned();
    second
}

fn of_lawn_company(call: &Call, mut version: Version) -> Version {
    let head = &mut version.head;
    head.origin = "other-company".to_owned();
    head.applicator_id = None;
    head.applicator_name = "Green Sward Lawns (invented)".to_owned();
    head.applicator_certification.clear();
    head.supervisor_id = None;
    head.supervisor_name.clear();
    head.supervisor_certification.clear();
    (head.started_at, head.finished_at, head.wind_mph, head.temperature_f) = (None, None, None, None);
    head.wind_direction.clear();
    head.area_treated_sqft = Some(Decimal::from(10_890));
    head.note = "Told by the customer, who showed the other company's slip.".to_owned();
    head.recorded_at = at(ahead(call.on, 2), 13, 5);
    version
}

/// What a flag's row holds besides the words of the rule.
pub fn flag_row(
    id: Uuid,
    call: &Call,
    record: Uuid,
    rule: &str,
    words: &str,
    answer: Option<&Member>,
) -> Value {
    json!({ "id": id, "record_id": record, "version": 1, "rule": rule, "words": words,
        "raised_at": at(call.on, 17, 0), "answered_by": answer.map(|who| who.id),
        "answered_certification_id": answer.map(|who| who.certification_id),
        "answered_at": answer.map(|_| at(ahead(call.on, 3), 8, 10)),
        "answer": answer.map_or("", |_| "Both shrubs were added on the spot. Told the customer; nothing of this \
            ingredient goes on the lot for a year, and the crew was shown the cap on the stop's page.") })
}
