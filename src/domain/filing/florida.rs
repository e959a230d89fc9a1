//! Florida: records of restricted-use products, 5E-9.032. No periodic report was found.
//!
//! Two working days are counted without Saturdays and Sundays. Public holidays count as working days, for which
//! days the state closes was not read: the earlier day holds.

use super::{Element, Jurisdiction, source::Ground};
use crate::domain::{
    permission::Mark::Checked,
    record::{By, Field, RecordRule},
};

/// What Florida asks.
pub const FLORIDA: Jurisdiction = Jurisdiction {
    code: "FL",
    name: "Florida",
    record: RecordRule {
        state: "FL",
        restricted_only: true,
        elements: &[
            Element::field("Licensee's name and number", &[Field::CertificationNumber]),
            Element::field("Person who applied", &[Field::Applicator]),
            Element::field("Date, start and end time", &[Field::Date, Field::StartTime, Field::EndTime]),
            Element::field("Site, in one of five allowed ways", &[Field::SiteAddress]),
            Element::field("Kind of crop or site", &[Field::Treated]),
            Element::field("Size", &[Field::Size]),
            Element::field("Brand and registration number", &[Field::Product, Field::RegistrationNumber]),
            Element::field("Total formulated product", &[Field::Amount]),
            Element::field("Method", &[Field::Method]),
            Element::field("Person who authorised it", &[Field::Supervisor]),
        ],
        source: "Florida 5E-9.032",
        mark: Checked,
        by: Some((By::WorkingDays(2), Checked)),
        keep: Some((2, Checked)),
    },
    filing: None,
    gaps: &[
        "What records of products that are not restricted must hold was not found.",
        "Whether a periodic report is owed was not found.",
    ],
    grounds: &[Ground::read(
        "Pest control licensees keep records and contracts at the licensed location for two years, electronic \
            copies on request.",
        "Florida 5E-14.142(1)",
    )],
};
