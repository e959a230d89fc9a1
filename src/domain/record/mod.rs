//! What makes an application record complete, by when it must be written and
//! how long it must be kept.
//!
//! The rules are data, one file for each jurisdiction ([`super::filing::ALL`]),
//! each with its source and how far it was checked. Whatever they say, the house
//! rule is stricter: write the record on the same day, keep it seven years.

mod conditions;

pub use conditions::{Conditions, Told};

use super::calendar::{add_days, add_months, working_days_after};
use super::filing::{self, Element, Kept, federal::FEDERAL};
use super::permission::Mark;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeSet;

/// Years that the company keeps records, whatever the state asks.
pub const HOUSE_YEARS: u32 = 7;

/// Something that a record holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// Day of the application.
    Date,
    /// Time at which it began.
    StartTime,
    /// Time at which it was finished.
    EndTime,
    /// Name of the customer.
    Customer,
    /// Address of the customer.
    CustomerAddress,
    /// Street address of the site.
    SiteAddress,
    /// Five-digit zip of the site.
    SiteZip,
    /// County of the site.
    County,
    /// What was treated: host plant, crop or kind of site.
    Treated,
    /// Area, or number of plants.
    Size,
    /// Pest that was treated.
    TargetPest,
    /// Name of the product.
    Product,
    /// Its registration number.
    RegistrationNumber,
    /// How much product, before water.
    Amount,
    /// Rate of product.
    Rate,
    /// Carrier water or total mixture.
    Mixture,
    /// Method of application.
    Method,
    /// Who applied.
    Applicator,
    /// Certification or licence number of the applicator or supervisor.
    CertificationNumber,
    /// Who supervised or authorised.
    Supervisor,
    /// Wind speed.
    WindSpeed,
    /// Direction from which the wind blew.
    WindDirection,
    /// Air temperature.
    AirTemperature,
}

impl Field {
    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Date => "date",
            Self::StartTime => "start time",
            Self::EndTime => "end time",
            Self::Customer => "customer",
            Self::CustomerAddress => "customer's address",
            Self::SiteAddress => "site address",
            Self::SiteZip => "zip code of the site",
            Self::County => "county",
            Self::Treated => "plant or site treated",
            Self::Size => "area or number treated",
            Self::TargetPest => "target pest",
            Self::Product => "product",
            Self::RegistrationNumber => "registration number",
            Self::Amount => "amount of product",
            Self::Rate => "rate",
            Self::Mixture => "carrier water",
            Self::Method => "method",
            Self::Applicator => "applicator",
            Self::CertificationNumber => "certification number",
            Self::Supervisor => "supervising applicator",
            Self::WindSpeed => "wind speed",
            Self::WindDirection => "wind direction",
            Self::AirTemperature => "air temperature",
        }
    }
}

/// By when a record must be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// On the day of the application.
    SameDay,
    /// Within 24 hours: by the end of the next day.
    DayAfter,
    /// Within so many days.
    Days(u32),
    /// Within so many working days. Only Saturdays and Sundays are left out: which holidays a state keeps was
    /// not read, and the earlier day is the safe one.
    WorkingDays(u32),
}

impl By {
    /// For people: `within 2 working days`.
    pub fn words(self) -> String {
        match self {
            Self::SameDay => "on the same day".to_owned(),
            Self::DayAfter => "within 24 hours".to_owned(),
            Self::Days(days) => format!("within {days} days"),
            Self::WorkingDays(days) => format!("within {days} working days"),
        }
    }

    /// The last day for an application on `on`.
    pub fn last_day(self, on: NaiveDate) -> NaiveDate {
        match self {
            Self::SameDay => on,
            Self::DayAfter => add_days(on, 1),
            Self::Days(days) => add_days(on, days),
            Self::WorkingDays(days) => working_days_after(on, days),
        }
    }
}

/// What one state, or federal law, asks of records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RecordRule {
    /// Two-letter code; `US` for federal law.
    pub state: &'static str,
    /// Only for restricted-use products?
    pub restricted_only: bool,
    /// What the record must hold, in the rule's own parts.
    pub elements: &'static [Element],
    /// Where that is written.
    pub source: &'static str,
    /// How far it was checked.
    pub mark: Mark,
    /// By when it must be written, and how far that was checked.
    pub by: Option<(By, Mark)>,
    /// Years to keep it, and how far that was checked.
    pub keep: Option<(u32, Mark)>,
}

impl RecordRule {
    /// The fields that a record itself must hold.
    pub fn fields(&self) -> impl Iterator<Item = Field> + use<> {
        let elements: &'static [Element] = self.elements;
        elements
            .iter()
            .flat_map(|element| match element.kept {
                Kept::Record(fields) => fields,
                Kept::Label | Kept::Company | Kept::Outside(_) => &[],
            })
            .copied()
    }

