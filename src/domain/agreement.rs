//! What a customer has agreed to pay, and what the next treatment costs.
//!
//! A site has one agreement at a time, and a plant of it may have one of its own that holds instead. Each prices
//! by the foot of height, by the inch of trunk, by the plant, by the visit or by the year. An agreement runs in
//! years from its first day until it is ended. This is neither tax nor accounting: what has been paid is for
//! whoever keeps the books.

use super::calendar::{add_months, sub_days};
use super::label::MeasureBasis;
use super::money::Money;
use super::plant::Measure;
use super::quantity::Exact;
use chrono::{Datelike, NaiveDate};
use num_bigint::BigInt;
use serde::Serialize;

/// What the price is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PriceBasis {
    /// A foot of height of each plant.
    Foot,
    /// An inch of trunk diameter of each plant.
    Inch,
    /// Each plant, whatever its size.
    Plant,
    /// The visit, whatever is treated.
    Visit,
    /// A year of the agreement, whatever is treated in it.
    Year,
}

/// A code that names no basis.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("unknown basis of a price {0:?}")]
pub struct UnknownBasis(pub String);

impl PriceBasis {
    /// Every basis.
    pub const ALL: [Self; 5] = [Self::Foot, Self::Inch, Self::Plant, Self::Visit, Self::Year];

    /// The code used in the database and in forms.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Foot => "foot",
            Self::Inch => "inch",
            Self::Plant => "plant",
            Self::Visit => "visit",
            Self::Year => "year",
        }
    }

    /// The basis of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|basis| basis.code() == code)
    }

    /// After "per": `foot of height`, `visit`.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Foot => "foot of height",
            Self::Inch => "inch of trunk",
            Self::Plant => "plant",
            Self::Visit => "visit",
            Self::Year => "year",
        }
    }

    /// Whether it is one sum for everything under the agreement.
    #[must_use]
    pub fn is_whole(self) -> bool {
        matches!(self, Self::Visit | Self::Year)
    }
}

impl TryFrom<String> for PriceBasis {
    type Error = UnknownBasis;
    fn try_from(code: String) -> Result<Self, UnknownBasis> {
        Self::from_code(&code).ok_or(UnknownBasis(code))
    }
}

/// The terms of one agreement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms {
    /// What the price is for.
    pub basis: PriceBasis,
    /// US dollars for one of the basis.
    pub price: Exact,
    /// First day.
    pub starts_on: NaiveDate,
    /// Last day; none: from year to year.
    pub ends_on: Option<NaiveDate>,
}

impl Terms {
    /// Whether it holds that day; first and last day count.
    #[must_use]
    pub fn holds_on(&self, day: NaiveDate) -> bool {
        self.starts_on <= day && self.ends_on.is_none_or(|end| day <= end)
    }

    /// First and last day of the year of the agreement in which that day lies, counted from its first day; none
    /// before it begins. A year that began on February 29 begins on the 28th where there is none.
    #[must_use]
    pub fn year_of(&self, day: NaiveDate) -> Option<(NaiveDate, NaiveDate)> {
        if day < self.starts_on {
            return None;
        }
        let years = u32::try_from(day.year() - self.starts_on.year()).ok()?;
        let begins = |years: u32| add_months(self.starts_on, years * 12);
        let whole = if begins(years) <= day { years } else { years.checked_sub(1)? };
        Some((begins(whole), sub_days(begins(whole + 1), 1)))
    }
}

/// A plant record that is to be priced.
#[derive(Debug, Clone)]
pub struct Work<'a> {
    /// So many alike plants.
    pub count: u32,
    /// What was measured of each.
    pub measure: &'a Measure,
    /// Its own agreement in force that day.
    pub own: Option<&'a Terms>,
}

/// Why a price cannot be told. It is unknown, not zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unpriced {
    /// Neither the plant nor its site has an agreement that day.
    #[error("no price is agreed")]
    NoAgreement,
    /// The price is by the foot.
    #[error("the price is by the foot and no height is measured")]
    NoHeight,
    /// The price is by the inch.
    #[error("the price is by the inch and no trunk is measured")]
    NoTrunk,
}

