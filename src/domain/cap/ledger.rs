//! Sums of dated amounts over windows, exact and without scanning days.

use crate::domain::calendar::{add_days, limit_end, limit_start, sub_days, year_end, year_start};
use crate::domain::quantity::Exact;
use chrono::{Datelike, NaiveDate};
use num_bigint::BigInt;
use num_traits::{One, Signed, Zero};

/// A run of days, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub to: NaiveDate,
}

impl Span {
    /// Is `day` within it?
    pub fn holds(&self, day: NaiveDate) -> bool {
        self.from <= day && day <= self.to
    }

    /// Do the two share a day?
    pub fn meets(&self, other: &Self) -> bool {
        self.from <= other.to && other.from <= self.to
    }
}

/// Which days count together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Those of one calendar year.
    Calendar,
    /// Those of any twelve months.
    Rolling,
}

impl Basis {
    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Calendar => "a calendar year",
            Self::Rolling => "any 12 months",
        }
    }

    /// The window that is looked back on from `today`.
    pub fn window_of(self, today: NaiveDate) -> Span {
        match self {
            Self::Calendar => Span { from: year_start(today), to: year_end(today) },
            Self::Rolling => Span { from: limit_start(today), to: today },
        }
    }
}

/// Dated amounts of one thing, sorted by day. They are kept as whole numbers
/// of a common fraction, so that sums are cheap and still exact.
#[derive(Debug, Clone)]
pub struct Ledger {
    scale: BigInt,
    entries: Vec<(NaiveDate, BigInt)>,
}

impl Default for Ledger {
    fn default() -> Self {
        Self { scale: BigInt::one(), entries: Vec::new() }
    }
}

impl Ledger {
    /// Adds an amount on a day.
    pub fn add(&mut self, on: NaiveDate, amount: &Exact) {
        let scaled = amount * &self.scale;
        if !scaled.denom().is_one() {
            let finer = scaled.denom().clone();
            self.scale *= &finer;
            self.entries.iter_mut().for_each(|(_, units)| *units *= &finer);
        }
        let units = (amount * &self.scale).to_integer();
        let at = self.entries.partition_point(|(day, _)| *day <= on);
        self.entries.insert(at, (on, units));
    }

    /// Takes away an amount that was added on that day.
    pub fn remove(&mut self, on: NaiveDate, amount: &Exact) {
        let scaled = amount * &self.scale;
        let same = |(day, units): &(NaiveDate, BigInt)| *day == on && *units == *scaled.numer();
        if scaled.denom().is_one()
            && let Some(at) = self.entries.iter().position(same)
        {
            self.entries.remove(at);
        }
    }

    /// The sum of a span.
    pub fn sum(&self, span: Span) -> Exact {
        let within = self.entries.iter().filter(|(day, _)| span.holds(*day));
        Exact::new(within.map(|(_, units)| units).sum(), self.scale.clone())
    }

    /// The days within `range` that lie in a window whose sum is above `room`.
    ///
    /// A run of entries whose sum is above `room`, and that all share a window,
    /// bars exactly the days that share a window with the first and the last
    /// of them. For each first entry the shortest such run bars the most.
    pub fn barred(&self, basis: Basis, room: &Exact, range: Span) -> Vec<Span> {
        if room.is_negative() {
            return vec![range];
        }
        // Sums are whole numbers of the scale: the part below one is no room.
        let room = (room * &self.scale).floor().to_integer();
        let spans = match basis {
            Basis::Calendar => self.full_years(&room),
            Basis::Rolling => self.full_runs(&room),
        };
        spans.into_iter().filter(|span| span.meets(&range)).collect()
    }

    fn full_years(&self, room: &BigInt) -> Vec<Span> {
        let years = self.entries.chunk_by(|(a, _), (b, _)| a.year() == b.year());
        let full = years.filter(|year| year.iter().map(|(_, units)| units).sum::<BigInt>() > *room);
        full.map(|year| Basis::Calendar.window_of(year[0].0)).collect()
    }

    fn full_runs(&self, room: &BigInt) -> Vec<Span> {
        let mut spans = Vec::new();
        let mut sum = BigInt::zero();
        let mut next = 0;
        for (first, units) in &self.entries {
            while sum <= *room && next < self.entries.len() {
                sum += &self.entries[next].1;
                next += 1;
            }
            if sum <= *room {
                break;
            }
            let last = self.entries[next - 1].0;
            if last < limit_end(*first) {
                spans.push(Span { from: limit_start(last), to: sub_days(limit_end(*first), 1) });
            }
            sum -= units;
        }
        spans
    }

