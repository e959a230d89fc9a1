//! What goes onto the truck, product by product.
use crate::{
    db::{sheet::DoseOf, vehicle::Vehicle, visit::Dose},
    domain::{
        carry::{Part, carry, words_up},
        pour::Load,
        quantity::{Amount, AmountUnit, Exact, VolumeUnit, from_decimal, to_decimal},
    },
    texts::Language,
    web::{pour, records::changes::method, words},
};
use fluent_bundle::FluentArgs;
use rust_decimal::Decimal;

/// A product and use of the day.
pub struct LoadLine {
    pub product: String,
    pub registration: String,
    pub used_for: String,
    /// The exact sum of the doses.
    pub needed: String,
    /// With the reserve, rounded up.
    pub carried: String,
    /// With the reserve; none: a label states none.
    pub water: Option<String>,
    /// How it fills the tank.
    pub tanks: Option<String>,
}

/// The day's products by name. What was left undone or released is not carried.
pub(super) fn lines(
    language: Language,
    doses: &[DoseOf],
    reserve: u32,
    vehicle: Option<&Vehicle>,
) -> Vec<LoadLine> {
    let tank = vehicle.map(|v| Amount::new(from_decimal(v.tank_gal), gallons()));
    let mut carried: Vec<&Dose> = doses.iter().map(|d| &d.dose).filter(|d| d.counts()).collect();
    carried
        .sort_by_key(|d| (d.product_name.to_lowercase(), d.product_id, d.use_name.clone(), d.label_use_id));
    let groups = carried.chunk_by(|one, next| one.label_use_id == next.label_use_id && one.unit == next.unit);
    groups.filter_map(|group| line(language, group, reserve, tank.as_ref())).collect()
}

fn gallons() -> AmountUnit {
    AmountUnit::Volume(VolumeUnit::Gallon)
}

fn line(language: Language, group: &[&Dose], reserve: u32, tank: Option<&Amount>) -> Option<LoadLine> {
    let first = group.first()?;
    let parts: Option<Vec<Part>> = group.iter().map(|dose| part(dose)).collect();
    let carry = carry(&parts?, reserve, tank)?;
    let needed = to_decimal(&carry.needed.product.value)
        .map(|value| pour::amount_in(language, value, carry.needed.product.unit.code()))
        .unwrap_or_else(|| carry.needed.product.words());
    Some(LoadLine {
        product: first.product_name.clone(),
        registration: first.registration_number.clone(),
        used_for: format!("{}: {}", first.use_name, method(language, &first.method)),
        needed,
        carried: up(language, &carry.carried.product),
        water: water(language, &carry.carried),
        tanks: tank.and_then(|tank| tanks(language, &carry.carried, tank)),
    })
}

fn part(dose: &Dose) -> Option<Part> {
    let amount = |value: Exact, unit: &str| Some(Amount::new(value, AmountUnit::from_code(unit).ok()?));
    // The label states water for so many feet or inches of each plant.
    let times = from_decimal(dose.measure * Decimal::from(dose.count)) / from_decimal(dose.rate_per);
    let water = match (dose.water_low, dose.water_high, dose.water_unit.as_deref()) {
        (Some(low), Some(high), Some(unit)) => {
            Some((amount(from_decimal(low) * &times, unit)?, amount(from_decimal(high) * &times, unit)?))
        }
        _ => None,
    };
    Some(Part { product: amount(from_decimal(dose.amount), &dose.unit)?, water })
}

fn up(language: Language, amount: &Amount) -> String {
    words::sentence_in(language, &words_up(amount))
}

/// `12`, or `12 to 24` where they differ.
fn range(language: Language, low: &str, high: &str) -> String {
    if low == high { high.to_owned() } else { language.filled("from-to", &[("low", low), ("high", high)]) }
}

fn water(language: Language, load: &Load) -> Option<String> {
    let (low, high) = load.water.as_ref()?;
    let up = |amount: &Amount| Some(up(language, &amount.in_unit(gallons()).ok()?));
    let (low, high) = (up(low)?, up(high)?);
    Some(if low == high { high } else { range(language, low.trim_end_matches(" gal"), &high) })
}

fn tanks(language: Language, load: &Load, tank: &Amount) -> Option<String> {
    let (least, most) = load.tanks?;
    let (low, high) = load.per_tank.as_ref()?;
    let (one, other) = (up(language, low), up(language, high));
    let filled = match (most, one == other) {
        (0 | 1, _) => language.say("sheet-tank-all"),
        (_, true) => language.say_of("sheet-tank-full", "amount", one),
        (_, false) => language.filled("sheet-tank-full-from", &[("least", &one), ("most", &other)]),
    };
    let mut args = FluentArgs::new();
    args.set("count", most);
    args.set("said", range(language, &least.to_string(), &most.to_string()));
    args.set("holds", up(language, tank));
    args.set("filled", filled);
    Some(language.fill("sheet-tanks", &args))
}