/// What one plant record costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlantPrice {
    /// So much for all of its plants.
    Amount {
        /// What the price is for.
        basis: PriceBasis,
        /// Dollars for one of the basis.
        price: Exact,
        /// How many of the basis: feet, inches or plants of all alike ones together; one visit, one year.
        times: Exact,
        /// Rounded to the cent.
        amount: Money,
    },
    /// It lies within the one sum for the site.
    Within(PriceBasis),
    /// Nobody can say.
    Unknown(Unpriced),
}

/// What a treatment costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quote {
    /// One for each plant record, in the order given.
    pub plants: Vec<PlantPrice>,
    /// The site's one sum, where it has one and a plant lies within it.
    pub whole: Option<(PriceBasis, Money)>,
    /// What is known so far.
    pub known: Money,
    /// The whole price; none while a part of it is unknown.
    pub total: Option<Money>,
}

/// The price of treating these plants once, under the site's agreement in force that day. Nothing to treat costs
/// nothing known: the total is none.
#[must_use]
pub fn quote(site: Option<&Terms>, work: &[Work<'_>]) -> Quote {
    let plants: Vec<PlantPrice> = work.iter().map(|one| price_of(site, one)).collect();
    let within = plants.iter().any(|p| matches!(p, PlantPrice::Within(_)));
    let whole = site.filter(|_| within).map(|terms| (terms.basis, Money::rounded(&terms.price)));
    let parts = plants.iter().filter_map(|p| match p {
        PlantPrice::Amount { amount, .. } => Some(amount.clone()),
        PlantPrice::Within(_) | PlantPrice::Unknown(_) => None,
    });
    let known: Money = parts.chain(whole.iter().map(|(_, sum)| sum.clone())).sum();
    let complete = !plants.is_empty() && !plants.iter().any(|p| matches!(p, PlantPrice::Unknown(_)));
    Quote { total: complete.then(|| known.clone()), plants, whole, known }
}

fn price_of(site: Option<&Terms>, work: &Work<'_>) -> PlantPrice {
    let Some(terms) = work.own.or(site) else { return PlantPrice::Unknown(Unpriced::NoAgreement) };
    if work.own.is_none() && terms.basis.is_whole() {
        return PlantPrice::Within(terms.basis);
    }
    match times(terms.basis, work) {
        Ok(times) => {
            let (basis, price) = (terms.basis, terms.price.clone());
            let amount = Money::rounded(&(&price * &times));
            PlantPrice::Amount { basis, price, times, amount }
        }
        Err(why) => PlantPrice::Unknown(why),
    }
}

/// How many of the basis the plant record has.
///
/// # Errors
/// When what the price is for was not measured.
pub fn times(basis: PriceBasis, work: &Work<'_>) -> Result<Exact, Unpriced> {
    let count = Exact::from(BigInt::from(work.count));
    match basis {
        PriceBasis::Foot => {
            let height = work.measure.for_basis(MeasureBasis::HeightFt).ok_or(Unpriced::NoHeight)?;
            Ok(height * count)
        }
        PriceBasis::Inch => {
            let trunk = work.measure.for_basis(MeasureBasis::DiameterIn).ok_or(Unpriced::NoTrunk)?;
            Ok(trunk * count)
        }
        PriceBasis::Plant => Ok(count),
        PriceBasis::Visit | PriceBasis::Year => Ok(Exact::from(BigInt::from(1))),
    }
}

/// Plants that come due within so many days of the first are counted into one treatment; a choice of this house,
/// since one visit saves another.
pub const TOGETHER_DAYS: u32 = 30;

/// The day on which a site comes up for renewal: the first day on which one of its plants is due. Uptake time and
/// whatever the rules move are in the due days already.
#[must_use]
pub fn renewal_day(due: impl IntoIterator<Item = NaiveDate>) -> Option<NaiveDate> {
    due.into_iter().min()
}

#[cfg(test)]
mod tests;
