//! Washington: records of WAC 16-228-1320 and RCW 17.21.100, whose form was read. No periodic report was found.

use super::{Element, Jurisdiction};
use crate::domain::{
    permission::Mark::{PartChecked, Unverified},
    record::{By, Field, RecordRule},
};

/// What Washington asks.
pub const WASHINGTON: Jurisdiction = Jurisdiction {
    code: "WA",
    name: "Washington",
    record: RecordRule {
        state: "WA",
        restricted_only: false,
        elements: &[
            Element::field(
                "Licensed applicator and the person applying",
                &[Field::Applicator, Field::CertificationNumber],
            ),
            Element::field("Site and area", &[Field::Treated, Field::Size]),
            Element::field("Product and registration number", &[Field::Product, Field::RegistrationNumber]),
            Element::field("Total amount", &[Field::Amount]),
            Element::field("Rate", &[Field::Rate]),
            Element::label("Concentration"),
            Element::field("Address", &[Field::SiteAddress]),
            Element::field("Wind direction and miles an hour", &[Field::WindDirection, Field::WindSpeed]),
            Element::field("Temperature", &[Field::AirTemperature]),
            Element::outside("Number of the apparatus", "Write it in the record's note"),
            Element::field("Method", &[Field::Method]),
            Element::field("Date", &[Field::Date]),
        ],
        source: "WAC 16-228-1320, RCW 17.21.100",
        mark: PartChecked,
        by: Some((By::SameDay, Unverified)),
        keep: Some((7, Unverified)),
    },
    filing: None,
    gaps: &[
        "The section on applicators was not read; its fields are those of the agency's form.",
        "Changes proposed in 2025 (WSR 25-17-078) are not followed.",
        "Whether a periodic report is owed was not found.",
    ],
    grounds: &[],
};
