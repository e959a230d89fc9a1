//! From the outlook of a property to the JSON answer, rounded for print.

use super::scenario::Scenario;
use crate::domain::book::{Book, Planting};
use crate::domain::cap::{CapStanding, EarlierUse};
use crate::domain::dose::{Dose, DoseError, product_for};
use crate::domain::due::{Due, Outlook};
use crate::domain::facts::Facts;
use crate::domain::pour::{Vessel, load, outside_band, show};
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
    #[serde(skip_serializing_if = "Vec::is_empty")]
    product_caps: Vec<ProductCapAnswer>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    loads: Vec<LoadAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    allocation: Option<AllocationAnswer>,
}

#[derive(Serialize)]
struct ProductCapAnswer {
    product: String,
    unit: &'static str,
    allowed: Option<String>,
    used: String,
    remaining: Option<String>,
    window: Window,
}

#[derive(Serialize)]
struct LoadAnswer {
    #[serde(rename = "use")]
    use_id: String,
    product: Figure,
    water: Option<Band>,
    tanks: Option<[u64; 2]>,
    per_tank: Option<[Figure; 2]>,
}

#[derive(Serialize)]
struct AllocationAnswer {
    total_gap_days: i64,
    without_a_day: usize,
    exact: bool,
}

#[derive(Serialize)]
struct KitAnswer {
    vessel: String,
    each: Option<Figure>,
    total: Option<Figure>,
    fillings: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cannot: Option<String>,
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
    #[serde(skip_serializing_if = "Vec::is_empty")]
    kit: Vec<KitAnswer>,
    #[serde(skip_serializing_if = "Option::is_none")]
    warning: Option<String>,
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
pub fn answer(scenario: &Scenario, book: &Book<'_>, outlook: &Outlook) -> Result<Answer, DoseError> {
    let facts = &scenario.facts;
    Ok(Answer {
        doses: book.plantings.iter().map(|one| dose(scenario, one)).collect(),
        product_caps: outlook.product_caps.iter().map(product_cap).collect(),
        loads: scenario.tank.as_ref().map(|tank| loads(book, tank)).unwrap_or_default(),
        allocation: scenario.allocation.map(|_| AllocationAnswer {
            total_gap_days: outlook.due.iter().filter_map(|due| due.gap_days).sum(),
            without_a_day: outlook.due.iter().filter(|due| due.allowed_on.is_none()).count(),
            exact: outlook.exact,
        }),
        caps: outlook.caps.iter().map(|standing| cap(facts, standing)).collect::<Result<_, _>>()?,
        due: outlook.due.iter().map(due).collect(),
    })
}

fn band(low: &Amount, high: &Amount) -> Band {
    Band { low: plain(&low.value), high: plain(&high.value), unit: low.unit.code() }
}

fn figure(amount: &Amount) -> Figure {
    Figure { value: plain(&amount.value), unit: amount.unit.code() }
}

fn product_cap(standing: &CapStanding) -> ProductCapAnswer {
    let shown = |value: &Exact| fixed_half_up(value, MASS_PLACES);
    ProductCapAnswer {
        product: standing.product.as_ref().map_or_else(String::new, |product| product.id.clone()),
        unit: standing.unit(),
        allowed: standing.cap.allowed.as_ref().map(shown),
        used: shown(&standing.used),
        remaining: standing.remaining.as_ref().map(shown),
        window: Window { from: standing.window.from, to: standing.window.to },
    }
}

/// The doses of each use together, in the order in which uses are met.
fn loads(book: &Book<'_>, tank: &Amount) -> Vec<LoadAnswer> {
    let mut uses: Vec<&str> = Vec::new();
    for one in &book.plantings {
        if !uses.contains(&one.item.id.as_str()) {
            uses.push(&one.item.id);
        }
    }
    let answer = |id: &str| {
        let own = book.plantings.iter().filter(|one| one.plant.active && one.item.id == id);
        let load = load(own.map(|one| &one.dose), Some(tank))?;
        Some(LoadAnswer {
            use_id: id.to_owned(),
            product: figure(&load.product),
            water: load.water.as_ref().map(|(low, high)| band(low, high)),
            tanks: load.tanks.map(|(low, high)| [low, high]),
            per_tank: load.per_tank.as_ref().map(|(low, high)| [figure(low), figure(high)]),
        })
    };
    uses.into_iter().filter_map(answer).collect()
}

fn kit(dose: &Dose, count: u32, vessel: &Vessel) -> KitAnswer {
    let shown = show(dose, count, vessel);
    let found = shown.as_ref().ok();
    KitAnswer {
        vessel: vessel.name.clone(),
        each: found.map(|shown| figure(&shown.each)),
        total: found.map(|shown| figure(&shown.total)),
        fillings: found.and_then(|shown| shown.fillings),
        cannot: shown.as_ref().err().map(ToString::to_string),
    }
}

fn dose(scenario: &Scenario, one: &Planting<'_>) -> DoseAnswer {
    let (plant, dose) = (one.plant.id.as_str(), &one.dose);
    let grams = |grams: &Exact| Figure { value: fixed_half_up(grams, MASS_PLACES), unit: "g" };
    DoseAnswer {
        plant: plant.to_owned(),
        product: Figure { value: plain(&dose.product.value), unit: dose.product.unit.code() },
        ingredients: dose.ingredients.iter().map(|(name, held)| (name.clone(), grams(held))).collect(),
        band: band(&dose.low, &dose.high),
        water: dose.water.as_ref().map(|water| band(&water.low, &water.high)),
        kit: scenario.kit.iter().map(|vessel| kit(dose, one.plant.count, vessel)).collect(),
        warning: scenario.poured.get(plant).and_then(|poured| outside_band(dose, poured)),
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
