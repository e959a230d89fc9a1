//! The documented example of the scenario format, with its whole answer, and
//! the meaning of each figure on small properties. No published source: this is
//! the program's own promise to integrators.

use crate::support::{answer, scenario, with_plants, with_use};
use serde_json::{Value, json};

const EXAMPLE: &str = r#"{
  "today": "2026-05-15",
  "site": { "state": "CA", "cap_area": { "value": "10890", "unit": "sqft" } },
  "products": [{
    "id": "p1", "form": "liquid",
    "ingredients": [{ "name": "imidacloprid", "group": "4A", "strength": { "value": "2", "unit": "lb/gal" } }],
    "caps": [{ "ingredient": "imidacloprid", "amount": { "value": "0.4", "unit": "lb/acre" }, "year": "unstated" }],
    "uses": [{ "id": "u1", "method": "basal-drench", "measure": "height-ft",
               "rate": { "low": "3", "high": "6", "unit": "mL" },
               "water": { "low": "8", "high": "16", "unit": "floz" },
               "protection": { "value": 12, "unit": "month" }, "uptake_days": 0,
               "min_interval_days": 0, "max_per_year": null }]
  }],
  "plants": [{ "id": "a", "use": "u1", "measure": "8", "count": 1, "rate": "3", "first_wanted": "2026-05-15" }],
  "history": [{ "plant": "a", "product": "p1", "on": "2025-05-15", "amount": { "value": "24", "unit": "mL" } }]
}"#;

#[test]
fn the_documented_example_has_this_answer() {
    let answer: Value = serde_json::from_str(&plantward::calc::run(EXAMPLE).unwrap()).unwrap();
    let expected = json!({
        "doses": [{
            "plant": "a",
            "product": { "value": "24", "unit": "mL" },
            "ingredients": { "imidacloprid": { "value": "5.751669", "unit": "g" } },
            "band": { "low": "24", "high": "48", "unit": "mL" },
            "water": { "low": "64", "high": "128", "unit": "floz" }
        }],
        "caps": [{
            "ingredient": "imidacloprid",
            "allowed_g": "45.359237",
            "used_g": "0.000000",
            "remaining_g": "45.359237",
            "remaining_product": { "p1": { "value": "189.2705", "unit": "mL" } },
            "window": { "from": "2026-01-01", "to": "2026-12-31" }
        }],
        "due": [{
            "plant": "a",
            "protected_until": "2026-05-15",
            "wanted_on": "2026-05-15",
            "allowed_on": "2026-05-15",
            "due_on": "2026-05-15",
            "held_by": [],
            "gap_days": 0,
            "why": [
                "Last application on 2025-05-15: 24 mL of p1.",
                "The application of 2025-05-15 by basal drench of p1 protects for 12 months, until 2026-05-15.",
                "No uptake time is stated, so the next is wanted on 2026-05-15.",
                "Cap of imidacloprid today: 0.00 g used of 45.35 g in a calendar year, 45.35 g left \
                 (0.4 lb/acre on the label of p1).",
                "Every rule is kept on 2026-05-15; due on 2026-05-15.",
                "Kept for imidacloprid in CA: possession and use only by certified commercial applicators. Source: \
                 California FAC 12838(c)(2) (checked)."
            ]
        }]
    });
    assert_eq!(answer, expected);
}

#[test]
fn members_stand_in_the_documented_order() {
    let text = plantward::calc::run(EXAMPLE).unwrap();
    let places: Vec<usize> =
        ["doses", "caps", "allowed_g", "used_g", "window", "due", "protected_until", "why"]
            .map(|key| text.find(&format!("\"{key}\"")).unwrap())
            .to_vec();
    assert!(places.is_sorted());
}

fn with_rule(mut one: Value, key: &str, value: Value) -> Value {
    one["products"][0]["uses"][0][key] = value;
    one
}

fn treated(on: &[&str]) -> Value {
    let mut one = with_plants(scenario("100", "acre"), 1, "shrub", "8", "3");
    let entry = |on: &&str| {
        json!({
            "plant": "a000", "product": "p", "on": on, "amount": { "value": "24", "unit": "mL" }
        })
    };
    one["history"] = on.iter().map(entry).collect();
    one
}

fn due(one: &Value) -> Value {
    answer(one)["due"][0].clone()
}

#[test]
fn the_nth_day_after_the_last_application_is_allowed() {
    let one = with_rule(treated(&["2026-05-01"]), "min_interval_days", json!(30));
    let one = with_rule(one, "protection", json!({ "value": 7, "unit": "day" }));
    let due = due(&one);
    assert_eq!((&due["held_by"], &due["allowed_on"]), (&json!(["min-interval"]), &json!("2026-05-31")));
    assert_eq!((&due["due_on"], &due["gap_days"]), (&json!("2026-05-31"), &json!(23)));
}

