//! Products with their ingredients, caps and uses.

use super::{quantity, unique_id, whole};
use crate::calc::read::{Node, Object};
use crate::domain::dose::grams_per_unit;
use crate::domain::label::{
    BloomRule, Cap, CapYear, FoodCover, Ingredient, MeasureBasis, PeriodUnit, Product, ProductForm,
    Protection, RateBand, Strength, Use, WaterBand,
};
use crate::domain::quantity::{AmountUnit, AreaUnit, Exact, MassUnit, VolumeUnit};
use std::collections::BTreeSet;

const PRODUCT_KEYS: &[&str] = &["id", "name", "form", "density", "signed", "ingredients", "caps", "uses"];
const USE_KEYS: &[&str] = &[
    "id",
    "method",
    "measure",
    "rate",
    "water",
    "protection",
    "uptake_days",
    "min_interval_days",
    "max_per_year",
    "season",
    "bloom",
    "covers_food",
    "pre_harvest_days",
    "excluded_hosts",
];

/// The longest period in days that is read: a hundred years.
const LONGEST_DAYS: u32 = 36_500;

/// `products`. Those with a mistake are left out.
pub fn products(nodes: &[Node<'_>]) -> Vec<Product> {
    let (mut ids, mut use_ids) = (BTreeSet::new(), BTreeSet::new());
    let products: Vec<Option<Product>> =
        nodes.iter().map(|node| product(node, &mut ids, &mut use_ids)).collect();
    if products.iter().all(Option::is_some) {
        check_caps(nodes, products.iter().flatten());
    }
    products.into_iter().flatten().collect()
}

/// A cap on what no product holds binds nothing: a slip of the pen.
fn check_caps<'a>(nodes: &[Node<'_>], products: impl Iterator<Item = &'a Product> + Clone) {
    let held = |name: &str| products.clone().any(|one| one.ingredients.iter().any(|i| i.name == name));
    for (node, product) in nodes.iter().zip(products.clone()) {
        for (position, cap) in product.caps.iter().enumerate() {
            if !held(&cap.ingredient) {
                let path = format!("caps/{position}/ingredient");
                node.wrong_below(&path, format!("no product holds \"{}\"", cap.ingredient));
            }
        }
    }
}

fn product(node: &Node<'_>, ids: &mut BTreeSet<String>, use_ids: &mut BTreeSet<String>) -> Option<Product> {
    let object = node.object(PRODUCT_KEYS)?;
    let id = unique_id(&object, ids);
    let form = object.required("form").and_then(|node| node.choice("form", ProductForm::from_code));
    let density = object.optional("density").map(|node| density(&node));
    let ingredients = ingredients(&object);
    let caps = whole(object.items("caps").iter().map(cap).collect());
    let use_nodes = object.items("uses");
    let uses = whole(use_nodes.iter().map(|node| one_use(node, use_ids)).collect());
    let signed = object.optional("signed").map_or(Some(true), |node| node.bool());
    let density = match density {
        Some(density) => Some(density?),
        None => None,
    };
    let product = Product {
        id: id?,
        name: object.optional("name").and_then(|node| node.text()),
        form: form?,
        density,
        ingredients: ingredients?,
        caps: caps?,
        uses: uses?,
        signed: signed?,
    };
    check_units(&product, node, &use_nodes).then_some(product)
}

/// Do the rates fit the form and the strengths?
fn check_units(product: &Product, node: &Node<'_>, use_nodes: &[Node<'_>]) -> bool {
    let mut fits = true;
    for (item, node) in product.uses.iter().zip(use_nodes) {
        let unit = item.rate.unit;
        if unit.is_volume() != (product.form == ProductForm::Liquid) {
            let form = product.form.code();
            node.wrong_below("rate/unit", format!("a {form} product is not measured in {}", unit.code()));
            fits = false;
        }
    }
    for (position, ingredient) in product.ingredients.iter().enumerate() {
        let units = product.uses.iter().map(|item| item.rate.unit).chain([product.shown_unit()]);
        let error = units.filter(|_| fits).find_map(|unit| grams_per_unit(product, ingredient, unit).err());
        if let Some(error) = error {
            node.wrong_below(&format!("ingredients/{position}/strength/unit"), error.to_string());
            fits = false;
        }
    }
    fits
}

/// Grams per millilitre.
fn density(node: &Node<'_>) -> Option<Exact> {
    let (value, (mass, volume)) = quantity(node, Node::positive, "density", |code| {
        matches!(code, "g/mL" | "kg/L" | "lb/gal").then(|| mass_per_volume(code)).flatten()
    })?;
    Some(value * mass.grams() / volume.millilitres())
}

fn mass_per_volume(code: &str) -> Option<(MassUnit, VolumeUnit)> {
    let (mass, volume) = code.split_once('/')?;
    Some((MassUnit::from_code(mass).ok()?, VolumeUnit::from_code(volume).ok()?))
}

fn ingredients(object: &Object<'_>) -> Option<Vec<Ingredient>> {
    let nodes = object.required("ingredients")?.list()?;
    let mut names = BTreeSet::new();
    whole(nodes.iter().map(|node| ingredient(node, &mut names)).collect())
}

fn ingredient(node: &Node<'_>, names: &mut BTreeSet<String>) -> Option<Ingredient> {
    let object = node.object(&["name", "group", "strength"])?;
    let name = object.required("name").and_then(|node| {
        let name = node.text()?;
        if names.insert(name.clone()) { Some(name) } else { node.wrong("the ingredient is given twice") }
    });
    let group = object.optional("group").and_then(|node| node.text());
    let strength = object.required("strength").and_then(|node| strength(&node));
    Some(Ingredient { name: name?, group, strength: strength? })
}

