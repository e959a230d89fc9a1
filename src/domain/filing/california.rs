//! California monthly summary, 3 CCR 6627.
//!
//! To the county agricultural commissioner, for each county in which the
//! business is registered and each month, by the 10th of the following month
//! (the postmark counts), also when no work was done. The units and the use
//! code are from memory and marked unverified.

use super::Month;
use crate::domain::quantity::{Amount, AmountUnit, Exact, MassUnit, VolumeUnit, fixed_half_up};
use chrono::NaiveDate;
use num_traits::One;
use std::collections::{BTreeMap, BTreeSet};

/// The rule, for pages and print.
pub const SOURCE: &str = "3 CCR 6627";
/// Use code of landscape maintenance, which stands in for the site (unverified).
pub const LANDSCAPE_MAINTENANCE: &str = "30";
/// Is a report owed for a month without work?
pub const NIL_REQUIRED: bool = true;

/// When the report of a month is due.
pub fn due_on(month: Month) -> NaiveDate {
    month.next().day(10)
}

/// One product in one application record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// The record; items of one record are one application of a product.
    pub record: String,
    /// County of the site.
    pub county: Option<String>,
    /// The day.
    pub on: NaiveDate,
    /// Name of the product.
    pub product: String,
    /// Its registration number.
    pub registration_number: Option<String>,
    /// Product applied, before water.
    pub amount: Amount,
}

/// A unit of the form (unverified).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FormUnit {
    /// Pounds.
    Lb,
    /// Ounces of mass.
    Oz,
    /// Pints.
    Pt,
    /// Quarts.
    Qt,
    /// Gallons.
    Ga,
}

impl FormUnit {
    /// As printed on the form.
    pub fn code(self) -> &'static str {
        match self {
            Self::Lb => "LB",
            Self::Oz => "OZ",
            Self::Pt => "PT",
            Self::Qt => "QT",
            Self::Ga => "GA",
        }
    }

    fn unit(self) -> AmountUnit {
        match self {
            Self::Lb => AmountUnit::Mass(MassUnit::Pound),
            Self::Oz => AmountUnit::Mass(MassUnit::Ounce),
            Self::Pt => AmountUnit::Volume(VolumeUnit::Pint),
            Self::Qt => AmountUnit::Volume(VolumeUnit::Quart),
            Self::Ga => AmountUnit::Volume(VolumeUnit::Gallon),
        }
    }

    /// The largest unit of which there is at least one; else the smallest.
    fn fitting(amount: &Amount) -> Self {
        let (larger, smallest): (&[Self], Self) = match amount.unit {
            AmountUnit::Volume(_) => (&[Self::Ga, Self::Qt], Self::Pt),
            AmountUnit::Mass(_) | AmountUnit::Piece(_) => (&[Self::Lb], Self::Oz),
        };
        let fits = |unit: &Self| amount.in_unit(unit.unit()).is_ok_and(|whole| whole.value >= Exact::one());
        larger.iter().copied().find(|unit| fits(unit)).unwrap_or(smallest)
    }
}

/// One line of the report: a product in a county and month.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Site or use code.
    pub use_code: &'static str,
    /// Name of the product.
    pub product: String,
    /// Its registration number.
    pub registration_number: String,
    /// Amount, to 4 decimals, half up.
    pub amount: String,
    /// Its unit.
    pub unit: FormUnit,
    /// Number of applications.
    pub applications: usize,
}

/// What keeps an item out of the report until it is mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gap {
    /// The record.
    pub record: String,
    /// What is missing, in plain words.
    pub words: String,
}

/// The report of one county and month. Without rows it says that no work was
/// performed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Summary {
    /// The county.
    pub county: String,
    /// The month.
    pub month: Month,
    /// When it is due.
    pub due_on: NaiveDate,
    /// Lines by registration number and product.
    pub rows: Vec<Row>,
    /// Items that could not be put into a line.
    pub gaps: Vec<Gap>,
}

impl Summary {
    /// Is there nothing to report? Not while an item is left out.
    pub fn is_nil(&self) -> bool {
        self.rows.is_empty() && self.gaps.is_empty()
    }
}

/// One summary for each registered county and each further county with work in
/// that month, by name; and the items whose county is unknown.
pub fn summaries(month: Month, registered: &[String], items: &[Item]) -> (Vec<Summary>, Vec<Gap>) {
    let of_month: Vec<&Item> = items.iter().filter(|item| Month::of(item.on) == month).collect();
    let worked = of_month.iter().filter_map(|item| item.county.clone());
    let counties: BTreeSet<String> = registered.iter().cloned().chain(worked).collect();
    let summary = |county: String| {
        let own: Vec<&Item> =
            of_month.iter().copied().filter(|item| item.county.as_ref() == Some(&county)).collect();
        let (rows, gaps) = rows(&own);
        Summary { county, month, due_on: due_on(month), rows, gaps }
    };
    let homeless = of_month.iter().filter(|item| item.county.is_none()).map(|item| Gap {
        record: item.record.clone(),
        words: "the county of the site is missing".to_owned(),
    });
    let homeless = homeless.collect();
    (counties.into_iter().map(summary).collect(), homeless)
}

