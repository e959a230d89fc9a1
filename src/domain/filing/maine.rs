//! Maine: records of 01-026 ch. 50, and the yearly summary by 31 January.

use super::{
    Element, Every, FilingRule, Jurisdiction, Nil, Period, Weekend,
    draft::{Draft, Gap, Input, lacking},
    source::Ground,
    sums::{COMMON, Sum, fitting, sums},
};
use crate::domain::{
    cell::Cell,
    permission::Mark::Checked,
    quantity::fixed_half_up,
    record::{By, Field, RecordRule},
};
use chrono::{Datelike, NaiveDate};

/// What Maine asks.
pub const MAINE: Jurisdiction = Jurisdiction {
    code: "ME",
    name: "Maine",
    record: RecordRule {
        state: "ME",
        restricted_only: false,
        elements: &[
            Element::field("Town and location", &[Field::SiteAddress]),
            Element::field("Site", &[Field::Treated]),
            Element::field("Target", &[Field::TargetPest]),
            Element::field("Customer and address", &[Field::Customer, Field::CustomerAddress]),
            Element::field("Size, or the number of trees, stumps or rooms", &[Field::Size]),
            Element::field("Date and time", &[Field::Date, Field::StartTime]),
            Element::field("Brand and registration number", &[Field::Product, Field::RegistrationNumber]),
            Element::label("Active ingredient"),
            Element::outside("Re-entry interval", "The label's own text"),
            Element::field("Method", &[Field::Method]),
            Element::outside("Diluent other than water", "Write it in the record's note"),
            Element::field(
                "Applicator and certification number",
                &[Field::Applicator, Field::CertificationNumber],
            ),
            Element::company("Firm"),
            Element::field("Rate; of restricted products the total undiluted", &[Field::Rate]),
        ],
        source: "Maine 01-026 ch. 50",
        mark: Checked,
        by: Some((By::SameDay, Checked)),
        keep: Some((2, Checked)),
    },
    filing: Some(FilingRule {
        code: "me-yearly",
        title: "Yearly summary of pesticide use",
        every: Every::Year,
        per_county: false,
        due: Some(due),
        weekend: Weekend::NotSeen,
        nil: Nil::NotFound,
        goes_to: "the state's board of pesticides control, in its approved system for 2025 and later",
        unread: &[
            "The layout of the approved system was not read: the rows below are to be typed in.",
            "Whether a summary is owed for a year without work was not found.",
        ],
        source: "Maine 01-026 ch. 50",
        mark: Checked,
        layout,
    }),
    gaps: &[],
    grounds: &[
        Ground::read(
            "By January 31, for each site or crop: the quantity of each pesticide, its registration number and the \
                total area.",
            "Maine 01-026 ch. 50",
        ),
        Ground::read(
            "It goes into the state's approved system for the use of 2025 and later.",
            "Maine 01-026 ch. 50",
        ),
    ],
};

fn due(period: Period) -> NaiveDate {
    NaiveDate::from_ymd_opt(period.last_day().year() + 1, 1, 31).unwrap_or(NaiveDate::MAX)
}

const COLUMNS: [&str; 8] = [
    "Site or crop",
    "Product",
    "EPA Reg. No.",
    "Quantity",
    "Unit",
    "Area treated, sq ft",
    "Applications",
    "Remarks",
];

/// Site, registration number and product.
type Key = (String, String, String);

fn layout(input: &Input<'_>) -> Draft {
    let mut gaps = lacking(input.work);
    let key = |item: &super::draft::Work| {
        (item.treated.clone(), item.registration_number.clone(), item.product.clone())
    };
    let (found, odd) = sums(input.work, key);
    gaps.extend(odd);
    for sum in &found {
        let unknown = sum.area_sqft().1;
        gaps.extend(unknown.into_iter().map(|work| Gap::of(work, "the area treated is missing".to_owned())));
    }
    Draft {
        head: vec![
            ("Firm", input.maker.name.clone()),
            ("Address", input.maker.address.clone()),
            ("Licence number", input.maker.licence.clone()),
            ("Year", input.period.code()),
        ],
        columns: &COLUMNS,
        rows: found.iter().map(row).collect(),
        nil: input.work.is_empty().then_some("No pesticide was used in Maine in this year."),
        gaps,
        text: None,
        file: format!("maine_{}.csv", input.period.code()),
    }
}

fn row(sum: &Sum<'_, Key>) -> Vec<Cell> {
    let (site, number, product) = &sum.key;
    let (value, unit) = fitting(&sum.amount, &COMMON).unwrap_or_default();
    let (area, unknown) = sum.area_sqft();
    let mut remarks = vec![];
    if !unknown.is_empty() {
        remarks.push(format!("the area of {} is not known", records(unknown.len())));
    }
    vec![
        Cell::text(site),
        Cell::text(product),
        Cell::text(number),
        Cell::Number(fixed_half_up(&value, 4)),
        Cell::text(unit),
        // A part of the area is not the area.
        if unknown.is_empty() { Cell::Number(fixed_half_up(&area, 0)) } else { Cell::Empty },
        Cell::Number(sum.applications().to_string()),
        Cell::text(remarks.join("; ")),
    ]
}

/// `1 record`, `3 records`
pub(super) fn records(count: usize) -> String {
    if count == 1 { "1 record".to_owned() } else { format!("{count} records") }
}
