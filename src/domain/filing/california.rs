//! California: records of 3 CCR 6624(b), and the monthly summary of 3 CCR 6627.
//!
//! The summary goes to the county agricultural commissioner, for each county in which the business is registered
//! and each month, by the 10th of the following month (the postmark counts), also when no work was done. The units
//! and the use code are from memory and marked unverified.

use super::{
    Element, Every, FilingRule, Jurisdiction, Month, Nil, Period, Weekend,
    draft::{Draft, Gap, Input, Mend, lacking, name_part},
    source::Ground,
    sums::{Sum, fitting, sums},
};
use crate::domain::{
    cell::Cell,
    permission::Mark::{Checked, PartChecked, Unverified},
    quantity::{Amount, AmountUnit, MassUnit, VolumeUnit, fixed_half_up},
    record::{Field, RecordRule},
};
use chrono::NaiveDate;
use num_traits::Zero;
use std::collections::BTreeSet;

/// What California asks.
pub const CALIFORNIA: Jurisdiction = Jurisdiction {
    code: "CA",
    name: "California",
    record: RecordRule {
        state: "CA",
        restricted_only: false,
        elements: &[
            Element::field("Date and time", &[Field::Date, Field::StartTime]),
            Element::field("Operator of the property", &[Field::Customer]),
            Element::field("Location of the property", &[Field::SiteAddress]),
            Element::field("Crop, commodity or site", &[Field::Treated]),
            Element::field("Acreage or units treated", &[Field::Size]),
            Element::field(
                "Pesticide with its federal or state registration number, and the amount used",
                &[Field::Product, Field::RegistrationNumber, Field::Amount],
            ),
        ],
        source: "3 CCR 6624(b)",
        mark: Checked,
        by: None,
        keep: Some((2, Unverified)),
    },
    filing: Some(FilingRule {
        code: "ca-monthly",
        title: "Monthly summary of pesticide use",
        every: Every::Month,
        per_county: true,
        due: Some(due),
        weekend: Weekend::NotSeen,
        nil: Nil::Owed,
        goes_to: "the county agricultural commissioner; the postmark counts",
        unread: &[
            "The form's units, its use codes and whether it counts landscape applications are from memory.",
            "The rule itself was read as the state's licensing manual gives it.",
        ],
        source: "3 CCR 6627",
        mark: PartChecked,
        layout,
    }),
    gaps: &[
        "A yearly report of work at schools and child-care centres (3 CCR 6625, by the 30th day after the year) is \
            not prepared here.",
        "By when a record must be written was not found.",
    ],
    grounds: &GROUNDS,
};

const GROUNDS: [Ground; 6] = [
    Ground::partly(
        "One summary for each county and month, to the county agricultural commissioner, by the 10th of the \
            following month; the postmark counts.",
        "3 CCR 6627, as the state's licensing manual gives it",
    ),
    Ground::partly(
        "It is owed in every county of registration also when no work was done.",
        "3 CCR 6627, as the state's licensing manual gives it",
    ),
    Ground::partly(
        "It names the business and its address, county, month, product, registration number and amount, and the \
            site unless a use code stands for it.",
        "3 CCR 6627, as the state's licensing manual gives it",
    ),
    Ground::remembered(
        "Use code 30 stands for landscape maintenance.",
        "3 CCR 6627, form PR-ENF-060, from memory",
    ),
    Ground::remembered(
        "Units LB, OZ, PT, QT and GA, and the number of applications for landscape work.",
        "form PR-ENF-060, from memory",
    ),
    Ground::read("What each application record must hold.", "3 CCR 6624(b)"),
];

/// Use code of landscape maintenance, which stands in for the site (unverified).
pub const LANDSCAPE_MAINTENANCE: &str = "30";
/// What a summary says when there was nothing.
pub const NIL: &str = "No pest control work was done in this county in this month.";

/// When the summary of a month is due.
pub fn due_on(month: Month) -> NaiveDate {
    month.next().day(10)
}

fn due(period: Period) -> NaiveDate {
    due_on(Month::of(period.last_day()))
}

const UNITS: [(AmountUnit, &str); 5] = [
    (AmountUnit::Volume(VolumeUnit::Gallon), "GA"),
    (AmountUnit::Volume(VolumeUnit::Quart), "QT"),
    (AmountUnit::Volume(VolumeUnit::Pint), "PT"),
    (AmountUnit::Mass(MassUnit::Pound), "LB"),
    (AmountUnit::Mass(MassUnit::Ounce), "OZ"),
];

/// An amount as the form writes it: the largest of its units (unverified) of which there is at least one, else the
/// smallest; four decimals, half up.
pub fn form_amount(amount: &Amount) -> Option<(String, &'static str)> {
    fitting(amount, &UNITS).map(|(value, code)| (fixed_half_up(&value, 4), code))
}

const COLUMNS: [&str; 7] =
    ["Use code", "Product", "EPA Reg. No.", "Amount", "Unit", "Applications", "Remarks"];

fn layout(input: &Input<'_>) -> Draft {
    let maker = input.maker;
    let mut gaps = ours(input);
    gaps.extend(lacking(input.work));
    let lacking: BTreeSet<String> = gaps.iter().filter_map(|gap| gap.record.clone()).collect();
    let (found, odd) = sums(input.work, |item| (item.registration_number.clone(), item.product.clone()));
    gaps.extend(odd);
    Draft {
        head: vec![
            ("Business", maker.name.clone()),
            ("Address", maker.address.clone()),
            ("Licence number", maker.licence.clone()),
            ("County registration", maker.registration.clone().unwrap_or_default()),
            ("County", input.county.to_owned()),
            ("Month", input.period.code()),
        ],
        columns: &COLUMNS,
        rows: found.iter().map(|sum| row(sum, &lacking)).collect(),
        nil: input.work.is_empty().then_some(NIL),
        gaps,
        text: None,
        file: format!("california_{}_{}.csv", name_part(input.county), input.period.code()),
    }
}

fn ours(input: &Input<'_>) -> Vec<Gap> {
    let licence =
        input.maker.licence.is_empty().then(|| Gap::ours(Mend::Company, "the licence number is missing"));
    let registration = input
        .maker
        .registration
        .is_none()
        .then(|| Gap::ours(Mend::Registration, "the registration with the county is missing"));
    licence.into_iter().chain(registration).collect()
}

fn row(sum: &Sum<'_, (String, String)>, lacking: &BTreeSet<String>) -> Vec<Cell> {
    let (number, product) = &sum.key;
    let (amount, unit) = form_amount(&sum.amount).unwrap_or_default();
    let mut remarks = vec![];
    let incomplete: BTreeSet<&str> =
        sum.work.iter().map(|item| item.record.as_str()).filter(|id| lacking.contains(*id)).collect();
    match incomplete.len() {
        0 => {}
        1 => remarks.push("1 record lacks something".to_owned()),
        more => remarks.push(format!("{more} records lack something")),
    }
    if !sum.amount.value.is_zero() && amount.bytes().all(|digit| matches!(digit, b'0' | b'.')) {
        remarks.push("less than half of the last digit shown".to_owned());
    }
    vec![
        Cell::text(LANDSCAPE_MAINTENANCE),
        Cell::text(product),
        Cell::text(number),
        Cell::Number(amount),
        Cell::text(unit),
        Cell::Number(sum.applications().to_string()),
        Cell::text(remarks.join("; ")),
    ]
}
