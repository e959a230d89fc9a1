//! Dates of protection. Clamping to the month's end is a policy, no published
//! source; the rest is the calendar.

use crate::support::{answer, scenario, with_plants};
use plantward::domain::label::{PeriodUnit, Protection};
use serde_json::json;

fn due(today: &str, last: &str, months: u32) -> serde_json::Value {
    let mut one = with_plants(scenario("1", "acre"), 1, "shrub", "8", "3");
    one["today"] = json!(today);
    one["products"][0]["uses"][0]["protection"] = json!({ "value": months, "unit": "month" });
    one["history"] = json!([
        { "plant": "a000", "product": "p", "on": last, "amount": { "value": "24", "unit": "mL" } }
    ]);
    answer(&one)["due"][0].clone()
}

#[test]
fn twelve_months_later_and_not_a_day_before() {
    for today in ["2026-11-24", "2026-11-25"] {
        let due = due(today, "2025-11-25", 12);
        assert_eq!(due["protected_until"], "2026-11-25");
        assert_eq!(due["due_on"], "2026-11-25");
    }
    // Later it is overdue, and the date stays.
    assert_eq!(due("2026-12-01", "2025-11-25", 12)["due_on"], "2026-11-25");
    assert_eq!(due("2026-12-01", "2025-11-25", 12)["gap_days"], 6);
}

#[test]
fn months_clamp_to_the_end_of_the_month() {
    for (last, months, end) in
        [("2024-02-29", 12, "2025-02-28"), ("2024-02-29", 24, "2026-02-28"), ("2025-08-31", 6, "2026-02-28")]
    {
        assert_eq!(due("2026-05-15", last, months)["protected_until"], end);
        let protection = Protection { value: months, unit: PeriodUnit::Month };
        assert_eq!(protection.end(last.parse().unwrap()).to_string(), end);
    }
}

#[test]
fn uptake_comes_before_the_end_of_protection() {
    let mut one = with_plants(scenario("1", "acre"), 1, "shrub", "8", "3");
    one["products"][0]["uses"][0]["uptake_days"] = json!(14);
    one["history"] = json!([
        { "plant": "a000", "product": "p", "on": "2025-08-31", "amount": { "value": "24", "unit": "mL" } }
    ]);
    let due = answer(&one)["due"][0].clone();
    assert_eq!((&due["wanted_on"], &due["gap_days"]), (&json!("2026-08-17"), &json!(0)));
}
