//! Massachusetts: records of 333 CMR 10.14, read in part. No periodic report was found.

use super::{Element, Jurisdiction, source::Ground};
use crate::domain::{
    permission::Mark::{Checked, PartChecked},
    record::{Field, RecordRule},
};

/// What Massachusetts asks.
pub const MASSACHUSETTS: Jurisdiction = Jurisdiction {
    code: "MA",
    name: "Massachusetts",
    record: RecordRule {
        state: "MA",
        restricted_only: false,
        elements: &[
            Element::field("Place", &[Field::SiteAddress]),
            Element::field("Date", &[Field::Date]),
            Element::field("Brand and registration number", &[Field::Product, Field::RegistrationNumber]),
            Element::field("Amount", &[Field::Amount]),
            Element::field("Purpose", &[Field::TargetPest]),
            Element::field("Method", &[Field::Method]),
            Element::field(
                "Certified and licensed persons",
                &[Field::Applicator, Field::CertificationNumber],
            ),
            Element::outside("Accidents that polluted the environment", "Keep the report of the incident"),
            Element::outside(
                "Amount and insurer of the liability insurance",
                "Keep the policy with the records",
            ),
            Element::outside("Illnesses", "Keep the report of the incident"),
        ],
        source: "333 CMR 10.14",
        mark: PartChecked,
        by: None,
        keep: Some((3, Checked)),
    },
    filing: None,
    gaps: &[
        "Item (b) was missing from the copy; that it is the date is assumed.",
        "By when a record must be written was not found.",
        "Whether a periodic report is owed was not found.",
    ],
    grounds: &[Ground::read("Incidents are reported within 48 hours.", "333 CMR 10.14")],
};
