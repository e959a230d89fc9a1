//! New Jersey: records of N.J.A.C. 7:30-7.3, read in part. No periodic report was found.

use super::{Element, Jurisdiction};
use crate::domain::{
    permission::Mark::{PartChecked, Unverified},
    record::{By, Field, RecordRule},
};

/// What New Jersey asks.
pub const NEW_JERSEY: Jurisdiction = Jurisdiction {
    code: "NJ",
    name: "New Jersey",
    record: RecordRule {
        state: "NJ",
        restricted_only: false,
        elements: &[
            Element::field("Date", &[Field::Date]),
            Element::outside(
                "Hour completed and re-entry time, where one applies",
                "The record's finishing time, and the label's own text",
            ),
            Element::field("Address, municipality and county", &[Field::SiteAddress, Field::County]),
            Element::field("Brand and registration number", &[Field::Product, Field::RegistrationNumber]),
            Element::label("Active ingredient"),
            Element::field("Total concentrate and total diluent", &[Field::Amount, Field::Mixture]),
            Element::outside(
                "Area, where the rate is for an area",
                "The record's area treated; it is asked for by hand",
            ),
            Element::field("Applicator and licence", &[Field::Applicator, Field::CertificationNumber]),
        ],
        source: "N.J.A.C. 7:30-7.3",
        mark: PartChecked,
        by: Some((By::DayAfter, Unverified)),
        keep: Some((3, Unverified)),
    },
    filing: None,
    gaps: &[
        "The copy of the rule stopped before its end.",
        "24 hours and three years were read for private applicators (7:30-8.8); the same for businesses is from \
            memory.",
        "Whether a periodic report is owed was not found.",
    ],
    grounds: &[],
};