fn rows(items: &[&Item]) -> (Vec<Row>, Vec<Gap>) {
    let mut gaps = Vec::new();
    // Volume and mass of one product never add up: they are kept apart.
    let mut groups: BTreeMap<(&str, &str, bool), Vec<&Item>> = BTreeMap::new();
    for item in items {
        match item.registration_number.as_deref() {
            // The form counts by weight and volume alone.
            Some(_) if item.amount.unit.is_piece() => gaps.push(Gap {
                record: item.record.clone(),
                words: format!("the weight of {} in pounds or ounces is missing", item.amount.words()),
            }),
            Some(number) => {
                let key = (number, item.product.as_str(), item.amount.unit.is_volume());
                groups.entry(key).or_default().push(item);
            }
            None => gaps.push(Gap {
                record: item.record.clone(),
                words: format!("the registration number of {} is missing", item.product),
            }),
        }
    }
    (groups.into_iter().map(|(key, items)| row(key, &items)).collect(), gaps)
}

fn row((number, product, volume): (&str, &str, bool), items: &[&Item]) -> Row {
    let base =
        if volume { AmountUnit::Volume(VolumeUnit::Millilitre) } else { AmountUnit::Mass(MassUnit::Gram) };
    let sum: Exact = items.iter().filter_map(|item| item.amount.in_unit(base).ok()).map(|a| a.value).sum();
    let sum = Amount::new(sum, base);
    let unit = FormUnit::fitting(&sum);
    let records: BTreeSet<&str> = items.iter().map(|item| item.record.as_str()).collect();
    Row {
        use_code: LANDSCAPE_MAINTENANCE,
        product: product.to_owned(),
        registration_number: number.to_owned(),
        amount: sum.in_unit(unit.unit()).map_or_else(|_| String::new(), |a| fixed_half_up(&a.value, 4)),
        unit,
        applications: records.len(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::quantity::parse;

    fn item(record: &str, county: Option<&str>, on: &str, amount: &str, unit: &str) -> Item {
        Item {
            record: record.into(),
            county: county.map(str::to_owned),
            on: on.parse().unwrap(),
            product: "Drench A".into(),
            registration_number: Some("99999-1".into()),
            amount: Amount::new(parse(amount).unwrap(), AmountUnit::from_code(unit).unwrap()),
        }
    }

    fn month() -> Month {
        Month::parse("2026-01").unwrap()
    }

    #[test]
    fn one_line_adds_up_a_product_and_counts_its_records() {
        let county = Some("San Luis Obispo");
        let items = [
            item("r1", county, "2026-01-05", "1", "pt"),
            item("r1", county, "2026-01-05", "473.176473", "mL"),
            item("r2", county, "2026-01-31", "1", "qt"),
            item("r3", county, "2026-02-01", "9", "gal"),
        ];
        let (summaries, homeless) = summaries(month(), &[], &items);
        assert!(homeless.is_empty());
        let row = &summaries[0].rows[0];
        assert_eq!((row.amount.as_str(), row.unit.code(), row.applications), ("2.0000", "QT", 2));
        assert_eq!(row.use_code, "30");
    }

    #[test]
    fn what_is_missing_is_named_and_is_no_nil() {
        let mut nameless = item("r1", Some("Kern"), "2026-01-05", "3", "oz");
        nameless.registration_number = None;
        let items = [nameless, item("r2", None, "2026-01-06", "3", "oz")];
        let (found, homeless) = summaries(month(), &[], &items);
        assert!(!found[0].is_nil() && found[0].rows.is_empty());
        assert_eq!(found[0].gaps[0].record, "r1");
        assert_eq!(homeless[0].record, "r2");
        let (kern, _) =
            super::summaries(month(), &[], &[item("r3", Some("Kern"), "2026-01-07", "3", "packet")]);
        assert!(kern[0].rows.is_empty() && kern[0].gaps[0].words.contains("3 packet"));
    }

    #[test]
    fn dry_products_are_reported_by_mass() {
        let items = [item("r1", Some("Kern"), "2026-01-05", "15", "oz")];
        let (kern, _) = summaries(month(), &[], &items);
        assert_eq!((kern[0].rows[0].amount.as_str(), kern[0].rows[0].unit.code()), ("15.0000", "OZ"));
        let items = [item("r1", Some("Kern"), "2026-01-05", "453.59237", "g")];
        let (kern, _) = summaries(month(), &[], &items);
        assert_eq!((kern[0].rows[0].amount.as_str(), kern[0].rows[0].unit.code()), ("1.0000", "LB"));
    }
}
