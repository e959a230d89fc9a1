//! Days and moments of the demo, all told from today.
use super::ZONE;
use crate::domain::calendar::{add_days, limit_end, sub_days};
use chrono::{DateTime, Datelike, Months, NaiveDate, NaiveTime, TimeZone, Utc};

/// That wall-clock moment where the company works.
pub fn at(day: NaiveDate, hour: u32, minute: u32) -> DateTime<Utc> {
    let time = NaiveTime::from_hms_opt(hour, minute, 0).unwrap_or_default();
    let local = ZONE.from_local_datetime(&day.and_time(time)).earliest();
    local.map_or_else(|| day.and_time(time).and_utc(), |moment| moment.to_utc())
}

/// The day so many days ago.
pub fn ago(today: NaiveDate, days: u32) -> NaiveDate {
    sub_days(today, days)
}

/// The day so many days ahead.
pub fn ahead(today: NaiveDate, days: u32) -> NaiveDate {
    add_days(today, days)
}

/// The same day some months before, clamped to the month's end.
pub fn months_before(day: NaiveDate, months: u32) -> NaiveDate {
    day.checked_sub_months(Months::new(months)).unwrap_or(day)
}

/// A day a year and `more` days before `day`, so that both share no window of twelve months.
pub fn year_before(day: NaiveDate, more: u32) -> NaiveDate {
    let mut earlier = sub_days(months_before(day, 12), more);
    while limit_end(earlier) > day {
        earlier = sub_days(earlier, 1);
    }
    earlier
}

/// A day of the calendar month before the one of `today`, in its last third.
pub fn late_last_month(today: NaiveDate) -> NaiveDate {
    sub_days(today.with_day(1).unwrap_or(today), 6)
}

/// Month and day as `MM-DD`; the leap day counts as the one before it.
pub fn month_day(day: NaiveDate) -> String {
    if day.month() == 2 && day.day() == 29 { "02-28".to_owned() } else { day.format("%m-%d").to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_year_before_shares_no_window() {
        assert_eq!(year_before(day("2026-11-25"), 0), day("2025-11-25"));
        assert_eq!(year_before(day("2028-02-29"), 0), day("2027-02-28"));
        // Twelve months from a leap day end on 1 March, so 28 February is too near.
        assert_eq!(year_before(day("2029-02-28"), 0), day("2028-02-28"));
        assert_eq!(year_before(day("2029-02-28"), 1), day("2028-02-27"));
    }

    #[test]
    fn moments_are_californias() {
        assert_eq!(at(day("2026-11-25"), 10, 0).to_rfc3339(), "2026-11-25T18:00:00+00:00");
        assert_eq!(at(day("2026-07-01"), 10, 30).to_rfc3339(), "2026-07-01T17:30:00+00:00");
    }

    #[test]
    fn last_month_is_last_month() {
        for today in ["2026-01-01", "2026-03-31", "2028-02-29"] {
            let found = late_last_month(day(today));
            assert_eq!((found.month0() + 1) % 12, day(today).month0(), "{today}");
        }
        assert_eq!(month_day(day("2028-02-29")), "02-28");
    }
}
