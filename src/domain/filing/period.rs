//! Months, years, and the periods for which reports are owed.

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
    pub(super) fn day(self, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(self.year, self.month, day).unwrap_or(NaiveDate::MAX)
    }
}

/// How often a report is owed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Every {
    /// For each month of the calendar.
    Month,
    /// For each year of the calendar.
    Year,
}

/// The time that one report covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Period {
    /// A month.
    Month(Month),
    /// A year of the calendar.
    Year(i32),
}

impl Period {
    /// The period of that length which holds the day.
    pub fn of(every: Every, day: NaiveDate) -> Self {
        match every {
            Every::Month => Self::Month(Month::of(day)),
            Every::Year => Self::Year(day.year()),
        }
    }

    /// Reads `2026-01` or `2026`; none where it is neither.
    pub fn parse(text: &str) -> Option<Self> {
        if text.contains('-') {
            return Month::parse(text).map(Self::Month);
        }
        let digits = text.len() == 4 && text.bytes().all(|byte| byte.is_ascii_digit());
        digits.then(|| text.parse().ok()).flatten().map(Self::Year)
    }

    /// Writes `2026-01` or `2026`.
    pub fn code(self) -> String {
        match self {
            Self::Month(month) => month.code(),
            Self::Year(year) => format!("{year:04}"),
        }
    }

    /// How long it is.
    pub fn every(self) -> Every {
        match self {
            Self::Month(_) => Every::Month,
            Self::Year(_) => Every::Year,
        }
    }

    /// For people: `January 2026`, `the year 2026`.
    pub fn words(self) -> String {
        match self {
            Self::Month(month) => month.first_day().format("%B %Y").to_string(),
            Self::Year(year) => format!("the year {year}"),
        }
    }

    /// Its first day.
    pub fn first_day(self) -> NaiveDate {
        match self {
            Self::Month(month) => month.first_day(),
            Self::Year(year) => NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or(NaiveDate::MIN),
        }
    }

    /// Its last day.
    pub fn last_day(self) -> NaiveDate {
        match self {
            Self::Month(month) => month.last_day(),
            Self::Year(year) => NaiveDate::from_ymd_opt(year, 12, 31).unwrap_or(NaiveDate::MAX),
        }
    }

    /// The period before.
    pub fn before(self) -> Option<Self> {
        self.first_day().pred_opt().map(|day| Self::of(self.every(), day))
    }

    /// The periods of that length that have begun by `today` and end on `from` or later, the oldest first.
    pub fn between(every: Every, from: NaiveDate, today: NaiveDate) -> Vec<Self> {
        let newest = Self::of(every, today);
        let back = std::iter::successors(Some(newest), |period| period.before());
        let mut all: Vec<Self> = back.take_while(|period| period.last_day() >= from).collect();
        all.reverse();
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn periods_are_read_as_they_are_written() {
        for code in ["2026-01", "2026"] {
            assert_eq!(Period::parse(code).unwrap().code(), code);
        }
        for wrong in ["", "26", "2026-13", "2026-1", "20x6", "+026", "2026-01-01"] {
            assert_eq!(Period::parse(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn periods_of_a_span_are_those_that_touch_it() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let codes = |every, from, today| -> Vec<String> {
            Period::between(every, day(from), day(today)).iter().map(|one| one.code()).collect()
        };
        assert_eq!(
            codes(Every::Month, "2026-09-30", "2026-11-25"),
            ["2026-09", "2026-10", "2026-11"],
            "the last day of September is in the span"
        );
        assert_eq!(codes(Every::Month, "2026-10-01", "2026-11-01"), ["2026-10", "2026-11"]);
        assert_eq!(codes(Every::Year, "2025-12-31", "2026-01-01"), ["2025", "2026"]);
        assert_eq!(codes(Every::Year, "2026-01-01", "2026-01-01"), ["2026"]);
    }

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
