//! Oregon: records of ORS 634.146. The yearly use report is suspended in years without a working system.

use super::{Element, Jurisdiction, source::Ground};
use crate::domain::{
    permission::Mark::Checked,
    record::{Field, RecordRule},
};

/// What Oregon asks.
pub const OREGON: Jurisdiction = Jurisdiction {
    code: "OR",
    name: "Oregon",
    record: RecordRule {
        state: "OR",
        restricted_only: false,
        elements: &[
            Element::field("Customer", &[Field::Customer]),
            Element::field("Location", &[Field::SiteAddress]),
            Element::field("Date and time", &[Field::Date, Field::StartTime]),
            Element::outside("Supplier of the pesticide", "Keep the invoice; the record names the lot"),
            Element::field("Trade name", &[Field::Product]),
            Element::label("Strength"),
            Element::field("Amount or concentration", &[Field::Amount]),
            Element::field("Property or crop", &[Field::Treated]),
            Element::outside("Equipment", "Write it in the record's note"),
            Element::field("Applicators", &[Field::Applicator]),
        ],
        source: "ORS 634.146",
        mark: Checked,
        by: None,
        keep: Some((3, Checked)),
    },
    filing: None,
    gaps: &[
        "The yearly use report is not prepared here: its layout was not read, and it is suspended in years without \
            a working system.",
        "By when a record must be written was not found.",
    ],
    grounds: &[Ground::read(
        "A yearly use report by January 31 exists and is suspended in years without a working system: ask the \
            state each year.",
        "OAR 603-057-0410",
    )],
};
