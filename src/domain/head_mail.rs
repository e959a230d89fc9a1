//! How often a head of the chains is mailed to somebody outside.
use chrono::{Datelike, NaiveDate};

/// How often.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Often {
    /// On each day of the calendar.
    Day,
    /// In each week, which begins on Monday.
    Week,
    /// In each month of the calendar.
    Month,
}

impl Often {
    /// Every choice, in the order in which they are offered.
    pub const ALL: [Self; 3] = [Self::Day, Self::Week, Self::Month];

    /// The one of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|often| often.code() == code)
    }

    /// The code used in the database.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::Week => "week",
            Self::Month => "month",
        }
    }

    /// In plain words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Day => "Every day",
            Self::Week => "Every week",
            Self::Month => "Every month",
        }
    }

    /// The period that holds the day: `2026-11-25`, `2026-W48` (ISO 8601) or `2026-11`. One head goes out in each.
    #[must_use]
    pub fn period(self, day: NaiveDate) -> String {
        match self {
            Self::Day => day.to_string(),
            Self::Week => {
                let week = day.iso_week();
                format!("{}-W{:02}", week.year(), week.week())
            }
            Self::Month => day.format("%Y-%m").to_string(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_week_that_crosses_the_year_is_one_period() {
        let period = |often: Often, day: &str| often.period(day.parse().unwrap());
        // ISO 8601: week 1 holds the first Thursday. January 1, 2027 is a Friday, so that it lies in 2026-W53.
        for day in ["2026-12-28", "2026-12-31", "2027-01-01", "2027-01-03"] {
            assert_eq!(period(Often::Week, day), "2026-W53", "{day}");
        }
        assert_eq!(period(Often::Week, "2027-01-04"), "2027-W01");
        assert_eq!(period(Often::Month, "2026-11-30"), "2026-11");
        assert_eq!(period(Often::Day, "2026-11-30"), "2026-11-30");
    }

    #[test]
    fn codes_are_read_back() {
        for often in Often::ALL {
            assert_eq!(Often::from_code(often.code()), Some(often));
        }
        assert_eq!(Often::from_code("year"), None);
    }
}
