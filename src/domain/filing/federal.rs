//! Federal law: records of restricted-use products applied for hire, 40 CFR 171.303(b)(7).
//!
//! The former 7 CFR part 110, which asked records of whoever applied restricted-use products privately, was
//! rescinded on 11 July 2025 (90 FR, FR Doc 2025-08220) and is history only: [`FORMER`].

use super::{Element, Jurisdiction, source::Ground};
use crate::domain::{
    permission::Mark::PartChecked,
    record::{Field, RecordRule},
};
use chrono::NaiveDate;

/// What federal law asks of restricted-use products, on top of the states.
pub const FEDERAL: Jurisdiction = Jurisdiction {
    code: "US",
    name: "Federal law",
    record: RecordRule {
        state: "US",
        restricted_only: true,
        elements: &[
            Element::field("Name and address of the customer", &[Field::Customer, Field::CustomerAddress]),
            Element::field("Location of the application", &[Field::SiteAddress]),
            Element::field("Size of the area treated, in the label's units", &[Field::Size]),
            Element::field("Crop or site", &[Field::Treated]),
            Element::field("Time and date", &[Field::Date, Field::StartTime]),
            Element::field("Brand or product name", &[Field::Product]),
            Element::field("Registration number", &[Field::RegistrationNumber]),
            Element::field("Total amount for each place and application", &[Field::Amount]),
            Element::field(
                "Name and certification number of the applicator or supervisor, and the name of a noncertified \
                    applicator",
                &[Field::Applicator, Field::CertificationNumber],
            ),
        ],
        source: "40 CFR 171.303(b)(7)",
        mark: PartChecked,
        by: None,
        keep: Some((2, PartChecked)),
    },
    filing: None,
    gaps: &["The rule was read in a restatement; that it asks for the crop or site is from memory."],
    grounds: &[
        Ground::remembered(
            "Records of the training of noncertified applicators are kept two years.",
            "40 CFR 171.201(e), from memory",
        ),
        Ground::read(
            "The former federal record rule, 7 CFR part 110, is rescinded since July 11, 2025 and is history only.",
            "90 FR, FR Doc 2025-08220",
        ),
    ],
};

/// The rescinded rule, for records of its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Former {
    /// Where it was written.
    pub source: &'static str,
    /// Year, month and day from which it no longer holds.
    ended: (i32, u32, u32),
    /// What it asked, in our words.
    pub elements: &'static [&'static str],
}

/// 7 CFR 110.3(a) as of 2006, and its end.
pub const FORMER: Former = Former {
    source: "former 7 CFR 110.3",
    ended: (2025, 7, 11),
    elements: &[
        "Brand or product name and registration number",
        "Total amount applied",
        "Location, size of the area treated, and the crop, commodity, stored product or site",
        "Month, day and year",
        "Name and certification number of the applicator or supervisor",
    ],
};

impl Former {
    /// Did it hold on that day? It asks nothing of any later application.
    pub fn held_on(&self, day: NaiveDate) -> bool {
        let (year, month, on) = self.ended;
        NaiveDate::from_ymd_opt(year, month, on).is_some_and(|end| day < end)
    }
}
