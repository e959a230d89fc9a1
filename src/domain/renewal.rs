//! Whether a site's treatment is renewed: where each one stands, and how many were.

use super::calendar::{add_days, sub_days};
use super::quantity::Exact;
use chrono::{Datelike, NaiveDate};
use num_bigint::BigInt;
use std::collections::BTreeMap;

/// Why a renewal was declined: code and words.
pub const REASONS: [(&str, &str); 9] = [
    ("price", "The price"),
    ("moving", "Moving away, or the house is sold"),
    ("by-themselves", "Does it without a company"),
    ("other-company", "Another company does it"),
    ("plants-gone", "The plants are gone"),
    ("not-content", "Not content with the work"),
    ("no-chemicals", "Wants no such products"),
    ("other", "Something else"),
    ("not-said", "Did not say"),
];

/// A renewal comes into sight so many days before it is due. A default of this house.
pub const SIGHT_DAYS: u32 = 60;

/// A treatment counts as renewed when one follows up to so many days after its protection ended. A default of this
/// house: by then nobody is late by accident.
pub const GRACE_DAYS: u32 = 60;

/// The answer that counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// Yes.
    Accepted,
    /// Yes, on that day.
    OtherDay(NaiveDate),
    /// No, with the code of the reason.
    Declined(String),
}

/// What is known of a site.
#[derive(Debug, Clone)]
pub struct Known {
    /// First day on which one of its plants is due.
    pub renewal_on: NaiveDate,
    /// When the last of its plants loses its protection.
    pub protected_until: Option<NaiveDate>,
    /// The newest answer since the last treatment, unless it was taken back.
    pub answer: Option<Answer>,
    /// The last reminder since the last treatment.
    pub reminded_on: Option<NaiveDate>,
    /// A visit that is booked.
    pub booked_on: Option<NaiveDate>,
}

/// Where a renewal stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stand {
    /// Due later than it comes into sight.
    NotYet,
    /// Due, and nobody has written.
    DueToLapse,
    /// Reminded that day; no answer yet.
    Reminded(NaiveDate),
    /// Another day is wished.
    OtherDay(NaiveDate),
    /// Accepted; no visit is booked yet.
    Accepted,
    /// A visit is booked for that day.
    Booked(NaiveDate),
    /// Declined, with the code of the reason.
    Declined(String),
    /// The protection ended so long ago that nobody waits for an answer.
    Lost(NaiveDate),
}

impl Stand {
    /// For sums and headings.
    #[must_use]
    pub fn group(&self) -> Group {
        match self {
            Self::NotYet => Group::Later,
            Self::DueToLapse | Self::Reminded(_) | Self::OtherDay(_) => Group::Open,
            Self::Accepted | Self::Booked(_) => Group::Accepted,
            Self::Declined(_) => Group::Declined,
            Self::Lost(_) => Group::Lost,
        }
    }
}

/// What several stands have in common.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// Money at stake.
    Open,
    /// Said yes.
    Accepted,
    /// Said no.
    Declined,
    /// Said nothing.
    Lost,
    /// Not in sight yet.
    Later,
}

/// Where the renewal of a site stands today. A booked visit and an answer count before silence; silence is lost
/// once the protection of every plant ended more than [`GRACE_DAYS`] ago.
#[must_use]
pub fn stand(known: &Known, today: NaiveDate) -> Stand {
    match (&known.answer, known.booked_on) {
        (Some(Answer::Declined(reason)), None) => return Stand::Declined(reason.clone()),
        (_, Some(day)) => return Stand::Booked(day),
        (Some(Answer::Accepted), None) => return Stand::Accepted,
        (Some(Answer::OtherDay(day)), None) => return Stand::OtherDay(*day),
        (None, None) => {}
    }
    if let Some(ended) = known.protected_until
        && add_days(ended, GRACE_DAYS) < today
    {
        return Stand::Lost(ended);
    }
    if sub_days(known.renewal_on, SIGHT_DAYS) > today {
        return Stand::NotYet;
    }
    known.reminded_on.map_or(Stand::DueToLapse, Stand::Reminded)
}

/// A treatment whose protection has an end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Treatment {
    /// Who did it.
    pub technician: String,
    /// When its protection ends.
    pub protected_until: NaiveDate,
    /// The next treatment of one of its plants, whenever.
    pub next_on: Option<NaiveDate>,
}

/// What became of treatments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Followed by another in time.
    pub renewed: u32,
    /// Not followed in time.
    pub lost: u32,
    /// There is still time.
    pub open: u32,
}

