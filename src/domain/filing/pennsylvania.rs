//! Pennsylvania: records of 7 Pa. Code 128.35. No periodic report was found.

use super::{Element, Jurisdiction};
use crate::domain::{
    permission::Mark::Checked,
    record::{By, Field, RecordRule},
};

/// What Pennsylvania asks.
pub const PENNSYLVANIA: Jurisdiction = Jurisdiction {
    code: "PA",
    name: "Pennsylvania",
    record: RecordRule {
        state: "PA",
        restricted_only: false,
        elements: &[
            Element::field("Date", &[Field::Date]),
            Element::outside(
                "Hour completed, where a re-entry time applies",
                "The record's finishing time, where the label sets a re-entry time",
            ),
            Element::field(
                "Customer's name and address, and the site's where it differs",
                &[Field::Customer, Field::CustomerAddress, Field::SiteAddress],
            ),
            Element::field("Brand", &[Field::Product]),
            Element::field("Registration number", &[Field::RegistrationNumber]),
            Element::field("Total amount in pounds, ounces, gallons or litres", &[Field::Amount]),
            Element::field("Dosage or rate", &[Field::Rate]),
            Element::field(
                "Name and number of each person who makes or supervises the application",
                &[Field::Applicator, Field::CertificationNumber],
            ),
            Element::outside(
                "Identification and size of the site, for crops",
                "Crops are not this company's work",
            ),
        ],
        source: "7 Pa. Code 128.35",
        mark: Checked,
        by: Some((By::DayAfter, Checked)),
        keep: Some((3, Checked)),
    },
    filing: None,
    gaps: &["Whether a periodic report is owed was not found."],
    grounds: &[],
};
