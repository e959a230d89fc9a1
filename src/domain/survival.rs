//! How long protection really lasted, from inspections.
//!
//! A treatment of a plant record is watched from the day it was applied. It ends with the first inspection, after
//! the days of uptake, that saw the pest. Until then it is known only to have lasted up to the last inspection that
//! saw none, and a next treatment ends the watch: such a treatment is censored on the right. A treatment that nobody
//! inspected says nothing and is left out: not looked at is not protected.
//!
//! The curve is that of Kaplan and Meier (Journal of the American Statistical Association 53, 1958) with Greenwood's
//! variance, its interval taken on the scale of log(-log) so that it stays between nought and one. These are estimates
//! in floating point, not amounts: no dose and no limit hangs on them.

use super::calendar::add_days;
use chrono::NaiveDate;

/// 0.975 of the normal distribution: both tails leave 95 % between them.
const Z: f64 = 1.959_963_984_540_054;

/// A treatment that was watched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Watched {
    /// Days from the application to the pest, or to the last look that saw none.
    pub days: u32,
    /// Whether the pest was seen.
    pub seen: bool,
}

/// A look at a plant for its pest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// The day.
    pub on: NaiveDate,
    /// Whether the pest was seen.
    pub seen: bool,
}

/// What the looks at a plant say of a treatment of `on` that the plant takes up in so many days, until its next
/// treatment. A look on the day of the next treatment still counts: one looks before one pours. Nothing where nobody
/// looked.
#[must_use]
pub fn watched(
    on: NaiveDate,
    uptake_days: u32,
    next_on: Option<NaiveDate>,
    looks: &[Look],
) -> Option<Watched> {
    let works = add_days(on, uptake_days);
    let mut own: Vec<&Look> = looks
        .iter()
        .filter(|look| look.on > on && look.on >= works && next_on.is_none_or(|next| look.on <= next))
        .collect();
    // Seen and not seen on one day is seen.
    own.sort_by_key(|look| (look.on, !look.seen));
    let end = own.iter().find(|look| look.seen).or(own.last())?;
    let days = u32::try_from((end.on - on).num_days()).ok()?;
    Some(Watched { days, seen: end.seen })
}

/// The curve after a day on which the pest was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Days since the application.
    pub day: u32,
    /// Treatments still watched just before.
    pub at_risk: u32,
    /// Treatments whose pest was seen that day.
    pub seen: u32,
    /// Estimated share that is protected longer than this, from 0 to 1.
    pub share: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Treatments that were watched.
    pub watched: u32,
    /// Of these, whose pest was seen.
    pub seen: u32,
    /// The longest watch, in days.
    pub longest: u32,
    /// One step for each day on which a pest was seen.
    pub steps: Vec<Step>,
    /// Days after which half are no longer protected; none while more than half are.
    pub median: Option<u32>,
    /// Where the interval's lower and upper curve reach a half.
    pub median_low: Option<u32>,
    /// Upper end; none where it never does.
    pub median_high: Option<u32>,
}

/// Estimates the curve.
#[must_use]
pub fn curve(all: &[Watched]) -> Curve {
    let mut days: Vec<u32> = all.iter().filter(|one| one.seen).map(|one| one.days).collect();
    days.sort_unstable();
    days.dedup();
    let (mut share, mut variance) = (1.0, 0.0);
    let mut steps = vec![];
    for day in days {
        // Who was last looked at on that day without a pest is still among those who could have had it.
        let at_risk = count(all.iter().filter(|one| one.days >= day));
        let seen = count(all.iter().filter(|one| one.seen && one.days == day));
        let (n, d) = (f64::from(at_risk), f64::from(seen));
        share *= 1.0 - d / n;
        variance += d / (n * (n - d));
        let (low, high) = interval(share, variance);
        steps.push(Step { day, at_risk, seen, share, low, high });
    }
    let half = |of: fn(&Step) -> f64| steps.iter().find(|step| of(step) <= 0.5).map(|step| step.day);
    Curve {
        watched: count(all.iter()),
        seen: count(all.iter().filter(|one| one.seen)),
        longest: all.iter().map(|one| one.days).max().unwrap_or_default(),
        median: half(|step| step.share),
        median_low: half(|step| step.low),
        median_high: half(|step| step.high),
        steps,
    }
}

