//! Dates as labels and rules count them.
//!
//! Two ways of adding months exist side by side. *Protection* clamps to the
//! end of the month (31 August + 6 months = 28 February). A *limit* of twelve
//! months runs from a day to the same day a year later, which is outside; from
//! 29 February it runs to 1 March.

use chrono::{Datelike, Days, Months, NaiveDate, Weekday};

/// Adds months, clamped to the end of the month.
pub fn add_months(day: NaiveDate, months: u32) -> NaiveDate {
    day.checked_add_months(Months::new(months)).unwrap_or(NaiveDate::MAX)
}

/// Adds days; the far end of the calendar when that is passed.
pub fn add_days(day: NaiveDate, days: u32) -> NaiveDate {
    day.checked_add_days(Days::new(days.into())).unwrap_or(NaiveDate::MAX)
}

/// Takes days away; the far start of the calendar when that is passed.
pub fn sub_days(day: NaiveDate, days: u32) -> NaiveDate {
    day.checked_sub_days(Days::new(days.into())).unwrap_or(NaiveDate::MIN)
}

/// The first day that no longer shares a twelve-month limit with `day`.
pub fn limit_end(day: NaiveDate) -> NaiveDate {
    let year = day.year() + 1;
    NaiveDate::from_ymd_opt(year, day.month(), day.day())
        .or_else(|| NaiveDate::from_ymd_opt(year, 3, 1))
        .unwrap_or(NaiveDate::MAX)
}

/// The first day that shares a twelve-month limit with `day`.
pub fn limit_start(day: NaiveDate) -> NaiveDate {
    let year_before = day.checked_sub_months(Months::new(12)).unwrap_or(NaiveDate::MIN);
    let mut first = year_before;
    while limit_end(first) <= day {
        first = add_days(first, 1);
    }
    first
}

/// 1 January of the year of `day`.
pub fn year_start(day: NaiveDate) -> NaiveDate {
    NaiveDate::from_ymd_opt(day.year(), 1, 1).unwrap_or(day)
}

/// 31 December of the year of `day`.
pub fn year_end(day: NaiveDate) -> NaiveDate {
    NaiveDate::from_ymd_opt(day.year(), 12, 31).unwrap_or(day)
}

/// The `count`th working day after `day`, Saturdays and Sundays left out.
/// Public holidays are not known to it.
pub fn working_days_after(day: NaiveDate, count: u32) -> NaiveDate {
    let mut left = count;
    let mut at = day;
    while left > 0 {
        at = add_days(at, 1);
        if !matches!(at.weekday(), Weekday::Sat | Weekday::Sun) {
            left -= 1;
        }
    }
    at
}

/// A day of any year, such as 1 April.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MonthDay {
    month: u32,
    day: u32,
}

impl MonthDay {
    /// That day, if some year has it.
    pub fn new(month: u32, day: u32) -> Option<Self> {
        NaiveDate::from_ymd_opt(2024, month, day).map(|_| Self { month, day })
    }

    /// Reads `04-01`.
    pub fn parse(text: &str) -> Option<Self> {
        let (month, day) = text.split_once('-')?;
        if month.len() != 2 || day.len() != 2 {
            return None;
        }
        Self::new(month.parse().ok()?, day.parse().ok()?)
    }

    /// Writes `04-01`.
    pub fn code(self) -> String {
        format!("{:02}-{:02}", self.month, self.day)
    }

    fn of(date: NaiveDate) -> Self {
        Self { month: date.month(), day: date.day() }
    }

    /// The first date from `from` on that falls on this day; 29 February falls
    /// on 1 March of a common year.
    pub fn on_or_after(self, from: NaiveDate) -> NaiveDate {
        let this_year = self.in_year(from.year());
        if this_year >= from { this_year } else { self.in_year(from.year() + 1) }
    }

    fn in_year(self, year: i32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, self.month, self.day)
            .or_else(|| NaiveDate::from_ymd_opt(year, 3, 1))
            .unwrap_or(NaiveDate::MAX)
    }
}

/// A span of days that comes back every year, both ends included; it may run
/// over the turn of the year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct YearlySpan {
    /// First day.
    pub from: MonthDay,
    /// Last day.
    pub to: MonthDay,
}

impl YearlySpan {
    /// Is `date` within it?
    pub fn holds(&self, date: NaiveDate) -> bool {
        let day = MonthDay::of(date);
        if self.from <= self.to {
            self.from <= day && day <= self.to
        } else {
            day >= self.from || day <= self.to
        }
    }

    /// The first day after `date` (which is within it) that is outside; none
    /// when the span fills the year.
    pub fn first_day_after(&self, date: NaiveDate) -> Option<NaiveDate> {
        (1..=367).map(|n| add_days(date, n)).find(|day| !self.holds(*day))
    }

    /// For people: `04-01 to 10-31`.
    pub fn words(&self) -> String {
        format!("{} to {}", self.from.code(), self.to.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn protection_clamps_and_limits_run_to_the_first_of_march() {
        assert_eq!(add_months(day("2025-08-31"), 6), day("2026-02-28"));
        assert_eq!(add_months(day("2024-02-29"), 12), day("2025-02-28"));
        assert_eq!(limit_end(day("2024-02-29")), day("2025-03-01"));
        assert_eq!(limit_end(day("2025-05-15")), day("2026-05-15"));
    }

    #[test]
    fn limit_start_is_the_first_day_that_shares() {
        for (at, first) in [
            ("2025-02-28", "2024-02-29"),
            ("2025-03-01", "2024-03-02"),
            ("2024-02-29", "2023-03-01"),
            ("2024-02-28", "2023-03-01"),
            ("2026-05-15", "2025-05-16"),
        ] {
            assert_eq!(limit_start(day(at)), day(first), "{at}");
        }
        let mut at = day("2023-01-01");
        while at < day("2029-01-01") {
            let first = limit_start(at);
            assert!(limit_end(first) > at && limit_end(sub_days(first, 1)) <= at, "{at}");
            at = add_days(at, 1);
        }
    }

    #[test]
    fn spans_run_over_the_turn_of_the_year() {
        let winter =
            YearlySpan { from: MonthDay::parse("11-15").unwrap(), to: MonthDay::parse("02-10").unwrap() };
        assert!(winter.holds(day("2025-12-31")) && winter.holds(day("2026-02-10")));
        assert!(!winter.holds(day("2026-02-11")));
        assert_eq!(winter.first_day_after(day("2025-12-31")), Some(day("2026-02-11")));
        assert_eq!(winter.from.on_or_after(day("2026-02-11")), day("2026-11-15"));
        assert_eq!(MonthDay::parse("02-30"), None);
        assert_eq!(MonthDay::parse("2-3"), None);
    }

    #[test]
    fn working_days_skip_the_weekend() {
        assert_eq!(working_days_after(day("2026-05-15"), 2), day("2026-05-19"));
    }
}
