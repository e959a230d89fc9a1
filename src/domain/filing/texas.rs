//! Texas: records of 4 TAC 7.33. The structural rule, 7.144, was not read. No periodic report was found.

use super::{Element, Jurisdiction};
use crate::domain::{
    permission::Mark::Checked,
    record::{Field, RecordRule},
};

/// What Texas asks.
pub const TEXAS: Jurisdiction = Jurisdiction {
    code: "TX",
    name: "Texas",
    record: RecordRule {
        state: "TX",
        restricted_only: false,
        elements: &[
            Element::field("Date and start time", &[Field::Date, Field::StartTime]),
            Element::field("Customer", &[Field::Customer]),
            Element::field("Location", &[Field::SiteAddress]),
            Element::field("Product and registration number", &[Field::Product, Field::RegistrationNumber]),
            Element::field("Rate of product for each unit", &[Field::Rate]),
            Element::field("Total volume of mixture for each unit", &[Field::Mixture]),
            Element::field("Target pest", &[Field::TargetPest]),
            Element::field("Site treated", &[Field::Treated]),
            Element::field("Total area", &[Field::Size]),
            Element::field(
                "Wind direction and velocity, outdoors",
                &[Field::WindDirection, Field::WindSpeed],
            ),
            Element::field("Air temperature", &[Field::AirTemperature]),
            Element::field("Method", &[Field::Method]),
            Element::outside("Number of the aircraft", "Nothing is applied from the air"),
            Element::field(
                "Applicator's name and licence, and the person applying",
                &[Field::Applicator, Field::CertificationNumber],
            ),
            Element::outside("Number of a permit, where one is needed", "Write it in the record's note"),
            Element::outside(
                "Evidence of training of whoever works under supervision",
                "Keep it with the person's papers",
            ),
        ],
        source: "4 TAC 7.33",
        mark: Checked,
        by: None,
        keep: Some((2, Checked)),
    },
    filing: None,
    gaps: &[
        "The structural rule, 4 TAC 7.144, was not read.",
        "By when a record must be written was not found.",
        "Whether a periodic report is owed was not found.",
    ],
    grounds: &[],
};