#[test]
fn a_future_application_counts_for_protection_and_interval_but_not_in_caps() {
    let one = with_rule(treated(&["2026-06-01"]), "min_interval_days", json!(400));
    let answer = answer(&one);
    assert_eq!(answer["caps"][0]["used_g"], "0.000000");
    assert_eq!(answer["due"][0]["protected_until"], "2027-06-01");
    assert_eq!(answer["due"][0]["allowed_on"], "2027-07-06");
}

#[test]
fn twice_a_year_means_in_any_twelve_months() {
    let one = with_rule(treated(&["2025-07-01", "2025-11-01"]), "max_per_year", json!(2));
    let one = with_rule(one, "protection", json!({ "value": 3, "unit": "month" }));
    let due = due(&one);
    assert_eq!((&due["held_by"], &due["allowed_on"]), (&json!(["max-per-year"]), &json!("2026-07-01")));
    assert_eq!(due["wanted_on"], "2026-02-01");
}

#[test]
fn twelve_months_of_a_limit_run_from_a_leap_day_to_the_first_of_march() {
    let mut one = with_rule(treated(&["2024-02-29"]), "max_per_year", json!(1));
    one["today"] = json!("2025-02-28");
    let due = due(&one);
    assert_eq!((&due["protected_until"], &due["allowed_on"]), (&json!("2025-02-28"), &json!("2025-03-01")));
}

#[test]
fn the_rolling_window_runs_from_the_first_day_that_shares_it() {
    let mut one = scenario("1", "acre");
    one["products"][0]["caps"][0]["year"] = json!("rolling-12-months");
    one = with_use(with_use(one, "2025-05-15", "1", "mL"), "2025-05-16", "2", "mL");
    let cap = answer(&one)["caps"][0].clone();
    assert_eq!(cap["window"], json!({ "from": "2025-05-16", "to": "2026-05-15" }));
    assert_eq!(cap["used_g"], "0.479306");
}

#[test]
fn a_broken_cap_shows_less_than_nothing_left_and_no_product() {
    let cap = answer(&with_use(scenario("0.25", "acre"), "2026-05-15", "200", "mL"))["caps"][0].clone();
    assert_eq!(cap["remaining_g"], "-2.571334");
    assert_eq!(cap["remaining_product"]["p"]["value"], "0.0000");
}

#[test]
fn of_several_caps_on_one_ingredient_the_tightest_is_shown_and_all_hold() {
    let mut one = with_plants(scenario("1", "acre"), 1, "shrub", "8", "3");
    let tighter = json!({ "ingredient": "imidacloprid", "amount": { "value": "5", "unit": "g/acre" }, "year": "calendar" });
    one["products"].as_array_mut().unwrap().push(json!({
        "id": "q", "form": "dry", "ingredients": [{ "name": "imidacloprid", "strength": { "value": "1", "unit": "percent" } }],
        "caps": [tighter], "uses": []
    }));
    let answer = answer(&one);
    assert_eq!(answer["caps"].as_array().unwrap().len(), 1);
    assert_eq!(answer["caps"][0]["allowed_g"], "5.000000");
    assert_eq!(answer["caps"][0]["remaining_product"]["q"], json!({ "value": "500.0000", "unit": "g" }));
    assert_eq!(answer["due"][0]["held_by"], json!(["cap"]));
    assert_eq!(answer["due"][0]["allowed_on"], Value::Null);
    assert_eq!(answer["due"][0]["gap_days"], Value::Null);
}

#[test]
fn plants_compete_by_day_wanted_then_by_mass_then_by_id() {
    // 0.05 acre leaves 37.85 mL: one of these three fits.
    let mut one = with_plants(scenario("0.05", "acre"), 3, "shrub", "8", "3");
    let winner = |one: &Value| {
        let answer = answer(one);
        let due = answer["due"].as_array().unwrap().clone();
        assert_eq!(due.len(), 3);
        let won: Vec<Value> = due
            .into_iter()
            .filter(|due| due["held_by"] == json!([]))
            .map(|due| due["plant"].clone())
            .collect();
        assert_eq!(won.len(), 1);
        won[0].as_str().unwrap().to_owned()
    };
    assert_eq!(winner(&one), "a000");
    one["plants"][2]["measure"] = json!("7.9");
    assert_eq!(winner(&one), "a002");
    one["plants"][1]["first_wanted"] = json!("2026-01-01");
    assert_eq!(winner(&one), "a001");
    // Each loser waits for the year of the one before it.
    let days: Vec<Value> =
        answer(&one)["due"].as_array().unwrap().iter().map(|due| due["allowed_on"].clone()).collect();
    assert_eq!(days, ["2028-05-15", "2026-05-15", "2027-05-15"]);
}

