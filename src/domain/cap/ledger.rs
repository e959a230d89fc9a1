//! Sums of dated amounts over windows, exact and without scanning days.

use crate::domain::calendar::{add_days, limit_end, limit_start, sub_days, year_end, year_start};
use crate::domain::quantity::Exact;
use chrono::{Datelike, NaiveDate};
use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Signed, ToPrimitive, Zero};
use std::ops::{AddAssign, SubAssign};

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
    days: Vec<NaiveDate>,
    /// Of each day the first that no longer shares a twelve-month window with it.
    ends: Vec<NaiveDate>,
    units: Units,
}

/// Whole numbers: machine words as long as the sum of all fits, which it does
/// for anything that a person pours, else of any size.
#[derive(Debug, Clone)]
enum Units {
    /// No sum of absolute values passes `i128::MAX`.
    Small {
        units: Vec<i128>,
        total: i128,
    },
    Big(Vec<BigInt>),
}

impl Default for Ledger {
    fn default() -> Self {
        Self {
            scale: BigInt::one(),
            days: Vec::new(),
            ends: Vec::new(),
            units: Units::Small { units: Vec::new(), total: 0 },
        }
    }
}

impl Units {
    fn insert(&mut self, at: usize, value: BigInt) {
        if value.to_i128().is_none_or(|small| !self.insert_small(at, small)) {
            self.big().insert(at, value);
        }
    }

    /// Inserts a machine word where all are; whether it did.
    fn insert_small(&mut self, at: usize, value: i128) -> bool {
        let Self::Small { units, total } = self else { return false };
        let Some(sum) = value.checked_abs().and_then(|size| total.checked_add(size)) else { return false };
        units.insert(at, value);
        *total = sum;
        true
    }

    fn remove(&mut self, at: usize) {
        match self {
            Self::Small { units, total } => *total -= units.remove(at).abs(),
            Self::Big(units) => drop(units.remove(at)),
        }
    }

    fn is(&self, at: usize, value: &BigInt) -> bool {
        match self {
            Self::Small { units, .. } => value.to_i128() == Some(units[at]),
            Self::Big(units) => units[at] == *value,
        }
    }

    fn multiply(&mut self, factor: &BigInt) {
        if let Self::Small { units, total } = self
            && let Some((factor, sum)) = factor.to_i128().and_then(|f| Some((f, total.checked_mul(f.abs())?)))
        {
            units.iter_mut().for_each(|one| *one *= factor);
            *total = sum;
            return;
        }
        self.big().iter_mut().for_each(|one| *one *= factor);
    }

    fn big(&mut self) -> &mut Vec<BigInt> {
        if let Self::Small { units, .. } = self {
            *self = Self::Big(units.iter().map(|one| BigInt::from(*one)).collect());
        }
        match self {
            Self::Big(units) => units,
            Self::Small { .. } => unreachable!("it was turned into the other just now"),
        }
    }
}

/// What the sweeps below need of a whole number, a machine word or of any size.
trait Whole: Clone + Ord + Zero + for<'a> AddAssign<&'a Self> + for<'a> SubAssign<&'a Self> {}
impl Whole for i128 {}
impl Whole for BigInt {}

impl Ledger {
    /// Adds an amount on a day.
    pub fn add(&mut self, on: NaiveDate, amount: &Exact) {
        let at = self.days.partition_point(|day| *day <= on);
        self.days.insert(at, on);
        self.ends.insert(at, limit_end(on));
        if let Some(units) = self.in_words(amount)
            && self.units.insert_small(at, units)
        {
            return;
        }
        let (mut times, rest) = self.scale.div_rem(amount.denom());
        if !rest.is_zero() {
            let finer = amount.denom() / self.scale.gcd(amount.denom());
            self.scale *= &finer;
            self.units.multiply(&finer);
            times = &self.scale / amount.denom();
        }
        self.units.insert(at, amount.numer() * times);
    }

    /// The amount in the ledger's units, where all of it is machine words and the scale is fine enough.
    fn in_words(&self, amount: &Exact) -> Option<i128> {
        let (scale, denom) = (self.scale.to_i128()?, amount.denom().to_i128()?);
        if scale % denom != 0 {
            return None;
        }
        amount.numer().to_i128()?.checked_mul(scale / denom)
    }

    /// Takes away an amount that was added on that day.
    pub fn remove(&mut self, on: NaiveDate, amount: &Exact) {
        let (times, rest) = self.scale.div_rem(amount.denom());
        if !rest.is_zero() {
            return;
        }
        let units = amount.numer() * times;
        let first = self.days.partition_point(|day| *day < on);
        let same = (first..self.days.len()).take_while(|at| self.days[*at] == on);
        if let Some(at) = same.into_iter().find(|at| self.units.is(*at, &units)) {
            self.days.remove(at);
            self.ends.remove(at);
            self.units.remove(at);
        }
    }

    /// The sum of a span.
    pub fn sum(&self, span: Span) -> Exact {
        let from = self.days.partition_point(|day| *day < span.from);
        let to = self.days.partition_point(|day| *day <= span.to).max(from);
        let units = match &self.units {
            Units::Small { units, .. } => BigInt::from(units[from..to].iter().sum::<i128>()),
            Units::Big(units) => units[from..to].iter().sum(),
        };
        self.exact(units)
    }

