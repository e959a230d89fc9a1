//! A plant's dose at a visit: what the rules say of it, in words, and the row that reserves it.
use crate::{
    actions::{Error, Result},
    db::visit,
    domain::{
        facts::{Application, Facts},
        label::MeasureBasis,
        plan::{Ask, PlanError, PlannedDose, Refusal, may_plan},
        plant::figure_words,
        quantity::{Exact, from_decimal, kept, plain, to_decimal},
    },
};
use chrono::NaiveDate;
use num_traits::One;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Asks the rules for one plant. A dose that may be planned is reserved in the facts, so that the next
/// plant is asked about with it.
pub(in crate::actions) fn plan(
    facts: &mut Facts,
    plant: &visit::Bookable,
    rate: Option<Decimal>,
    on: NaiveDate,
) -> Result<Result<PlannedDose, String>> {
    if let Some(words) = unplannable(facts, plant) {
        return Ok(Err(words));
    }
    // Rates are written in the terms of the label; the rules know those for one foot, inch or plant.
    let per = plant.rate_per.map_or_else(Exact::one, from_decimal);
    let (id, rate) = (plant.plant_id.to_string(), rate.map(|rate| from_decimal(rate) / &per));
    match may_plan(facts, &Ask { plant: &id, use_id: None, rate: rate.as_ref(), on }) {
        Ok(planned) => {
            let product = plant.product_id.map(|p| p.to_string()).unwrap_or_default();
            let use_id = plant.label_use_id.map(|u| u.to_string());
            let amount = planned.dose.product.clone();
            facts.reservations.push(Application { plant: Some(id), product, use_id, on, amount });
            Ok(Ok(planned))
        }
        Err(PlanError::Refused(why)) => {
            Ok(Err(in_label_terms(why.iter().map(words).collect::<Vec<_>>().join(" "), plant, &per)))
        }
        Err(PlanError::Unknown(what)) => Ok(Err(format!("The label entry lacks a {what} for this plant."))),
        Err(PlanError::Facts(faults)) => {
            let words: Vec<String> = faults.iter().map(ToString::to_string).collect();
            Err(anyhow::anyhow!("facts do not fit together: {}", words.join("; ")).into())
        }
    }
}

fn words(refusal: &Refusal) -> String {
    match &refusal.way_out {
        Some(way) => format!("{} {way}", refusal.words),
        None => refusal.words.clone(),
    }
}

/// Where the label states its rate for more than one inch, the refusal's figures are told apart from it.
fn in_label_terms(words: String, plant: &visit::Bookable, per: &Exact) -> String {
    let basis = plant.measure_basis.as_deref().and_then(MeasureBasis::from_code);
    match (basis, plant.rate_low.zip(plant.rate_high)) {
        (Some(basis), Some((low, high))) if !per.is_one() => format!(
            "{words} Rates here are per {}; the label states {} to {} per {}, and the form takes the rate so.",
            basis.after_per(&Exact::one()),
            low.normalize(),
            high.normalize(),
            basis.on_label(per)
        ),
        _ => words,
    }
}

/// What is missing before the rules can even be asked.
fn unplannable(facts: &Facts, plant: &visit::Bookable) -> Option<String> {
    if plant.retired_at.is_some() {
        return Some("This plant is retired; bring it back first.".to_owned());
    }
    let Some(product) = &plant.product_name else {
        return Some("No treatment is chosen for this plant; choose one on its page.".to_owned());
    };
    if plant.product_retired_at.is_some() {
        return Some(format!(
            "{product} is retired and is not booked any more; choose another treatment on the plant's page."
        ));
    }
    if plant.label_use_id.is_none() {
        return Some(format!(
            "No signed label of {product} has this plant's use. Let a person with a current certification check and \
             sign the label entry, or choose another treatment."
        ));
    }
    let id = plant.plant_id.to_string();
    if !facts.plants.iter().any(|p| p.id == id) {
        return Some(no_dose(plant));
    }
    let booked = facts.reservations.iter().find(|r| {
        r.plant.as_deref() == Some(&id) && plant.product_id.is_some_and(|p| p.to_string() == r.product)
    })?;
    Some(format!(
        "This plant is booked for {product} on {} already; move or cancel that visit instead.",
        booked.on
    ))
}

/// Why the rules know no dose of a plant that has its use: it is not measured, or packets cannot be divided.
fn no_dose(plant: &visit::Bookable) -> String {
    let basis = plant.measure_basis.as_deref().and_then(MeasureBasis::from_code);
    let measured = basis.is_some_and(|basis| plant.measure().for_basis(basis).is_some());
    let piece = plant.rate_unit.as_deref().filter(|unit| matches!(*unit, "packet" | "tablet"));
    if let (true, Some(piece)) = (measured, piece) {
        return format!(
            "No whole number of {piece}s lies within the label's band for its measure, and a {piece} is never \
             divided; choose another treatment."
        );
    }
    let what = basis.map_or("size", figure_words);
    format!("Its {what} is not measured; measure it and enter it on its page.")
}

/// Takes a dose's own reservation out of the facts, so that it does not stand in its own way.
pub(in crate::actions) fn forget(facts: &mut Facts, (plant, label_use): (Uuid, Uuid), on: NaiveDate) {
    let (plant, item) = (plant.to_string(), label_use.to_string());
    let own = facts
        .reservations
        .iter()
        .position(|r| r.on == on && r.plant.as_deref() == Some(&plant) && r.use_id.as_deref() == Some(&item));
    if let Some(position) = own {
        facts.reservations.remove(position);
    }
}

/// The dose as a row.
pub(super) fn stored(
    visit: Uuid,
    plant: &visit::Bookable,
    facts: &Facts,
    planned: &PlannedDose,
) -> Result<visit::NewDose> {
    let id = plant.plant_id.to_string();
    let measure = facts.plants.iter().find(|p| p.id == id).map(|p| &p.measure).ok_or(Error::NotFound)?;
    let per = plant.rate_per.map_or_else(Exact::one, from_decimal);
    Ok(visit::NewDose {
        visit_id: visit,
        plant_id: plant.plant_id,
        label_use_id: plant.label_use_id.ok_or(Error::NotFound)?,
        measure: decimal(&kept(measure))?,
        count: plant.count,
        rate: decimal(&(&planned.dose.rate * per))?,
        amount: decimal(&kept(&planned.dose.product.value))?,
        unit: planned.dose.product.unit.code().to_owned(),
    })
}

/// A product of decimals is a decimal; only its length may be too much for the database.
pub(in crate::actions) fn decimal(value: &Exact) -> Result<Decimal> {
    to_decimal(value).ok_or_else(|| Error::refused(format!("{} has too many digits.", plain(value))))
}
