//! Papers that the company keeps, how each stands, and what is warned about.

use super::calendar::{add_months, sub_days};
use super::quantity::Exact;
use chrono::NaiveDate;

/// What kind of paper it is. Certifications and courses are kept with the person who holds them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Liability insurance: insurer, policy, dollars, first and last day.
    Insurance,
    /// A purchase of a restricted-use product: dealer and licence, product, amount, day.
    RestrictedPurchase,
    /// Training of those who handle products.
    HandlerTraining,
    /// The labels gone through with the staff.
    LabelReview,
    /// Training units towards the renewal of a certification.
    TrainingUnits,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 5] = [
        Self::Insurance,
        Self::RestrictedPurchase,
        Self::HandlerTraining,
        Self::LabelReview,
        Self::TrainingUnits,
    ];

    /// The code used in the database and in addresses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Insurance => "insurance",
            Self::RestrictedPurchase => "restricted-purchase",
            Self::HandlerTraining => "handler-training",
            Self::LabelReview => "label-review",
            Self::TrainingUnits => "training-units",
        }
    }

    /// The kind of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }

    /// As a heading.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Insurance => "Insurance",
            Self::RestrictedPurchase => "Purchase of a restricted-use product",
            Self::HandlerTraining => "Handler training",
            Self::LabelReview => "Label review with staff",
            Self::TrainingUnits => "Training units",
        }
    }

    /// Whether people took part in it.
    #[must_use]
    pub fn is_training(self) -> bool {
        matches!(self, Self::HandlerTraining | Self::LabelReview)
    }
}

/// At most so many people work under one certified applicator: 333 CMR 10.07, Massachusetts, read at the source.
/// Other states are not known here.
pub const SUPERVISED_MOST: u32 = 12;

/// The last day on which a training counts: it is held every year (333 CMR 10.07 for the review of labels in
/// Massachusetts; elsewhere a default of this house, unverified).
#[must_use]
pub fn training_counts_until(held_on: NaiveDate) -> NaiveDate {
    sub_days(add_months(held_on, 12), 1)
}

/// How a paper with a last day stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Its last day is past.
    Lapsed,
    /// Its last day is near.
    Soon,
    /// It holds.
    Good,
}

/// How a paper stands today; its last day still counts. It is near from `warn_days` before.
#[must_use]
pub fn standing(last_day: NaiveDate, today: NaiveDate, warn_days: u32) -> Standing {
    match last_day {
        last if last < today => Standing::Lapsed,
        last if sub_days(last, warn_days) <= today => Standing::Soon,
        _ => Standing::Good,
    }
}

/// Training units towards a renewal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Units {
    /// Earned while the certification held.
    pub earned: Exact,
    /// Asked for; none: nobody has said.
    pub needed: Option<Exact>,
}

impl Units {
    /// What is still to be earned; none where it is not known or nothing is left.
    #[must_use]
    pub fn missing(&self) -> Option<Exact> {
        let needed = self.needed.as_ref()?;
        (self.earned < *needed).then(|| needed - &self.earned)
    }
}

#[cfg(test)]
mod tests {
    use super::super::quantity::parse;
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn the_last_day_still_counts_and_the_warning_begins_so_many_days_before() {
        let last = day("2026-12-31");
        for (today, stands) in [
            ("2026-10-31", Standing::Good),
            ("2026-11-01", Standing::Soon),
            ("2026-12-31", Standing::Soon),
            ("2027-01-01", Standing::Lapsed),
        ] {
            assert_eq!(standing(last, day(today), 60), stands, "{today}");
        }
    }

    #[test]
    fn a_training_counts_for_a_year_less_a_day() {
        assert_eq!(training_counts_until(day("2026-03-03")), day("2027-03-02"));
        assert_eq!(training_counts_until(day("2028-02-29")), day("2029-02-27"));
    }

    #[test]
    fn units_that_nobody_asked_for_are_not_missing() {
        let units = |earned: &str, needed: Option<&str>| Units {
            earned: parse(earned).unwrap(),
            needed: needed.map(|n| parse(n).unwrap()),
        };
        assert_eq!(units("12.5", Some("20")).missing(), Some(parse("7.5").unwrap()));
        assert_eq!(units("20", Some("20")).missing(), None);
        assert_eq!(units("0", None).missing(), None);
        for kind in Kind::ALL {
            assert_eq!(Kind::from_code(kind.code()), Some(kind));
        }
    }
}
