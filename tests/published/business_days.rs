//! Business days against an independent library.

use crate::support::day;
use plantward::domain::calendar::add_days;
use plantward::domain::filing::business_day::{is_business_day, or_next};
use serde::Deserialize;
use std::collections::BTreeSet;

/// What the library says; the file names it with its version.
#[derive(Deserialize)]
struct Reference {
    library: String,
    from: String,
    to: String,
    days: BTreeSet<String>,
}

/// `holidays` for Python, federal holidays of the United States as they are kept, from Monday to Friday.
#[test]
fn holidays_are_kept_when_the_library_keeps_them() {
    let reference: Reference = serde_json::from_str(include_str!("holidays.json")).unwrap();
    let (mut at, last) = (day(&reference.from), day(&reference.to));
    let (mut working, mut kept) = (0, 0);
    while at <= last {
        let weekend = at.format("%u").to_string().as_str() >= "6";
        let closed = weekend || reference.days.contains(&at.to_string());
        assert_eq!(is_business_day(at), !closed, "{at} by {}", reference.library);
        (working, kept) = (working + usize::from(!closed), kept + usize::from(closed && !weekend));
        at = add_days(at, 1);
    }
    assert_eq!(kept, reference.days.len());
    assert!(working > 4_700, "{working}");
}

/// The check dates of the filings: New York's year 2025 is due on a Sunday, Maine's year 2026 too.
#[test]
fn due_days_on_a_weekend_would_move_to_monday() {
    assert_eq!(or_next(day("2026-02-01")), day("2026-02-02"));
    assert_eq!(or_next(day("2027-01-31")), day("2027-02-01"));
    assert_eq!(or_next(day("2027-02-01")), day("2027-02-01"));
}
