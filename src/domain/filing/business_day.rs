//! Business days: not Saturday, not Sunday, not a legal public holiday of the United States.
//!
//! The eleven holidays of 5 U.S.C. 6103(a); one that falls on a Saturday is kept on the Friday before, one that
//! falls on a Sunday on the Monday after (5 U.S.C. 6103(b) and Executive Order 11582 for those who work Monday to
//! Friday). Both from memory: unverified; `tests/published/business_days.rs` compares them with an independent
//! library. A state may keep other days: Florida and others close on the Friday after Thanksgiving.

use crate::domain::calendar::{add_days, sub_days};
use chrono::{Datelike, NaiveDate, Weekday};

/// The holidays of a year by their law, before they are moved off a weekend.
fn by_law(year: i32) -> Vec<(NaiveDate, &'static str)> {
    let fixed = |month, day, name| NaiveDate::from_ymd_opt(year, month, day).map(|on| (on, name));
    let nth = |month, weekday, n, name| {
        NaiveDate::from_weekday_of_month_opt(year, month, weekday, n).map(|on| (on, name))
    };
    let last_monday_of_may =
        nth(5, Weekday::Mon, 5, "Memorial Day").or(nth(5, Weekday::Mon, 4, "Memorial Day"));
    [
        fixed(1, 1, "New Year's Day"),
        nth(1, Weekday::Mon, 3, "Birthday of Martin Luther King, Jr."),
        nth(2, Weekday::Mon, 3, "Washington's Birthday"),
        last_monday_of_may,
        fixed(6, 19, "Juneteenth"),
        fixed(7, 4, "Independence Day"),
        nth(9, Weekday::Mon, 1, "Labor Day"),
        nth(10, Weekday::Mon, 2, "Columbus Day"),
        fixed(11, 11, "Veterans Day"),
        nth(11, Weekday::Thu, 4, "Thanksgiving Day"),
        fixed(12, 25, "Christmas Day"),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The day on which a holiday is kept.
fn kept(on: NaiveDate) -> NaiveDate {
    match on.weekday() {
        Weekday::Sat => sub_days(on, 1),
        Weekday::Sun => add_days(on, 1),
        _ => on,
    }
}

/// The holiday that is kept on this day, if any. New Year's Day of the next year may fall on 31 December.
pub fn holiday(day: NaiveDate) -> Option<&'static str> {
    let years = [day.year(), day.year() + 1];
    years.into_iter().flat_map(by_law).find(|(on, _)| kept(*on) == day).map(|(_, name)| name)
}

/// Do offices work on this day?
pub fn is_business_day(day: NaiveDate) -> bool {
    !matches!(day.weekday(), Weekday::Sat | Weekday::Sun) && holiday(day).is_none()
}

/// The day itself, or the next business day after it.
pub fn or_next(day: NaiveDate) -> NaiveDate {
    let mut at = day;
    while !is_business_day(at) && at < NaiveDate::MAX {
        at = add_days(at, 1);
    }
    at
}

/// What keeps it from being a business day: `Sunday`, `public holiday (Labor Day)`.
pub fn what(day: NaiveDate) -> String {
    match day.weekday() {
        Weekday::Sat => "Saturday".to_owned(),
        Weekday::Sun => "Sunday".to_owned(),
        _ => {
            holiday(day).map_or_else(|| "business day".to_owned(), |name| format!("public holiday ({name})"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn weekends_and_holidays_wait_for_the_next_business_day() {
        for (on, next, why) in [
            ("2026-02-01", "2026-02-02", "Sunday"),
            ("2026-07-03", "2026-07-06", "public holiday (Independence Day)"),
            ("2026-11-26", "2026-11-27", "public holiday (Thanksgiving Day)"),
            // 1 January 2028 is a Saturday: the Friday before is kept, in the year before.
            ("2027-12-31", "2028-01-03", "public holiday (New Year's Day)"),
            ("2026-11-25", "2026-11-25", "business day"),
        ] {
            assert_eq!((or_next(day(on)), what(day(on)).as_str()), (day(next), why), "{on}");
        }
    }

    #[test]
    fn memorial_day_is_the_last_monday_whether_may_has_four_or_five() {
        assert_eq!(holiday(day("2026-05-25")), Some("Memorial Day"));
        assert_eq!(holiday(day("2027-05-31")), Some("Memorial Day"));
        assert_eq!(holiday(day("2027-05-24")), None);
    }
}
