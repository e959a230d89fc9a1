//! Minnesota: records of Minn. Stat. 18B.37 subd. 2. No periodic report was found.

use super::{Element, Jurisdiction, source::Ground};
use crate::domain::{
    permission::Mark::{Checked, Unverified},
    record::{By, Field, RecordRule},
};

/// What Minnesota asks.
pub const MINNESOTA: Jurisdiction = Jurisdiction {
    code: "MN",
    name: "Minnesota",
    record: RecordRule {
        state: "MN",
        restricted_only: false,
        elements: &[
            Element::field("Date and time completed", &[Field::Date, Field::EndTime]),
            Element::field(
                "Brand, registration number and rate",
                &[Field::Product, Field::RegistrationNumber, Field::Rate],
            ),
            Element::field("Number of units treated", &[Field::Size]),
            Element::field(
                "Temperature, wind speed and wind direction",
                &[Field::AirTemperature, Field::WindSpeed, Field::WindDirection],
            ),
            Element::field("Location", &[Field::SiteAddress]),
            Element::field("Customer's name and address", &[Field::Customer, Field::CustomerAddress]),
            Element::field("Applicator and licence", &[Field::Applicator, Field::CertificationNumber]),
            Element::company("Company and its address"),
        ],
        source: "Minn. Stat. 18B.37 subd. 2",
        mark: Checked,
        by: Some((By::Days(5), Checked)),
        keep: Some((5, Unverified)),
    },
    filing: None,
    gaps: &["How long records are kept is from memory.", "Whether a periodic report is owed was not found."],
    grounds: &[Ground::read(
        "The customer is given a copy of the record; an invoice may serve.",
        "Minn. Stat. 18B.37 subd. 2",
    )],
};