impl Counts {
    /// Renewed of those that are decided, in per cent; none while nothing is decided.
    #[must_use]
    pub fn rate(&self) -> Option<Exact> {
        let decided = self.renewed + self.lost;
        (decided > 0).then(|| Exact::new(BigInt::from(self.renewed) * 100, BigInt::from(decided)))
    }

    fn count(&mut self, one: &Treatment, today: NaiveDate) {
        let last = add_days(one.protected_until, GRACE_DAYS);
        match one.next_on {
            Some(next) if next <= last => self.renewed += 1,
            _ if last < today => self.lost += 1,
            _ => self.open += 1,
        }
    }
}

/// A year, everybody's counts, and those of each technician.
pub type YearCounts = (i32, Counts, Vec<(String, Counts)>);

/// By the year in which the protection ended, the newest year first, then by technician in the order of their names.
#[must_use]
pub fn by_year_and_technician(treatments: &[Treatment], today: NaiveDate) -> Vec<YearCounts> {
    let mut years: BTreeMap<i32, (Counts, BTreeMap<String, Counts>)> = BTreeMap::new();
    for one in treatments {
        let (year, people) = years.entry(one.protected_until.year()).or_default();
        year.count(one, today);
        people.entry(one.technician.clone()).or_default().count(one, today);
    }
    years.into_iter().rev().map(|(year, (all, people))| (year, all, people.into_iter().collect())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::quantity::fixed_half_up;
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn known() -> Known {
        Known {
            renewal_on: day("2026-12-11"),
            protected_until: Some(day("2026-12-25")),
            answer: None,
            reminded_on: None,
            booked_on: None,
        }
    }

    #[test]
    fn silence_goes_from_not_yet_to_lost() {
        for (today, stands) in [
            ("2026-10-11", Stand::NotYet),
            ("2026-10-12", Stand::DueToLapse),
            ("2027-02-23", Stand::DueToLapse),
            ("2027-02-24", Stand::Lost(day("2026-12-25"))),
        ] {
            assert_eq!(stand(&known(), day(today)), stands, "{today}");
        }
        let reminded = Known { reminded_on: Some(day("2026-11-01")), ..known() };
        assert_eq!(stand(&reminded, day("2026-11-25")), Stand::Reminded(day("2026-11-01")));
        let never = Known { protected_until: None, ..known() };
        assert_eq!(stand(&never, day("2030-01-01")), Stand::DueToLapse, "what never was is not lost");
    }

    #[test]
    fn an_answer_counts_before_silence_and_a_booking_before_an_answer() {
        let late = day("2027-06-01");
        let with = |answer: Answer| Known { answer: Some(answer), ..known() };
        assert_eq!(stand(&with(Answer::Accepted), late), Stand::Accepted);
        assert_eq!(stand(&with(Answer::OtherDay(late)), late), Stand::OtherDay(late));
        assert_eq!(stand(&with(Answer::Declined("price".into())), late), Stand::Declined("price".into()));
        let booked = Known { booked_on: Some(late), ..with(Answer::Declined("price".into())) };
        assert_eq!(stand(&booked, late), Stand::Booked(late), "whoever is visited has not declined");
    }

    #[test]
    fn a_treatment_is_renewed_lost_or_open() {
        let one = |until: &str, next: Option<&str>, who: &str| Treatment {
            technician: who.into(),
            protected_until: day(until),
            next_on: next.map(day),
        };
        let all = [
            one("2025-06-01", Some("2025-05-20"), "Ines"),
            one("2025-06-01", Some("2025-07-31"), "Ines"),
            one("2025-06-01", Some("2025-08-01"), "Dario"),
            one("2025-06-01", None, "Dario"),
            one("2026-10-01", None, "Ines"),
            one("2026-09-25", None, "Ines"),
        ];
        let years = by_year_and_technician(&all, day("2026-11-25"));
        assert_eq!(years.iter().map(|(year, ..)| *year).collect::<Vec<_>>(), [2026, 2025]);
        // 60 days after 2025-06-01 is 2025-07-31; after 2026-09-25 it is 2026-11-24.
        assert_eq!(years[1].1, Counts { renewed: 2, lost: 2, open: 0 });
        assert_eq!(years[0].1, Counts { renewed: 0, lost: 1, open: 1 });
        assert_eq!(years[1].2[0], ("Dario".into(), Counts { renewed: 0, lost: 2, open: 0 }));
        assert_eq!(fixed_half_up(&years[1].1.rate().unwrap(), 1), "50.0");
        assert_eq!(Counts { open: 3, ..Counts::default() }.rate(), None, "nothing is decided");
    }
}
