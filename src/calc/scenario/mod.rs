//! From the JSON tree to the facts of a property.

mod plant;
mod product;
mod site;

use super::json::Json;
use super::read::{Node, Object, Problem, Problems};
use crate::domain::due::Allocation;
use crate::domain::facts::{Application, Facts};
use crate::domain::label::Product;
use crate::domain::pour::Vessel;
use crate::domain::quantity::{Amount, AmountUnit, Exact, VolumeUnit};
use std::collections::{BTreeMap, BTreeSet};

const KEYS: &[&str] = &[
    "today",
    "site",
    "applicator",
    "products",
    "plants",
    "history",
    "reservations",
    "allocation",
    "kit",
    "tank",
];

/// A scenario: facts, and what is asked beyond them.
pub struct Scenario {
    pub facts: Facts,
    pub allocation: Option<Allocation>,
    /// Cups, syringes, scales.
    pub kit: Vec<Vessel>,
    pub tank: Option<Amount>,
    /// By plant: what was poured.
    pub poured: BTreeMap<String, Amount>,
}

/// Reads a scenario.
///
/// # Errors
/// Every mistake that was found in it.
pub fn read(tree: &Json) -> Result<Scenario, Vec<Problem>> {
    let problems = Problems::default();
    let scenario = scenario(&Node::root(tree, &problems));
    let found = problems.into_inner();
    match scenario {
        Some(scenario) if found.is_empty() => Ok(scenario),
        _ => Err(found),
    }
}

fn scenario(root: &Node<'_>) -> Option<Scenario> {
    let object = root.object(KEYS)?;
    let volume = |code: &str| VolumeUnit::from_code(code).ok().map(AmountUnit::Volume);
    let tank = object.optional("tank").and_then(|node| {
        let (value, unit) = quantity(&node, Node::positive, "unit of volume", volume)?;
        Some(Amount::new(value, unit))
    });
    let kit = object.items("kit").iter().filter_map(vessel).collect();
    let allocation = object.optional("allocation");
    let allocation = allocation.and_then(|node| node.choice("rule of sharing", Allocation::from_code));
    let plants = object.items("plants");
    let poured = plants.iter().filter_map(|node| Some((node.id()?, measured(&node.member("poured")?)?)));
    let poured = poured.collect();
    Some(Scenario { facts: facts(&object)?, allocation, kit, tank, poured })
}

/// `{value, unit}` of any unit.
fn measured(node: &Node<'_>) -> Option<Amount> {
    let unit = |code: &str| AmountUnit::from_code(code).ok();
    let (value, unit) = quantity(node, Node::positive, "unit of volume or mass", unit)?;
    Some(Amount::new(value, unit))
}

fn vessel(node: &Node<'_>) -> Option<Vessel> {
    let object = node.object(&["name", "mark", "holds"])?;
    let name = object.required("name").and_then(|node| node.text());
    let mark = object.required("mark").and_then(|node| measured(&node));
    let holds = object.optional("holds").map(|node| measured(&node));
    let (name, mark) = (name?, mark?);
    let holds = match holds {
        Some(holds) => Some(holds?),
        None => None,
    };
    if holds.as_ref().is_some_and(|holds| holds.in_unit(mark.unit).is_err()) {
        return object.wrong_at("holds", "is another kind of amount than the mark");
    }
    Some(Vessel { name, mark, holds })
}

fn facts(object: &Object<'_>) -> Option<Facts> {
    let today = object.required("today").and_then(|node| node.date());
    let site = object.required("site").and_then(|node| site::site(&node));
    let applicator = object
        .optional("applicator")
        .map_or_else(|| Some(Default::default()), |node| site::applicator(&node));
    let product_nodes = object.required("products").and_then(|node| node.list()).unwrap_or_default();
    let products = product::products(&product_nodes);
    let all_read = product_nodes.len() == products.len();
    let plant_nodes = object.required("plants").and_then(|node| node.list()).unwrap_or_default();
    let plants = plant::plants(&plant_nodes, &products, all_read, &product::rate_pers(&product_nodes));
    let known = Known { plants: plant::ids(&plant_nodes), products: &products, whole: all_read };
    let history = applications(object, "history", &known);
    let reservations = applications(object, "reservations", &known);
    Some(Facts {
        today: today?,
        site: site?,
        applicator: applicator?,
        products,
        plants,
        history,
        reservations,
    })
}

/// What an application may refer to.
struct Known<'a> {
    plants: BTreeSet<String>,
    products: &'a [Product],
    /// Were all products readable? If not, a reference may lead to one that
    /// was not, which is noted already.
    whole: bool,
}

fn applications(object: &Object<'_>, key: &str, known: &Known<'_>) -> Vec<Application> {
    object.items(key).iter().filter_map(|node| application(node, known)).collect()
}

fn application(node: &Node<'_>, known: &Known<'_>) -> Option<Application> {
    let object = node.object(&["plant", "product", "use", "on", "amount"])?;
    let plant = object.optional("plant").and_then(|node| {
        let id = node.text()?;
        if known.plants.contains(&id) {
            Some(id)
        } else {
            node.wrong(format!("no plant has the id \"{id}\""))
        }
    });
    let product = object.required("product").and_then(|node| {
        let id = node.text()?;
        let found = known.products.iter().find(|product| product.id == id);
        if found.is_none() && known.whole {
            return node.wrong(format!("no product has the id \"{id}\""));
        }
        found
    });
    let use_id = object.optional("use").and_then(|node| {
        let id = node.text()?;
        match product {
            Some(product) if product.find_use(&id).is_none() => {
                node.wrong(format!("product \"{}\" has no use with the id \"{id}\"", product.id))
            }
            _ => Some(id),
        }
    });
    let on = object.required("on").and_then(|node| node.date());
    let amount = object.required("amount").and_then(|node| amount(&node, product));
    Some(Application { plant, product: product?.id.clone(), use_id, on: on?, amount: amount? })
}

/// `{value, unit}` of a product, in a unit that fits its strengths.
fn amount(node: &Node<'_>, product: Option<&Product>) -> Option<Amount> {
    let (value, unit) =
        quantity(node, Node::positive, "unit of volume or mass", |code| AmountUnit::from_code(code).ok())?;
    let amount = Amount::new(value, unit);
    if let Some(product) = product
        && let Err(error) = crate::domain::dose::ingredients(product, &amount)
    {
        let object = node.object(&["value", "unit"])?;
        return object.wrong_at("unit", error.to_string());
    }
    Some(amount)
}

/// `{value, unit}`.
fn quantity<'a, T>(
    node: &Node<'a>,
    value: impl Fn(&Node<'a>) -> Option<Exact>,
    what: &str,
    unit: impl Fn(&str) -> Option<T>,
) -> Option<(Exact, T)> {
    let object = node.object(&["value", "unit"])?;
    let value = object.required("value").and_then(|node| value(&node));
    let unit = object.required("unit").and_then(|node| node.choice(what, unit));
    Some((value?, unit?))
}

/// The id of each item; one that is given again is noted.
fn unique_id(object: &Object<'_>, seen: &mut BTreeSet<String>) -> Option<String> {
    let node = object.required("id")?;
    let id = node.text()?;
    if seen.insert(id.clone()) { Some(id) } else { node.wrong(format!("the id \"{id}\" is given twice")) }
}

/// Keeps a list only when each of its items could be read.
fn whole<T>(items: Vec<Option<T>>) -> Option<Vec<T>> {
    items.into_iter().collect()
}
