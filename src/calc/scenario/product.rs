//! Products with their ingredients, caps and uses.

use super::{quantity, unique_id, whole};
use crate::calc::read::{Node, Object};
use crate::domain::dose::grams_per_unit;
use crate::domain::label::{
    BloomRule, Cap, CapOf, CapYear, FoodCover, Ingredient, MeasureBasis, PeriodUnit, Pieces, Product,
    ProductForm, Protection, RateBand, Registration, Strength, Use, WaterBand,
};
use crate::domain::quantity::{AmountUnit, AreaUnit, Exact, MassUnit, PieceUnit, VolumeUnit};
use num_traits::One;
use std::collections::{BTreeMap, BTreeSet};

const PRODUCT_KEYS: &[&str] =
    &["id", "name", "form", "piece", "density", "signed", "registrations", "ingredients", "caps", "uses"];
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
    "bloom_lead_days",
    "covers_food",
    "pre_harvest_days",
    "excluded_hosts",
    "foliar_rest_days",
    "no_group_repeat",
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
            if let CapOf::Ingredient(name) = &cap.of
                && !held(name)
            {
                let path = format!("caps/{position}/ingredient");
                node.wrong_below(&path, format!("no product holds \"{name}\""));
            }
        }
    }
}

fn product(node: &Node<'_>, ids: &mut BTreeSet<String>, use_ids: &mut BTreeSet<String>) -> Option<Product> {
    let object = node.object(PRODUCT_KEYS)?;
    let id = unique_id(&object, ids);
    let form = object.required("form").and_then(|node| node.choice("form", form));
    let pieces = pieces(&object, form.and_then(|(_, unit)| unit));
    let registrations = match object.optional("registrations") {
        Some(node) => Some(whole(node.list()?.iter().map(registration).collect())?),
        None => None,
    };
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
        form: form?.0,
        density,
        pieces,
        registrations,
        ingredients: ingredients?,
        caps: caps?,
        uses: uses?,
        signed: signed?,
    };
    check_units(&product, node, &use_nodes).then_some(product)
}

/// Poured, weighed, or in pieces, which are dry.
fn form(code: &str) -> Option<(ProductForm, Option<PieceUnit>)> {
    match PieceUnit::from_code(code) {
        Ok(unit) => Some((ProductForm::Dry, Some(unit))),
        Err(_) => ProductForm::from_code(code).map(|form| (form, None)),
    }
}

/// The mass of one packet or tablet.
fn pieces(object: &Object<'_>, unit: Option<PieceUnit>) -> Option<Pieces> {
    let grams = object.optional("piece").and_then(|node| {
        if unit.is_none() {
            return node.wrong("is given for a product that does not come in pieces");
        }
        let (value, mass) =
            quantity(&node, Node::positive, "unit of mass", |code| MassUnit::from_code(code).ok())?;
        Some(value * mass.grams())
    });
    unit.map(|unit| Pieces { unit, grams })
}

fn registration(node: &Node<'_>) -> Option<Registration> {
    let object = node.object(&["state", "from", "until"])?;
    let day = |key: &str| object.optional(key).map_or(Some(None), |node| node.date().map(Some));
    let (from, until) = (day("from"), day("until"));
    let state = object.required("state").and_then(|node| node.state());
    Some(Registration { state: state?, from: from?, until: until? })
}