    /// Of all windows that hold `day`, the one with the largest sum.
    pub fn fullest_window(&self, basis: Basis, day: NaiveDate) -> (Span, Exact) {
        if basis == Basis::Calendar {
            let window = basis.window_of(day);
            return (window, self.sum(window));
        }
        let earliest = limit_start(day);
        let first = self.entries.partition_point(|(on, _)| *on < earliest);
        let starts = self.entries[first..].iter().take_while(|(on, _)| *on <= day);
        let mut best = (day, BigInt::zero());
        let mut sum = BigInt::zero();
        let mut next = first;
        // The last start is the day itself, with nothing of its own to leave.
        let nothing = BigInt::zero();
        for (from, leaves) in starts.map(|(on, units)| (*on, units)).chain([(day, &nothing)]) {
            while self.entries.get(next).is_some_and(|(on, _)| *on < limit_end(from)) {
                sum += &self.entries[next].1;
                next += 1;
            }
            if sum > best.1 {
                best = (from, sum.clone());
            }
            sum -= leaves;
        }
        let window = Span { from: best.0, to: sub_days(limit_end(best.0), 1) };
        (window, Exact::new(best.1, self.scale.clone()))
    }
}

/// The first day of `range` that no span holds.
pub fn first_free(range: Span, spans: &[Span]) -> Option<NaiveDate> {
    let mut sorted: Vec<&Span> = spans.iter().filter(|span| span.to >= range.from).collect();
    sorted.sort_by_key(|span| span.from);
    let mut day = range.from;
    for span in sorted {
        if span.from > day {
            break;
        }
        if span.to >= day {
            day = add_days(span.to, 1);
        }
    }
    (day <= range.to).then_some(day)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::quantity::parse;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn ledger(entries: &[(&str, &str)]) -> Ledger {
        let mut ledger = Ledger::default();
        entries.iter().for_each(|(on, amount)| ledger.add(day(on), &parse(amount).unwrap()));
        ledger
    }

    fn span(from: &str, to: &str) -> Span {
        Span { from: day(from), to: day(to) }
    }

    const ALWAYS: Span = Span { from: NaiveDate::MIN, to: NaiveDate::MAX };

    #[test]
    fn a_run_bars_the_days_that_share_a_window_with_its_ends() {
        let ledger = ledger(&[("2025-11-01", "0.2"), ("2026-02-01", "0.2")]);
        let barred = ledger.barred(Basis::Rolling, &parse("0.3").unwrap(), ALWAYS);
        assert_eq!(barred, [span("2025-02-02", "2026-10-31")]);
        assert!(ledger.barred(Basis::Rolling, &parse("0.4").unwrap(), ALWAYS).is_empty());
        assert!(ledger.barred(Basis::Calendar, &parse("0.2").unwrap(), ALWAYS).is_empty());
    }

    #[test]
    fn amounts_of_any_fraction_come_and_go() {
        let mut ledger = ledger(&[("2026-01-01", "0.1")]);
        let third = Exact::new(1.into(), 3.into());
        ledger.add(day("2026-01-01"), &third);
        ledger.add(day("2025-01-01"), &third);
        assert_eq!(ledger.sum(ALWAYS), parse("0.1").unwrap() + &third + &third);
        ledger.remove(day("2026-01-01"), &third);
        ledger.remove(day("2026-01-02"), &third);
        assert_eq!(ledger.sum(ALWAYS), parse("0.1").unwrap() + third);
    }

    #[test]
    fn the_fullest_window_may_lie_ahead() {
        let ledger = ledger(&[("2025-03-01", "1"), ("2026-02-01", "2"), ("2026-05-01", "4")]);
        let (window, sum) = ledger.fullest_window(Basis::Rolling, day("2026-02-10"));
        assert_eq!((window, sum), (span("2026-02-01", "2027-01-31"), parse("6").unwrap()));
    }

    #[test]
    fn the_first_free_day_is_found_between_spans() {
        let range = span("2026-01-01", "2026-12-31");
        let spans = [span("2026-01-05", "2026-02-01"), span("2025-01-01", "2026-01-04")];
        assert_eq!(first_free(range, &spans), Some(day("2026-02-02")));
        assert_eq!(first_free(range, &[range]), None);
        assert_eq!(first_free(range, &[]), Some(range.from));
    }
}