fn count<'a>(some: impl Iterator<Item = &'a Watched>) -> u32 {
    u32::try_from(some.count()).unwrap_or(u32::MAX)
}

/// Greenwood's interval on the scale of log(-log). At nought and at one that scale has no width.
fn interval(share: f64, variance: f64) -> (f64, f64) {
    if share <= 0.0 {
        return (0.0, 0.0);
    }
    if share >= 1.0 {
        return (1.0, 1.0);
    }
    let log = share.ln();
    let middle = (-log).ln();
    let reach = Z * variance.sqrt() / log;
    let end = |sign: f64| (-(middle + sign * reach).exp()).exp();
    // The logarithm of a share is negative, so the sum is the upper end.
    (end(-1.0), end(1.0))
}

impl Curve {
    /// Share and interval so many days after the application; all of it before the first step. None beyond the
    /// longest watch, where nobody has looked.
    #[must_use]
    pub fn at(&self, day: u32) -> Option<(f64, f64, f64)> {
        if day > self.longest {
            return None;
        }
        let step = self.steps.iter().rev().find(|step| step.day <= day);
        Some(step.map_or((1.0, 1.0, 1.0), |step| (step.share, step.low, step.high)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn look(on: &str, seen: bool) -> Look {
        Look { on: day(on), seen }
    }

    #[test]
    fn a_watch_ends_with_the_pest_or_with_the_last_look() {
        let on = day("2026-01-01");
        let looks = [look("2026-03-01", false), look("2026-06-01", true), look("2026-07-01", true)];
        assert_eq!(watched(on, 14, None, &looks), Some(Watched { days: 151, seen: true }));
        let next = Some(day("2026-05-01"));
        assert_eq!(watched(on, 14, next, &looks), Some(Watched { days: 59, seen: false }));
        let same_day = Some(day("2026-06-01"));
        assert_eq!(watched(on, 14, same_day, &looks), Some(Watched { days: 151, seen: true }));
        assert_eq!(watched(on, 14, Some(day("2026-02-01")), &looks), None, "nobody looked in time");
        assert_eq!(watched(on, 14, None, &[]), None, "not looked at is not protected");
    }

    #[test]
    fn a_pest_before_the_uptake_is_the_old_one() {
        let on = day("2026-01-01");
        let looks = [look("2026-01-10", true), look("2026-01-15", false)];
        assert_eq!(watched(on, 14, None, &looks), Some(Watched { days: 14, seen: false }));
        assert_eq!(watched(on, 0, None, &looks), Some(Watched { days: 9, seen: true }));
        let both = [look("2026-04-01", false), look("2026-04-01", true)];
        assert_eq!(watched(on, 14, None, &both), Some(Watched { days: 90, seen: true }));
        assert_eq!(watched(on, 0, None, &[look("2026-01-01", true)]), None, "the day itself tells nothing");
    }

    #[test]
    fn what_is_beyond_the_longest_watch_is_not_known() {
        let all = [Watched { days: 100, seen: true }, Watched { days: 300, seen: false }];
        let curve = curve(&all);
        assert_eq!(curve.at(99), Some((1.0, 1.0, 1.0)));
        assert_eq!(curve.at(300).map(|(share, ..)| share), Some(0.5));
        assert_eq!(curve.at(301), None);
        assert_eq!((curve.watched, curve.seen, curve.median), (2, 1, Some(100)));
        let none = super::curve(&[]);
        assert_eq!(
            (none.watched, none.longest, none.median, none.at(0)),
            (0, 0, None, Some((1.0, 1.0, 1.0)))
        );
    }
}
