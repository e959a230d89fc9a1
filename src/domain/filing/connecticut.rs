//! Connecticut: records of CGS 22a-66g and, for arborists, 23-61k. No periodic report was found.

use super::{Element, Jurisdiction};
use crate::domain::{
    permission::Mark::Checked,
    record::{Field, RecordRule},
};

/// What Connecticut asks.
pub const CONNECTICUT: Jurisdiction = Jurisdiction {
    code: "CT",
    name: "Connecticut",
    record: RecordRule {
        state: "CT",
        restricted_only: false,
        elements: &[
            Element::field(
                "Name and certification number of supervisor and operator",
                &[Field::Supervisor, Field::Applicator, Field::CertificationNumber],
            ),
            Element::field(
                "Kind and amount of pesticide, and the acreage where it applies",
                &[Field::Product, Field::Amount],
            ),
            Element::field("Date and place", &[Field::Date, Field::SiteAddress]),
            Element::field("Pest", &[Field::TargetPest]),
            Element::field("Crop or site", &[Field::Treated]),
            Element::label("List of pesticide names with their registration numbers"),
            Element::company("List of applicators and what each of them does"),
        ],
        source: "CGS 22a-66g and 23-61k",
        mark: Checked,
        by: None,
        keep: Some((5, Checked)),
    },
    filing: None,
    gaps: &["By when a record must be written was not found.", "Whether a report is owed was not found."],
    grounds: &[],
};
