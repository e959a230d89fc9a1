//! Plants and their measures.

use super::{quantity, unique_id};
use crate::calc::read::{Node, Object};
use crate::domain::facts::{Eaten, PlantFacts};
use crate::domain::label::{MeasureBasis, Product, Use};
use crate::domain::measure::{StemRule, combined_diameter, diameter_from_circumference};
use crate::domain::quantity::{AreaUnit, Exact, plain};
use num_traits::{One, Zero};
use std::collections::{BTreeMap, BTreeSet};

const KEYS: &[&str] = &[
    "id",
    "name",
    "use",
    "measure",
    "stems",
    "stem_rule",
    "circumference",
    "area",
    "count",
    "pest",
    "poured",
    "harvest",
    "harvest_on",
    "rate",
    "first_wanted",
    "host",
    "in_bloom",
    "bloom",
    "eaten",
    "active",
];

/// Ids of all plants, of those with mistakes too.
pub fn ids(nodes: &[Node<'_>]) -> BTreeSet<String> {
    nodes.iter().filter_map(Node::id).collect()
}

/// `plants`. Those with a mistake are left out.
pub fn plants(
    nodes: &[Node<'_>],
    products: &[Product],
    whole: bool,
    pers: &BTreeMap<String, Exact>,
) -> Vec<PlantFacts> {
    let mut ids = BTreeSet::new();
    nodes.iter().filter_map(|node| plant(node, products, whole, &mut ids, pers)).collect()
}

fn plant(
    node: &Node<'_>,
    products: &[Product],
    whole: bool,
    ids: &mut BTreeSet<String>,
    uses: &BTreeMap<String, Exact>,
) -> Option<PlantFacts> {
    let object = node.object(KEYS)?;
    let id = unique_id(&object, ids);
    let item = object.required("use").and_then(|node| {
        let id = node.text()?;
        let found = products.iter().find_map(|product| product.find_use(&id));
        // Where a product could not be read, the use may be one of its.
        if found.is_none() && whole { node.wrong(format!("no use has the id \"{id}\"")) } else { found }
    });
    let measure = measure(&object, item);
    let count = object.optional("count").map_or(Some(1), |node| node.integer(1, 1_000_000));
    let rate = rate(&object, item, uses);
    let (host, host_blooms) = host(&object);
    let blooms = object.optional("in_bloom").and_then(|node| node.bool()).unwrap_or(false);
    let eaten = object.optional("eaten").and_then(|node| node.choice("answer", Eaten::from_code));
    Some(PlantFacts {
        name: object.optional("name").and_then(|node| node.text()),
        first_wanted: object.optional("first_wanted").and_then(|node| node.date()),
        host,
        in_bloom: blooms || host_blooms,
        bloom: object.optional("bloom").and_then(|node| node.yearly_spans()).unwrap_or_default(),
        eaten: eaten.unwrap_or_default(),
        pest: object.optional("pest").and_then(|node| node.text()),
        harvest: object.optional("harvest").and_then(|node| node.yearly_spans()).unwrap_or_default(),
        harvest_on: object.optional("harvest_on").and_then(|node| node.date()),
        active: object.optional("active").and_then(|node| node.bool()).unwrap_or(true),
        id: id?,
        use_id: item?.id.clone(),
        rate,
        measure: measure?,
        count: count?,
    })
}

/// A rate within the band of the use.
fn rate(object: &Object<'_>, item: Option<&Use>, pers: &BTreeMap<String, Exact>) -> Option<Exact> {
    let node = object.optional("rate")?;
    let per = item.and_then(|item| pers.get(&item.id));
    let rate = node.positive()? / per.unwrap_or(&Exact::one());
    match item.map(|item| &item.rate) {
        Some(band) if !band.holds(&rate) => node.wrong(format!(
            "is outside the band of {} to {} {}",
            plain(&band.low),
            plain(&band.high),
            band.unit.code()
        )),
        _ => Some(rate),
    }
}

/// The one measure, however it was taken.
fn measure(object: &Object<'_>, item: Option<&Use>) -> Option<Exact> {
    let basis = item.map(|item| item.measure);
    let given: Vec<_> = ["measure", "stems", "circumference", "area"]
        .into_iter()
        .filter_map(|key| Some((key, object.optional(key)?)))
        .collect();
    let rule = object.optional("stem_rule");
    let Some((key, node)) = given.first() else {
        // A plant or a container as such is one, without being measured.
        let counted = basis.is_some_and(MeasureBasis::is_count);
        return if counted { Some(Exact::one()) } else { object.wrong_at("measure", "is missing") };
    };
    for (key, extra) in given.iter().skip(1) {
        extra.wrong::<()>(format!("{key} is given beside another measure of the plant"));
    }
    if *key != "stems" && rule.is_some() {
        object.wrong_at::<()>("stem_rule", "is given without stems");
    }
    let trunk_uses = [MeasureBasis::DiameterIn, MeasureBasis::CircumferenceIn];
    match (*key, basis) {
        ("measure", _) => node.positive(),
        ("area", Some(basis)) => ground(node, basis),
        (_, Some(basis)) if !trunk_uses.contains(&basis) => node.wrong(if basis == MeasureBasis::HeightFt {
            "the use goes by height, not by the trunk"
        } else {
            "the use does not go by the trunk"
        }),
        ("circumference", Some(MeasureBasis::CircumferenceIn)) => node.positive(),
        ("circumference", _) => trunk(node),
        ("stems", Some(MeasureBasis::CircumferenceIn)) => {
            node.wrong("the use goes by girth; give the circumference")
        }
        ("stems", _) => stems(object, node),
        // The use could not be read, which is noted already.
        _ => None,
    }
}

/// Treated ground in the unit of the rate.
fn ground(node: &Node<'_>, basis: MeasureBasis) -> Option<Exact> {
    let unit = |code: &str| AreaUnit::from_code(code).ok();
    let (value, unit) = quantity(node, Node::positive, "unit of area", unit)?;
    match basis.ground() {
        Some(per) => Some(value * unit.square_metres() / per.square_metres()),
        None => node.wrong("the use does not go by ground"),
    }
}

/// Diameter by girth; so thin a trunk that it rounds to nothing is no measure.
fn trunk(node: &Node<'_>) -> Option<Exact> {
    let diameter = diameter_from_circumference(&node.positive()?);
    if diameter.is_zero() { node.wrong("is too small to be measured") } else { Some(diameter) }
}

fn stems(object: &Object<'_>, node: &Node<'_>) -> Option<Exact> {
    let stems: Vec<Option<Exact>> = node.list()?.iter().map(Node::positive).collect();
    let rule = object.required("stem_rule").and_then(|node| node.choice("stem rule", StemRule::from_code));
    let stems: Vec<Exact> = stems.into_iter().collect::<Option<_>>()?;
    if stems.is_empty() {
        return node.wrong("must hold at least one stem");
    }
    Some(combined_diameter(&stems, rule?))
}

/// The host plant, as a name or as an object that also says whether it blooms.
fn host(object: &Object<'_>) -> (Option<String>, bool) {
    let Some(node) = object.optional("host") else { return (None, false) };
    if node.is_text() {
        return (node.text(), false);
    }
    let Some(host) = node.object(&["name", "in_bloom"]) else { return (None, false) };
    let name = host.required("name").and_then(|node| node.text());
    (name, host.optional("in_bloom").and_then(|node| node.bool()).unwrap_or(false))
}
