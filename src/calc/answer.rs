//! From the outlook of a property to the JSON answer, rounded for print.

use crate::domain::book::Book;
use crate::domain::cap::{CapStanding, EarlierUse};
use crate::domain::dose::{Dose, DoseError, product_for};
use crate::domain::due::{Due, Outlook};
use crate::domain::facts::Facts;
use crate::domain::quantity::{Amount, Exact, fixed_down, fixed_half_up, plain};
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::BTreeMap;

/// Decimals of masses.
const MASS_PLACES: usize = 6;
/// Decimals of what is left of a product.
const PRODUCT_PLACES: usize = 4;

/// The whole answer.
#[derive(Serialize)]
pub struct Answer {
    doses: Vec<DoseAnswer>,
    caps: Vec<CapAnswer>,
    due: Vec<DueAnswer>,
}

#[derive(Serialize)]
struct Figure {
    value: String,
    unit: &'static str,
}

#[derive(Serialize)]
struct Band {
    low: String,
    high: String,
    unit: &'static str,
}

#[derive(Serialize)]
struct DoseAnswer {
    plant: String,
    product: Figure,
    ingredients: BTreeMap<String, Figure>,
    band: Band,
    water: Option<Band>,
}

#[derive(Serialize)]
struct Window {
    from: NaiveDate,
    to: NaiveDate,
}

#[derive(Serialize)]
struct CapAnswer {
    ingredient: String,
    allowed_g: Option<String>,
    used_g: String,
    remaining_g: Option<String>,
    remaining_product: Option<BTreeMap<String, Figure>>,
    window: Window,
    #[serde(skip_serializing_if = "Option::is_none")]
    earlier_use: Option<&'static str>,
}

#[derive(Serialize)]
struct DueAnswer {
    plant: String,
    protected_until: Option<NaiveDate>,
    wanted_on: NaiveDate,
    allowed_on: Option<NaiveDate>,
    due_on: Option<NaiveDate>,
    held_by: Vec<&'static str>,
    gap_days: Option<i64>,
    why: Vec<String>,
}

/// Puts the answer together.
///
/// # Errors
/// [`DoseError`] when what is left cannot be said in a product's own unit.
pub fn answer(facts: &Facts, book: &Book<'_>, outlook: &Outlook) -> Result<Answer, DoseError> {
    Ok(Answer {
        doses: book.plantings.iter().map(|one| dose(&one.plant.id, &one.dose)).collect(),
        caps: outlook.caps.iter().map(|standing| cap(facts, standing)).collect::<Result<_, _>>()?,
        due: outlook.due.iter().map(due).collect(),
    })
}

fn band(low: &Amount, high: &Amount) -> Band {
    Band { low: plain(&low.value), high: plain(&high.value), unit: low.unit.code() }
}

fn dose(plant: &str, dose: &Dose) -> DoseAnswer {
    let grams = |grams: &Exact| Figure { value: fixed_half_up(grams, MASS_PLACES), unit: "g" };
    DoseAnswer {
        plant: plant.to_owned(),
        product: Figure { value: plain(&dose.product.value), unit: dose.product.unit.code() },
        ingredients: dose.ingredients.iter().map(|(name, held)| (name.clone(), grams(held))).collect(),
        band: band(&dose.low, &dose.high),
        water: dose.water.as_ref().map(|water| band(&water.low, &water.high)),
    }
}

fn cap(facts: &Facts, standing: &CapStanding) -> Result<CapAnswer, DoseError> {
    let mass = |grams: &Exact| fixed_half_up(grams, MASS_PLACES);
    Ok(CapAnswer {
        ingredient: standing.ingredient.clone(),
        allowed_g: standing.cap.allowed.as_ref().map(mass),
        used_g: mass(&standing.used),
        remaining_g: standing.remaining.as_ref().map(mass),
        remaining_product: standing.free().map(|grams| left(facts, standing, &grams)).transpose()?,
        window: Window { from: standing.window.from, to: standing.window.to },
        earlier_use: (standing.earlier_use == EarlierUse::Unconfirmed).then_some("unconfirmed"),
    })
}

/// What is left in each product that holds the ingredient, rounded down.
fn left(facts: &Facts, standing: &CapStanding, grams: &Exact) -> Result<BTreeMap<String, Figure>, DoseError> {
    let mut all = BTreeMap::new();
    for product in &facts.products {
        let held = product.ingredients.iter().find(|one| one.name == standing.ingredient);
        if let Some(ingredient) = held {
            let amount = product_for(product, ingredient, grams, product.shown_unit())?;
            let figure =
                Figure { value: fixed_down(&amount.value, PRODUCT_PLACES), unit: amount.unit.code() };
            all.insert(product.id.clone(), figure);
        }
    }
    Ok(all)
}

fn due(due: &Due) -> DueAnswer {
    DueAnswer {
        plant: due.plant.clone(),
        protected_until: due.protected_until,
        wanted_on: due.wanted_on,
        allowed_on: due.allowed_on,
        due_on: due.due_on,
        held_by: due.held_by.iter().map(|rule| rule.code()).collect(),
        gap_days: due.gap_days,
        why: due.why.clone(),
    }
}
