//! Reports owed to regulators: period, due date, contents, layout.
//!
//! One file for each jurisdiction. A filing is owed for every period, also
//! when there was nothing to report, where the jurisdiction says so.

pub mod california;
pub mod new_york;
pub mod source;

use chrono::{Datelike, NaiveDate};

/// A month of the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Month {
    year: i32,
    month: u32,
}

impl Month {
    /// That month; none when there is no such month.
    pub fn new(year: i32, month: u32) -> Option<Self> {
        NaiveDate::from_ymd_opt(year, month, 1).map(|_| Self { year, month })
    }

    /// Reads `2026-01`.
    pub fn parse(text: &str) -> Option<Self> {
        let (year, month) = text.split_once('-')?;
        if year.len() != 4 || month.len() != 2 {
            return None;
        }
        Self::new(year.parse().ok()?, month.parse().ok()?)
    }

    /// The month of a day.
    pub fn of(day: NaiveDate) -> Self {
        Self { year: day.year(), month: day.month() }
    }

    /// Writes `2026-01`.
    pub fn code(self) -> String {
        format!("{:04}-{:02}", self.year, self.month)
    }

    /// The year.
    pub fn year(self) -> i32 {
        self.year
    }

    /// The month, 1 to 12.
    pub fn number(self) -> u32 {
        self.month
    }

    /// The month after.
    pub fn next(self) -> Self {
        match self.month {
            12 => Self { year: self.year + 1, month: 1 },
            month => Self { year: self.year, month: month + 1 },
        }
    }

    /// Its first day.
    pub fn first_day(self) -> NaiveDate {
        self.day(1)
    }

    /// Its last day.
    pub fn last_day(self) -> NaiveDate {
        self.next().first_day().pred_opt().unwrap_or(NaiveDate::MAX)
    }

    /// One of its days that every month has.
    fn day(self, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(self.year, self.month, day).unwrap_or(NaiveDate::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn months_follow_each_other_over_the_turn_of_the_year() {
        let december = Month::parse("2026-12").unwrap();
        assert_eq!(december.next().code(), "2027-01");
        assert_eq!(december.last_day().to_string(), "2026-12-31");
        assert_eq!(Month::parse("2024-02").unwrap().last_day().to_string(), "2024-02-29");
        assert_eq!(Month::parse("2026-13"), None);
        assert_eq!(Month::parse("26-01"), None);
    }
}
