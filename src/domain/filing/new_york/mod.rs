//! New York: records and the yearly report of ECL 33-1205(1), and its text file.
//!
//! Due on 1 February for the calendar year before, also without any application. The regulation, 6 NYCRR 325.25(b),
//! still prints 15 January; the department's policy DSHM-PES-05-10 takes the statute's day.

mod county;
mod line;

pub use county::code as county_code;
pub use line::{Address, FIELDS, Line, Rejected, UNITS, plain_ascii};

use super::{
    Element, Every, FilingRule, Jurisdiction, Nil, Period, Weekend,
    draft::{Draft, Gap, Input, Mend, Work, lacking},
    source::Ground,
};
use crate::domain::{
    cell::Cell,
    permission::Mark::{Checked, Unverified},
    quantity::{Amount, AmountUnit, MassUnit, VolumeUnit, fixed_half_up},
    record::{Field, RecordRule},
};
use chrono::{Datelike, NaiveDate};

/// What New York asks.
pub const NEW_YORK: Jurisdiction = Jurisdiction {
    code: "NY",
    name: "New York",
    record: RecordRule {
        state: "NY",
        restricted_only: false,
        elements: &[
            Element::field("Registration number", &[Field::RegistrationNumber]),
            Element::field("Product name", &[Field::Product]),
            Element::field("Quantity of each pesticide", &[Field::Amount]),
            Element::field("Date applied", &[Field::Date]),
            Element::field(
                "Location by address with its five-digit zip",
                &[Field::SiteAddress, Field::SiteZip],
            ),
            Element::field(
                "Dosage rates, methods and target organisms",
                &[Field::Rate, Field::Method, Field::TargetPest],
            ),
        ],
        source: "New York ECL 33-1205(1)",
        mark: Checked,
        by: None,
        keep: Some((3, Checked)),
    },
    filing: Some(FilingRule {
        code: "ny-yearly",
        title: "Yearly report of pesticide use",
        every: Every::Year,
        per_county: false,
        due: Some(due),
        weekend: Weekend::NextBusinessDay(Unverified, "General Construction Law 25-a, from memory"),
        nil: Nil::Owed,
        goes_to: "the state's pesticide reporting system, electronically",
        unread: &[
            "The list of accepted units and the codes of the counties New York, Queens and Richmond are from memory.",
            "Whose certification stands on a report of no work was not read: there is a line for each.",
        ],
        source: "New York ECL 33-1205(1)",
        mark: Checked,
        layout,
    }),
    gaps: &["By when a record must be written was not found."],
    grounds: &[
        Ground::read(
            "Owed every year by February 1 for the year before, also without work.",
            "New York ECL 33-1205(1)",
        ),
        Ground::read(
            "Lines of thirteen fields with | between them, each ended by CR LF; empty fields keep their place.",
            "New York pesticide reporting, text file specification of Form 26",
        ),
        Ground::read(
            "Rejected: units that are no weight or volume, P.O. boxes, streets of more than 50 characters, business \
                numbers that have not five digits.",
            "New York pesticide reporting, text file specification and list of common errors",
        ),
        Ground::remembered("Accepted units by their names.", "from memory"),
    ],
};

/// When the report of a calendar year is due, before any weekend rule.
pub fn due_on(year: i32) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(year + 1, 2, 1)
}

fn due(period: Period) -> NaiveDate {
    due_on(period.last_day().year()).unwrap_or(NaiveDate::MAX)
}

fn layout(input: &Input<'_>) -> Draft {
    let business = input.maker.registration.clone().unwrap_or_default();
    let mut gaps = lacking(input.work);
    if business.is_empty() {
        gaps.push(Gap::ours(
            Mend::Registration,
            "the business registration number is missing; the field may be empty",
        ));
    }
    let mut lines = vec![];
    if input.work.is_empty() {
        let nil = |(_, number): &(String, String)| Line::nil(number, &business);
        for line in input.maker.certified.iter().map(nil) {
            match line.check().as_slice() {
                [] => lines.push(line),
                wrong => gaps.push(Gap::ours(Mend::People, &words(wrong))),
            }
        }
        if input.maker.certified.is_empty() {
            gaps.push(Gap::ours(Mend::People, "nobody holds a certification of New York in this year"));
        }
    }
    for item in input.work {
        match of(item, &business) {
            Ok(line) => lines.push(line),
            Err(why) => gaps.push(Gap::of(item, format!("left out of the file: {why}"))),
        }
    }
    Draft {
        head: vec![],
        columns: &FIELDS,
        rows: lines.iter().map(|line| line.0.iter().map(Cell::text).collect()).collect(),
        nil: input.work.is_empty().then_some("No application was made in New York in this year."),
        gaps,
        text: Some(lines.iter().map(Line::text).collect()),
        file: format!("F26_{}.txt", input.period.code()),
    }
}

/// The line of an application, or why it would be rejected. A line that would break the file is never written.
fn of(item: &Work, business: &str) -> Result<Line, String> {
    let amount = item.amount.as_ref().and_then(quantity);
    let (value, unit) = amount.ok_or_else(|| format!("{} is no weight or volume", item.stated))?;
    let address =
        Address::read(&item.site_address).ok_or("the address has not street, municipality and zip")?;
    let code = county_code(&item.county).ok_or_else(|| {
        format!("{} is no county of New York", if item.county.is_empty() { "nothing" } else { &item.county })
    })?;
    let fields = [
        "0".to_owned(),
        item.certification.clone(),
        business.to_owned(),
        item.registration_number.clone(),
        plain_ascii(&item.product),
        value,
        unit.to_owned(),
        item.on.format("%-m/%-d/%Y").to_string(),
        String::new(),
        code,
        plain_ascii(&address.street),
        plain_ascii(&address.municipality),
        address.zip,
    ];
    let line = Line(fields);
    match line.check().as_slice() {
        [] => Ok(line),
        wrong => Err(words(wrong)),
    }
}

fn words(wrong: &[Rejected]) -> String {
    wrong.iter().map(|one| format!("{} {}", one.field, one.words)).collect::<Vec<_>>().join("; ")
}

/// Quantity and unit as the file writes them: up to four decimals, half up. None: no weight or volume.
fn quantity(amount: &Amount) -> Option<(String, &'static str)> {
    let (unit, code) = match amount.unit {
        AmountUnit::Mass(MassUnit::Pound) => (amount.unit, "LB"),
        AmountUnit::Mass(MassUnit::Ounce) => (amount.unit, "OZ"),
        AmountUnit::Mass(MassUnit::Kilogram) => (amount.unit, "KG"),
        AmountUnit::Mass(MassUnit::Gram | MassUnit::Milligram) => (AmountUnit::Mass(MassUnit::Gram), "G"),
        AmountUnit::Volume(VolumeUnit::Gallon) => (amount.unit, "GAL"),
        AmountUnit::Volume(VolumeUnit::Quart) => (amount.unit, "QT"),
        AmountUnit::Volume(VolumeUnit::Pint) => (amount.unit, "PT"),
        AmountUnit::Volume(VolumeUnit::Litre) => (amount.unit, "L"),
        AmountUnit::Volume(VolumeUnit::Millilitre) => (amount.unit, "ML"),
        AmountUnit::Volume(_) => (AmountUnit::Volume(VolumeUnit::FluidOunce), "FL OZ"),
        AmountUnit::Piece(_) => return None,
    };
    let value = fixed_half_up(&amount.in_unit(unit).ok()?.value, 4);
    Some((value.trim_end_matches('0').trim_end_matches('.').to_owned(), code))
}