    /// Does it ask for this field?
    pub fn asks(&self, field: Field) -> bool {
        self.fields().any(|one| one == field)
    }

    /// The parts that have no place in a record here, each with where it is kept instead.
    pub fn outside(&self) -> impl Iterator<Item = (&'static str, &'static str)> + use<> {
        let elements: &'static [Element] = self.elements;
        elements.iter().filter_map(|element| match element.kept {
            Kept::Outside(instead) => Some((element.words, instead)),
            Kept::Record(_) | Kept::Label | Kept::Company => None,
        })
    }
}

/// Something that a record lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Missing {
    /// What.
    pub field: Field,
    /// The rule that asks for it.
    pub source: &'static str,
    /// How far it was checked.
    pub mark: Mark,
}

/// A date that a rule sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RuleDate {
    /// The day.
    pub day: NaiveDate,
    /// The rule that sets it.
    pub source: &'static str,
    /// How far it was checked.
    pub mark: Mark,
}

/// The rules on a record of that state: the state's own, and federal law for
/// restricted-use products. Empty: no rule of that state is known here.
pub fn rules_for(state: &str, restricted_use: bool) -> Vec<&'static RecordRule> {
    let own = filing::find(state).filter(|one| one.code != FEDERAL.code).map(|one| &one.record);
    let federal = filing::find(FEDERAL.code).map(|one| &one.record);
    own.into_iter().chain(federal).filter(|rule| restricted_use || !rule.restricted_only).collect()
}

/// What a record lacks, by every rule that asks for it; each field once, with
/// the first rule that names it.
pub fn missing(state: &str, restricted_use: bool, present: &BTreeSet<Field>) -> Vec<Missing> {
    let mut found: Vec<Missing> = Vec::new();
    for rule in rules_for(state, restricted_use) {
        for field in rule.fields().filter(|field| !present.contains(field)) {
            if !found.iter().any(|one| one.field == field) {
                found.push(Missing { field, source: rule.source, mark: rule.mark });
            }
        }
    }
    found
}

/// The last day on which the record may be written; none: no rule known here
/// states one, and the house rule (the same day) stands alone.
pub fn record_by(state: &str, restricted_use: bool, on: NaiveDate) -> Option<RuleDate> {
    let dates = rules_for(state, restricted_use).into_iter().filter_map(|rule| {
        let (by, mark) = rule.by?;
        Some(RuleDate { day: by.last_day(on), source: rule.source, mark })
    });
    dates.min_by_key(|date| date.day)
}

/// The first day on which the law no longer asks for the record; nothing is
/// ever deleted for that reason. None: no rule known here states one.
pub fn keep_until(state: &str, restricted_use: bool, on: NaiveDate) -> Option<RuleDate> {
    // Of equal dates the last is taken: turned round, that is the state's own.
    let dates = rules_for(state, restricted_use).into_iter().rev().filter_map(|rule| {
        let (years, mark) = rule.keep?;
        Some(RuleDate { day: years_after(on, years), source: rule.source, mark })
    });
    dates.max_by_key(|date| date.day)
}

/// The day until which the company keeps the record.
pub fn house_keep_until(on: NaiveDate) -> NaiveDate {
    years_after(on, HOUSE_YEARS)
}

/// The same day so many years later; 29 February falls on 1 March of a common
/// year, so that nothing may go a day early.
fn years_after(on: NaiveDate, years: u32) -> NaiveDate {
    let clamped = add_months(on, years.saturating_mul(12));
    if clamped.day() == on.day() { clamped } else { add_days(clamped, 1) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_leap_day_is_kept_to_the_first_of_march() {
        assert_eq!(years_after(day("2024-02-29"), 3), day("2027-03-01"));
        assert_eq!(years_after(day("2024-02-29"), 4), day("2028-02-29"));
        assert_eq!(years_after(day("2026-05-15"), 7), day("2033-05-15"));
    }

    #[test]
    fn the_house_rule_outlasts_every_state() {
        for one in filing::ALL {
            let (years, _) = one.record.keep.unwrap_or((0, Mark::Checked));
            assert!(years <= HOUSE_YEARS, "{}", one.name);
        }
    }

    #[test]
    fn an_unknown_state_asks_nothing_that_we_know_of() {
        assert!(missing("KS", false, &BTreeSet::new()).is_empty());
        assert_eq!(record_by("KS", false, day("2026-05-15")), None);
        assert!(!missing("KS", true, &BTreeSet::new()).is_empty());
    }

    #[test]
    fn each_missing_field_is_named_once() {
        let mut fields: Vec<Field> =
            missing("FL", true, &BTreeSet::new()).iter().map(|one| one.field).collect();
        let all = fields.len();
        fields.sort_unstable();
        fields.dedup();
        assert_eq!(fields.len(), all);
    }
}