#[test]
fn an_application_follows_the_use_named_or_the_plants_or_the_longest() {
    let mut one = treated(&["2026-05-01"]);
    one = with_rule(one, "protection", json!({ "value": 7, "unit": "day" }));
    assert_eq!(due(&one)["protected_until"], "2026-05-08");
    one["history"][0]["use"] = json!("tree");
    assert_eq!(due(&one)["protected_until"], "2027-05-01");
    let mut other = crate::support::drench();
    other["id"] = json!("q");
    other["uses"] = json!([]);
    for (id, days) in [("short", 10), ("long", 20)] {
        let mut item = one["products"][0]["uses"][0].clone();
        item["id"] = json!(id);
        item["protection"] = json!({ "value": days, "unit": "day" });
        other["uses"].as_array_mut().unwrap().push(item);
    }
    one["products"].as_array_mut().unwrap().push(other);
    one["history"][0] = json!({ "plant": "a000", "product": "q", "on": "2026-05-01", "amount": { "value": "1", "unit": "mL" } });
    assert_eq!(due(&one)["protected_until"], "2026-05-21");
}

#[test]
fn season_bloom_signature_food_and_host_hold_a_dose_back() {
    let plain = with_plants(scenario("1", "acre"), 1, "shrub", "8", "3");
    let held = |one: &Value| {
        let due = due(one);
        (due["held_by"].clone(), due["allowed_on"].clone())
    };
    let season = with_rule(plain.clone(), "season", json!({ "from": "10-01", "to": "02-15" }));
    assert_eq!(held(&season), (json!(["season"]), json!("2026-10-01")));
    let mut bloom = with_rule(plain.clone(), "bloom", json!("not-in-bloom"));
    assert_eq!(held(&bloom).0, json!([]));
    bloom["plants"][0]["bloom"] = json!([{ "from": "05-01", "to": "06-30" }]);
    assert_eq!(held(&bloom), (json!(["bloom"]), json!("2026-07-01")));
    bloom["plants"][0]["in_bloom"] = json!(true);
    assert_eq!(held(&bloom), (json!(["bloom"]), Value::Null));
    let mut unsigned = plain.clone();
    unsigned["products"][0]["signed"] = json!(false);
    assert_eq!(held(&unsigned), (json!(["label-unsigned"]), Value::Null));
    for (eaten, food) in [("yes", true), ("unknown", true), ("no", false)] {
        let mut olive = plain.clone();
        olive["plants"][0]["eaten"] = json!(eaten);
        assert_eq!(held(&olive).0, if food { json!(["food-plant"]) } else { json!([]) });
        let covered = with_rule(olive, "covers_food", json!(true));
        assert_eq!(held(&covered).0, json!([]));
    }
    let mut linden = with_rule(plain, "excluded_hosts", json!(["linden"]));
    linden["plants"][0]["host"] = json!("Littleleaf Linden");
    assert_eq!(held(&linden), (json!(["host-excluded"]), Value::Null));
}

#[test]
fn a_booking_reserves_the_cap_and_is_no_history() {
    // 0.05 acre leaves 37.85 mL.
    let mut one = with_plants(scenario("0.05", "acre"), 2, "shrub", "8", "3");
    one["reservations"] = json!([
        { "plant": "a001", "product": "p", "on": "2026-06-01", "amount": { "value": "24", "unit": "mL" } }
    ]);
    let answer = answer(&one);
    assert_eq!(answer["caps"][0]["used_g"], "0.000000");
    assert_eq!(answer["due"][0]["held_by"], json!(["cap"]));
    // The booked plant is not held back by its own booking.
    assert_eq!(answer["due"][1]["held_by"], json!([]));
    assert_eq!(answer["due"][1]["protected_until"], Value::Null);
    assert!(answer["due"][1]["why"].to_string().contains("Booked for 2026-06-01"));
}

#[test]
fn a_retired_plant_is_not_due_but_counts() {
    let mut one = treated(&["2026-05-01"]);
    one["plants"][0]["active"] = json!(false);
    let answer = answer(&one);
    assert_eq!(answer["due"], json!([]));
    assert_eq!(answer["caps"][0]["used_g"], "5.751669");
}

#[test]
fn beyond_sixty_months_there_is_no_day() {
    let mut one = with_plants(scenario("100", "acre"), 1, "shrub", "8", "3");
    one["plants"][0]["first_wanted"] = json!("2031-05-15");
    assert_eq!(due(&one)["due_on"], "2031-05-15");
    one["plants"][0]["first_wanted"] = json!("2031-05-16");
    assert_eq!((&due(&one)["allowed_on"], &due(&one)["held_by"]), (&Value::Null, &json!([])));
}