    fn exact(&self, units: BigInt) -> Exact {
        if units.is_zero() { Exact::zero() } else { Exact::new(units, self.scale.clone()) }
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
        let room = (room.numer() * &self.scale).div_floor(room.denom());
        let mut spans = match &self.units {
            // Room beyond a machine word is beyond every sum in it.
            Units::Small { units, .. } => {
                room.to_i128().map(|room| self.full(basis, units, &room)).unwrap_or_default()
            }
            Units::Big(units) => self.full(basis, units, &room),
        };
        spans.retain(|span| span.meets(&range));
        spans
    }

    fn full<T: Whole>(&self, basis: Basis, units: &[T], room: &T) -> Vec<Span> {
        match basis {
            Basis::Calendar => self.full_years(units, room),
            Basis::Rolling => self.full_runs(units, room),
        }
    }

    fn full_years<T: Whole>(&self, units: &[T], room: &T) -> Vec<Span> {
        let mut spans = Vec::new();
        let mut first = 0;
        for year in self.days.chunk_by(|a, b| a.year() == b.year()) {
            let mut sum = T::zero();
            units[first..first + year.len()].iter().for_each(|one| sum += one);
            first += year.len();
            if sum > *room {
                spans.push(Basis::Calendar.window_of(year[0]));
            }
        }
        spans
    }

    fn full_runs<T: Whole>(&self, units: &[T], room: &T) -> Vec<Span> {
        let mut spans: Vec<Span> = Vec::new();
        let mut sum = T::zero();
        let mut next = 0;
        for (end, leaves) in self.ends.iter().zip(units) {
            while sum <= *room && next < units.len() {
                sum += &units[next];
                next += 1;
            }
            if sum <= *room {
                break;
            }
            let last = self.days[next - 1];
            if last < *end {
                let to = sub_days(*end, 1);
                match spans.last_mut() {
                    // Both ends only move on, so runs that meet are one span.
                    Some(before) if last <= before.to => before.to = to,
                    _ => spans.push(Span { from: limit_start(last), to }),
                }
            }
            sum -= leaves;
        }
        spans
    }

    /// Of all windows that hold `day`, the one with the largest sum.
    pub fn fullest_window(&self, basis: Basis, day: NaiveDate) -> (Span, Exact) {
        if basis == Basis::Calendar {
            let window = basis.window_of(day);
            return (window, self.sum(window));
        }
        let (from, sum) = match &self.units {
            Units::Small { units, .. } => {
                let (from, sum) = self.fullest_run(units, day);
                (from, BigInt::from(sum))
            }
            Units::Big(units) => self.fullest_run(units, day),
        };
        (Span { from, to: sub_days(limit_end(from), 1) }, self.exact(sum))
    }

    fn fullest_run<T: Whole>(&self, units: &[T], day: NaiveDate) -> (NaiveDate, T) {
        let earliest = limit_start(day);
        let first = self.days.partition_point(|on| *on < earliest);
        let starts = self.days[first..].iter().zip(&units[first..]).take_while(|(on, _)| **on <= day);
        let mut best = (day, T::zero());
        let mut sum = T::zero();
        let mut next = first;
        // The last start is the day itself, with nothing of its own to leave.
        let nothing = T::zero();
        for (from, leaves) in starts.map(|(on, units)| (*on, units)).chain([(day, &nothing)]) {
            let end = limit_end(from);
            while self.days.get(next).is_some_and(|on| *on < end) {
                sum += &units[next];
                next += 1;
            }
            if sum > best.1 {
                best = (from, sum.clone());
            }
            sum -= leaves;
        }
        best
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
    fn figures_beyond_a_machine_word_stay_exact() {
        let mut ledger = ledger(&[("2026-01-01", "0.1"), ("2026-02-01", "0.2")]);
        let tiny = parse(&format!("0.{}1", "0".repeat(50))).unwrap();
        let room = parse("0.3").unwrap();
        assert!(ledger.barred(Basis::Rolling, &room, ALWAYS).is_empty());
        assert!(ledger.barred(Basis::Rolling, &parse(&"9".repeat(60)).unwrap(), ALWAYS).is_empty());
        ledger.add(day("2026-03-01"), &tiny);
        assert!(matches!(ledger.units, Units::Big(_)));
        assert_eq!(ledger.barred(Basis::Rolling, &room, ALWAYS), [span("2025-03-02", "2026-12-31")]);
        assert_eq!(ledger.barred(Basis::Calendar, &room, ALWAYS), [span("2026-01-01", "2026-12-31")]);
        assert_eq!(ledger.fullest_window(Basis::Rolling, day("2026-03-01")).1, &room + &tiny);
        ledger.remove(day("2026-03-01"), &tiny);
        assert!(ledger.barred(Basis::Rolling, &room, ALWAYS).is_empty());
        let mut huge = Ledger::default();
        huge.add(day("2026-01-01"), &parse(&"9".repeat(60)).unwrap());
        huge.add(day("2026-01-01"), &tiny);
        assert_eq!(huge.sum(ALWAYS), parse(&"9".repeat(60)).unwrap() + tiny);
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
