//! Adding up what was applied, exactly, by whatever a layout counts by.

use super::draft::{Gap, Work};
use crate::domain::quantity::{Amount, AmountUnit, Exact, MassUnit, VolumeUnit};
use num_traits::One;
use std::collections::{BTreeMap, BTreeSet};

/// What shares a key and a kind of amount.
#[derive(Debug)]
pub(super) struct Sum<'a, K> {
    pub key: K,
    /// In millilitres or grams.
    pub amount: Amount,
    pub work: Vec<&'a Work>,
}

impl<K> Sum<'_, K> {
    /// How many records it comes from: the items of one record are one application.
    pub fn applications(&self) -> usize {
        self.work.iter().map(|item| item.record.as_str()).collect::<BTreeSet<_>>().len()
    }

    /// The sum of the records' areas, each record once, and the records whose area is not known.
    pub fn area_sqft(&self) -> (Exact, Vec<&Work>) {
        let records: BTreeMap<&str, &Work> =
            self.work.iter().map(|item| (item.record.as_str(), *item)).collect();
        let known = records.values().filter_map(|item| item.area_sqft.clone()).sum();
        (known, records.into_values().filter(|item| item.area_sqft.is_none()).collect())
    }
}

/// Sums by key, in the order of the keys, volume before mass; and what cannot be added up. Volume and mass of one
/// product never add up: they are kept apart.
pub(super) fn sums<K: Ord>(work: &[Work], key: impl Fn(&Work) -> K) -> (Vec<Sum<'_, K>>, Vec<Gap>) {
    let mut gaps = vec![];
    let mut groups: BTreeMap<(K, bool), Vec<(&Work, &Amount)>> = BTreeMap::new();
    for item in work {
        match &item.amount {
            None => gaps.push(Gap::of(
                item,
                format!("{}: {} is no unit that can be added up", item.product, unit_of(&item.stated)),
            )),
            // Reports count by weight and volume alone.
            Some(amount) if amount.unit.is_piece() => gaps.push(Gap::of(
                item,
                format!("{}: the weight of {} in pounds or ounces is missing", item.product, amount.words()),
            )),
            Some(amount) => {
                let dry = !amount.unit.is_volume();
                groups.entry((key(item), dry)).or_default().push((item, amount));
            }
        }
    }
    let made = groups.into_iter().map(|((key, dry), items)| add(key, dry, items));
    (made.collect(), gaps)
}

fn add<'a, K>(key: K, dry: bool, items: Vec<(&'a Work, &Amount)>) -> Sum<'a, K> {
    let base =
        if dry { AmountUnit::Mass(MassUnit::Gram) } else { AmountUnit::Volume(VolumeUnit::Millilitre) };
    let parts = items.iter().filter_map(|(_, amount)| amount.in_unit(base).ok());
    let amount = Amount::new(parts.map(|part| part.value).sum(), base);
    Sum { key, amount, work: items.into_iter().map(|(item, _)| item).collect() }
}

fn unit_of(stated: &str) -> &str {
    stated.split_once(' ').map_or(stated, |(_, unit)| unit)
}

/// The larger unit of which there is at least one, tried in order; else the last.
pub(super) fn fitting<U: Copy>(amount: &Amount, units: &[(AmountUnit, U)]) -> Option<(Exact, U)> {
    let values = units.iter().filter_map(|(unit, code)| Some((amount.in_unit(*unit).ok()?.value, *code)));
    let all: Vec<(Exact, U)> = values.collect();
    all.iter().find(|(value, _)| *value >= Exact::one()).or(all.last()).cloned()
}

/// The common units of sale, the largest first, as yearly summaries name them.
pub(super) const COMMON: [(AmountUnit, &str); 5] = [
    (AmountUnit::Volume(VolumeUnit::Gallon), "gallons"),
    (AmountUnit::Volume(VolumeUnit::Quart), "quarts"),
    (AmountUnit::Volume(VolumeUnit::FluidOunce), "fluid ounces"),
    (AmountUnit::Mass(MassUnit::Pound), "pounds"),
    (AmountUnit::Mass(MassUnit::Ounce), "ounces"),
];