fn strength(node: &Node<'_>) -> Option<Strength> {
    // None: percent.
    let unit = |code: &str| if code == "percent" { Some(None) } else { mass_per_volume(code).map(Some) };
    let (value, unit) = quantity(node, Node::positive, "unit of strength", unit)?;
    match unit {
        Some((mass, volume)) => Some(Strength::PerVolume { value, mass, volume }),
        None if value > Exact::from(num_bigint::BigInt::from(100)) => node.wrong("is more than 100 percent"),
        None => Some(Strength::Percent(value)),
    }
}

fn cap(node: &Node<'_>) -> Option<Cap> {
    let object = node.object(&["ingredient", "amount", "year"])?;
    let ingredient = object.required("ingredient").and_then(|node| node.text());
    let amount = object.required("amount").and_then(|node| {
        quantity(&node, Node::positive, "unit of mass per area", |code| {
            let (mass, area) = code.split_once('/')?;
            Some((MassUnit::from_code(mass).ok()?, AreaUnit::from_code(area).ok()?))
        })
    });
    let year = object.required("year").and_then(|node| node.choice("cap year", CapYear::from_code));
    let (amount, (mass, area)) = amount?;
    Some(Cap { ingredient: ingredient?, amount, mass, area, year: year? })
}

fn one_use(node: &Node<'_>, ids: &mut BTreeSet<String>) -> Option<Use> {
    let object = node.object(USE_KEYS)?;
    let id = unique_id(&object, ids);
    let method = object.required("method").and_then(|node| node.text());
    let measure = object.required("measure").and_then(|node| node.choice("measure", MeasureBasis::from_code));
    let rate = object.required("rate").and_then(|node| {
        let unit = |code: &str| AmountUnit::from_code(code).ok();
        let (low, high, unit) = band(&node, Node::positive, "unit of volume or mass", unit)?;
        Some(RateBand { low, high, unit })
    });
    let water = object.optional("water").and_then(|node| {
        let unit = |code: &str| VolumeUnit::from_code(code).ok();
        let (low, high, unit) = band(&node, Node::not_negative, "unit of volume", unit)?;
        Some(WaterBand { low, high, unit })
    });
    let protection = object.required("protection").and_then(|node| protection(&node));
    let days = |key: &str| object.optional(key).map_or(Some(0), |node| node.integer(0, LONGEST_DAYS));
    let (uptake_days, min_interval_days) = (days("uptake_days"), days("min_interval_days"));
    Some(Use {
        max_per_year: object.optional("max_per_year").and_then(|node| node.integer(1, 1000)),
        season: spans(&object, "season"),
        bloom: bloom(&object),
        food: food(&object),
        excluded_hosts: object.items("excluded_hosts").iter().filter_map(Node::text).collect(),
        id: id?,
        method: method?,
        measure: measure?,
        rate: rate?,
        water,
        protection: protection?,
        uptake_days: uptake_days?,
        min_interval_days: min_interval_days?,
    })
}

fn spans(object: &Object<'_>, key: &str) -> Vec<crate::domain::calendar::YearlySpan> {
    object.optional(key).and_then(|node| node.yearly_spans()).unwrap_or_default()
}

fn bloom(object: &Object<'_>) -> BloomRule {
    let rule = |code: &str| (code == "not-in-bloom").then_some(BloomRule::NotInBloom);
    object.optional("bloom").and_then(|node| node.choice("bloom rule", rule)).unwrap_or_default()
}

fn food(object: &Object<'_>) -> FoodCover {
    let covers = object.optional("covers_food").and_then(|node| node.bool()).unwrap_or(false);
    let days = object.optional("pre_harvest_days").and_then(|node| node.integer(0, LONGEST_DAYS));
    if days.is_some() && !covers {
        object.wrong_at::<()>("pre_harvest_days", "is given for a use that does not cover food plants");
    }
    if covers { FoodCover::Covered { pre_harvest_days: days.unwrap_or(0) } } else { FoodCover::NotCovered }
}

/// `{low, high, unit}` with `low` not above `high`.
fn band<'a, T>(
    node: &Node<'a>,
    value: impl Fn(&Node<'a>) -> Option<Exact>,
    what: &str,
    unit: impl Fn(&str) -> Option<T>,
) -> Option<(Exact, Exact, T)> {
    let object = node.object(&["low", "high", "unit"])?;
    let low = object.required("low").and_then(|node| value(&node));
    let high = object.required("high").and_then(|node| value(&node));
    let unit = object.required("unit").and_then(|node| node.choice(what, unit));
    let (low, high) = (low?, high?);
    if low > high {
        return object.wrong_at("high", "is below the low end of the band");
    }
    Some((low, high, unit?))
}

fn protection(node: &Node<'_>) -> Option<Protection> {
    let object = node.object(&["value", "unit"])?;
    let unit = object.required("unit").and_then(|node| node.choice("period", PeriodUnit::from_code));
    let most = match unit {
        Some(PeriodUnit::Day) | None => LONGEST_DAYS,
        Some(PeriodUnit::Week) => LONGEST_DAYS / 7,
        Some(PeriodUnit::Month) => 1200,
        Some(PeriodUnit::Year) => 100,
    };
    let value = object.required("value").and_then(|node| node.integer(0, most));
    Some(Protection { value: value?, unit: unit? })
}
