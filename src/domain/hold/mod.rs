//! The rules that may forbid a dose on a day.
//!
//! Each rule is turned into the spans of days that it forbids ([`bars`]), so
//! the earliest allowed day is a sweep over spans and not a search day by day.
//! [`words`] says in plain words why a rule holds on a day.

mod bars;
mod repeats;
mod words;

pub use bars::{Bar, bars, cap_spans};
pub use repeats::{Repeat, repeat_cautions, repeats};
pub use words::{cautions, words};

use super::cap::{Poured, Substance};
use super::facts::{PlantFacts, SiteFacts};
use super::label::{Product, Use};
use super::permission::{Applicator, Question};
use super::quantity::Exact;
use chrono::NaiveDate;

/// A rule that may hold a dose back, in the order in which they are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// An annual cap.
    Cap,
    /// Days between two applications of the product to a plant.
    MinInterval,
    /// Applications of the product to a plant in any twelve months.
    MaxPerYear,
    /// The label's season.
    Season,
    /// The plant blooms.
    Bloom,
    /// A rule of the state.
    Permission,
    /// Nobody licensed has signed the label entry.
    LabelUnsigned,
    /// A cap cannot be checked, because no area is known.
    AreaUnknown,
    /// People eat from the plant, or may, and the use does not cover that.
    FoodPlant,
    /// The label excludes the host plant.
    HostExcluded,
    /// The rate lies outside the label's band.
    RateBand,
    /// The product is not registered in the state that day.
    NotRegistered,
    /// The harvest is nearer than the label's pre-harvest interval.
    PreHarvest,
    /// Too soon after another use of the same mode of action.
    GroupRepeat,
}

impl Rule {
    /// Every rule, in the order in which they are listed.
    pub const ALL: [Self; 14] = [
        Self::Cap,
        Self::MinInterval,
        Self::MaxPerYear,
        Self::Season,
        Self::Bloom,
        Self::Permission,
        Self::LabelUnsigned,
        Self::AreaUnknown,
        Self::FoodPlant,
        Self::HostExcluded,
        Self::RateBand,
        Self::NotRegistered,
        Self::PreHarvest,
        Self::GroupRepeat,
    ];

    /// The code used in JSON and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::Cap => "cap",
            Self::MinInterval => "min-interval",
            Self::MaxPerYear => "max-per-year",
            Self::Season => "season",
            Self::Bloom => "bloom",
            Self::Permission => "permission",
            Self::LabelUnsigned => "label-unsigned",
            Self::AreaUnknown => "area-unknown",
            Self::NotRegistered => "not-registered",
            Self::PreHarvest => "pre-harvest",
            Self::GroupRepeat => "group-repeat",
            Self::FoodPlant => "food-plant",
            Self::HostExcluded => "host-excluded",
            Self::RateBand => "rate-band",
        }
    }

    /// The rule of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|rule| rule.code() == code)
    }
}

/// One dose of one product, asked for; for one plant, or for other ground.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// The land.
    pub site: &'a SiteFacts,
    /// Who would apply.
    pub applicator: &'a Applicator,
    /// The plant; none: another use on the same land.
    pub plant: Option<&'a PlantFacts>,
    /// The product.
    pub product: &'a Product,
    /// The use it follows, where one is known.
    pub item: Option<&'a Use>,
    /// The dose.
    pub poured: Poured<'a>,
    /// The ledgers, with all facts and all reservations made so far.
    pub substances: &'a [Substance],
    /// Days on which the plant got the same product.
    pub past: &'a [NaiveDate],
    /// Days on which the plant is booked for the same product.
    pub booked: &'a [NaiveDate],
    /// Uses of the plant whose mode of action this dose repeats.
    pub repeats: &'a [Repeat],
}

impl<'a> Case<'a> {
    /// The bound substances that the dose holds, with how much of each.
    fn bound(&self) -> impl Iterator<Item = (&'a Substance, Exact)> + use<'a> {
        let poured = self.poured;
        self.substances.iter().filter_map(move |substance| Some((substance, substance.held(&poured)?)))
    }

    /// Is the plant in bloom on that day, as far as is known?
    pub fn in_bloom(&self, day: NaiveDate) -> bool {
        self.plant.is_some_and(|plant| plant.in_bloom || plant.bloom.iter().any(|span| span.holds(day)))
    }

    /// The question that is put to the state's rules about one ingredient.
    fn question<'q>(&'q self, state: &'q str, ingredient: &'q str, day: NaiveDate) -> Question<'q> {
        Question {
            rules: &self.site.rules,
            state,
            places: [self.site.county.as_deref(), self.site.municipality.as_deref()],
            agricultural: self.site.agricultural,
            ingredient,
            method: self.item.map(|item| item.method.as_str()),
            pest: self.plant.and_then(|plant| plant.pest.as_deref()),
            listed_pests: &self.site.listed_pests,
            host: self.plant.and_then(|plant| plant.host.as_deref()),
            in_bloom: self.in_bloom(day),
            applicator: self.applicator,
            exemptions: &self.site.exemptions,
        }
    }
}