/// Do the rates fit the form and the strengths?
fn check_units(product: &Product, node: &Node<'_>, use_nodes: &[Node<'_>]) -> bool {
    let mut fits = true;
    for (item, node) in product.uses.iter().zip(use_nodes) {
        let unit = item.rate.unit;
        let own = match (&product.pieces, unit) {
            (Some(pieces), AmountUnit::Piece(piece)) => pieces.unit == piece,
            (None, AmountUnit::Piece(_)) | (Some(_), _) => false,
            (None, _) => unit.is_volume() == (product.form == ProductForm::Liquid),
        };
        if !own {
            let form = product.pieces.as_ref().map_or(product.form.code(), |pieces| pieces.unit.code());
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

enum StrengthUnit {
    Percent,
    Volume(MassUnit, VolumeUnit),
    Piece(MassUnit, PieceUnit),
}

fn mass_per_piece(code: &str) -> Option<(MassUnit, PieceUnit)> {
    let (mass, piece) = code.split_once('/')?;
    Some((MassUnit::from_code(mass).ok()?, PieceUnit::from_code(piece).ok()?))
}

fn strength(node: &Node<'_>) -> Option<Strength> {
    let unit = |code: &str| match (code, mass_per_volume(code), mass_per_piece(code)) {
        ("percent", ..) => Some(StrengthUnit::Percent),
        (_, Some((mass, volume)), _) => Some(StrengthUnit::Volume(mass, volume)),
        (_, _, Some((mass, piece))) => Some(StrengthUnit::Piece(mass, piece)),
        _ => None,
    };
    let (value, unit) = quantity(node, Node::positive, "unit of strength", unit)?;
    match unit {
        StrengthUnit::Volume(mass, volume) => Some(Strength::PerVolume { value, mass, volume }),
        StrengthUnit::Piece(mass, piece) => Some(Strength::PerPiece { value, mass, piece }),
        StrengthUnit::Percent if value > Exact::from(num_bigint::BigInt::from(100)) => {
            node.wrong("is more than 100 percent")
        }
        StrengthUnit::Percent => Some(Strength::Percent(value)),
    }
}

fn cap(node: &Node<'_>) -> Option<Cap> {
    let object = node.object(&["of", "ingredient", "amount", "year"])?;
    let product = |code: &str| (code == "product").then_some(CapOf::Product);
    let of = match object.optional("of") {
        Some(node) => {
            if let Some(extra) = object.optional("ingredient") {
                extra.wrong::<()>("is given for a cap that counts the product");
            }
            node.choice("thing to cap", product)
        }
        None => object.required("ingredient").and_then(|node| node.text()).map(CapOf::Ingredient),
    };
    let by_mass = !matches!(of, Some(CapOf::Product));
    let what = if by_mass { "unit of mass per area" } else { "unit of product per area" };
    let amount = object.required("amount").and_then(|node| {
        quantity(&node, Node::positive, what, |code| {
            let (unit, area) = code.split_once('/')?;
            let unit = AmountUnit::from_code(unit).ok();
            let unit = unit.filter(|unit| !by_mass || matches!(unit, AmountUnit::Mass(_)))?;
            Some((unit, AreaUnit::from_code(area).ok()?))
        })
    });
    let year = object.required("year").and_then(|node| node.choice("cap year", CapYear::from_code));
    let (amount, (unit, area)) = amount?;
    Some(Cap { of: of?, amount, unit, area, year: year? })
}

fn one_use(node: &Node<'_>, ids: &mut BTreeSet<String>) -> Option<Use> {
    let object = node.object(USE_KEYS)?;
    let id = unique_id(&object, ids);
    let method = object.required("method").and_then(|node| node.text());
    let measure = object.required("measure").and_then(|node| node.choice("measure", MeasureBasis::from_code));
    let rate = object.required("rate").and_then(|node| {
        let unit = |code: &str| AmountUnit::from_code(code).ok();
        let per = rate_per(&node);
        let (low, high, unit) =
            band(&node, &["low", "high", "unit", "per"], Node::positive, "unit of volume or mass", unit)?;
        let per = per?;
        Some(RateBand { low: low / &per, high: high / per, unit })
    });
    let water = object.optional("water").and_then(|node| {
        let unit = |code: &str| VolumeUnit::from_code(code).ok();
        let (low, high, unit) =
            band(&node, &["low", "high", "unit"], Node::not_negative, "unit of volume", unit)?;
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
        foliar_rest_days: object.optional("foliar_rest_days").and_then(|node| node.integer(0, LONGEST_DAYS)),
        no_group_repeat: object.optional("no_group_repeat").and_then(|node| node.bool()).unwrap_or(false),
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
    let lead = object.optional("bloom_lead_days").and_then(|node| node.integer(0, 366));
    let rule = |code: &str| {
        let lead_days = lead.unwrap_or(0);
        let rule =
            if lead_days > 0 { BloomRule::NotBeforeBloom { lead_days } } else { BloomRule::NotInBloom };
        (code == "not-in-bloom").then_some(rule)
    };
    let found = object.optional("bloom").and_then(|node| node.choice("bloom rule", rule));
    if lead.is_some() && object.optional("bloom").is_none() {
        object.wrong_at::<()>("bloom_lead_days", "is given without a bloom rule");
    }
    found.unwrap_or_default()
}

/// For how many feet, inches or plants a rate is stated; one where it is not said.
pub fn rate_per(node: &Node<'_>) -> Option<Exact> {
    node.member("per").map_or_else(|| Some(Exact::one()), |node| node.positive())
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
    keys: &[&str],
    value: impl Fn(&Node<'a>) -> Option<Exact>,
    what: &str,
    unit: impl Fn(&str) -> Option<T>,
) -> Option<(Exact, Exact, T)> {
    let object = node.object(keys)?;
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

/// By the id of each use the number that its rate is stated for, so that the
/// rate of a plant is read in the same terms.
pub fn rate_pers(products: &[Node<'_>]) -> BTreeMap<String, Exact> {
    let uses = products.iter().filter_map(|node| node.member("uses"));
    let uses = uses.filter(Node::is_list).filter_map(|node| node.list()).flatten();
    let per = |node: Node<'_>| {
        let rate = node.member("rate")?;
        rate.member("per")?;
        Some((node.id()?, rate.member("per")?.quietly_positive()?))
    };
    uses.filter_map(per).collect()
}
