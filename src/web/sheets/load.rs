//! What goes onto the truck, product by product.
use crate::{
    db::{sheet::DoseOf, vehicle::Vehicle, visit::Dose},
    domain::{
        carry::{Part, carry, words_up},
        pour::Load,
        quantity::{Amount, AmountUnit, Exact, VolumeUnit, from_decimal, to_decimal},
    },
    web::{pour, words},
};
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
pub(super) fn lines(doses: &[DoseOf], reserve: u32, vehicle: Option<&Vehicle>) -> Vec<LoadLine> {
    let tank = vehicle.map(|v| Amount::new(from_decimal(v.tank_gal), gallons()));
    let mut carried: Vec<&Dose> = doses.iter().map(|d| &d.dose).filter(|d| d.counts()).collect();
    carried
        .sort_by_key(|d| (d.product_name.to_lowercase(), d.product_id, d.use_name.clone(), d.label_use_id));
    let groups = carried.chunk_by(|one, next| one.label_use_id == next.label_use_id && one.unit == next.unit);
    groups.filter_map(|group| line(group, reserve, tank.as_ref())).collect()
}

fn gallons() -> AmountUnit {
    AmountUnit::Volume(VolumeUnit::Gallon)
}

fn line(group: &[&Dose], reserve: u32, tank: Option<&Amount>) -> Option<LoadLine> {
    let first = group.first()?;
    let parts: Option<Vec<Part>> = group.iter().map(|dose| part(dose)).collect();
    let carry = carry(&parts?, reserve, tank)?;
    let needed = to_decimal(&carry.needed.product.value)
        .map(|value| pour::amount(value, carry.needed.product.unit.code()))
        .unwrap_or_else(|| carry.needed.product.words());
    Some(LoadLine {
        product: first.product_name.clone(),
        registration: first.registration_number.clone(),
        used_for: format!("{}: {}", first.use_name, first.method.replace('-', " ")),
        needed,
        carried: up(&carry.carried.product),
        water: water(&carry.carried),
        tanks: tank.and_then(|tank| tanks(&carry.carried, tank)),
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

fn up(amount: &Amount) -> String {
    words::sentence(&words_up(amount))
}

fn water(load: &Load) -> Option<String> {
    let (low, high) = load.water.as_ref()?;
    let (low, high) = (up(&low.in_unit(gallons()).ok()?), up(&high.in_unit(gallons()).ok()?));
    Some(if low == high { high } else { format!("{} to {high}", low.trim_end_matches(" gal")) })
}

fn tanks(load: &Load, tank: &Amount) -> Option<String> {
    let (least, most) = load.tanks?;
    let (low, high) = load.per_tank.as_ref()?;
    let count = if least == most { least.to_string() } else { format!("{least} to {most}") };
    let plural = if most == 1 { "" } else { "s" };
    let (one, other) = (up(low), up(high));
    let filled = if most <= 1 {
        "all of it in one tank".to_owned()
    } else if one == other {
        format!("{one} in a full one")
    } else {
        format!("{one} in a full one with the least water, {other} with the most")
    };
    Some(format!("{count} tank{plural} of {}: {filled}", up(tank)))
}
