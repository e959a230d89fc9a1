//! Wisconsin: records of ATCP 29.21 and 29.33, read in part. No periodic report was found.

use super::{Element, Jurisdiction};
use crate::domain::{
    permission::Mark::PartChecked,
    record::{By, Field, RecordRule},
};

/// What Wisconsin asks.
pub const WISCONSIN: Jurisdiction = Jurisdiction {
    code: "WI",
    name: "Wisconsin",
    record: RecordRule {
        state: "WI",
        restricted_only: false,
        elements: &[
            Element::field("Applicator's first and last name", &[Field::Applicator]),
            Element::field("Customer's name and address", &[Field::Customer, Field::CustomerAddress]),
            Element::field("Crop or site", &[Field::Treated]),
            Element::field("Location, detailed enough to find it", &[Field::SiteAddress]),
            Element::field(
                "Month, day and year, start and end time",
                &[Field::Date, Field::StartTime, Field::EndTime],
            ),
            Element::field(
                "Brand or common name and registration number",
                &[Field::Product, Field::RegistrationNumber],
            ),
            Element::field(
                "Concentration and total quantity, or amount for each unit of area and the area",
                &[Field::Amount],
            ),
            Element::outside(
                "Place of mixing and loading, where it is not the licensed one",
                "Write it in the record's note",
            ),
        ],
        source: "Wisconsin ATCP 29.21 and 29.33",
        mark: PartChecked,
        by: Some((By::SameDay, PartChecked)),
        keep: Some((2, PartChecked)),
    },
    filing: None,
    gaps: &[
        "The copy of the rule stopped before its end.",
        "Whether a periodic report is owed was not found.",
    ],
    grounds: &[],
};
