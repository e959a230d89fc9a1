//! The annual cap.
//!
//! Sources: label text of imidacloprid at 2 lb/gal (3 to 6 mL a foot of height,
//! 0.1 to 0.4 fl oz an inch) as quoted by public gardens; cap of 0.4 lb an acre
//! and year, 0.8 lb under special local need, and the table of inches an acre:
//! Purdue Extension, acre restrictions. The rest is arithmetic.

use crate::support::{allowed_today, answer, exact, scenario, with_plants, with_use};
use plantward::domain::quantity::fixed_half_up;
use serde_json::{Value, json};

fn left(scenario: &Value) -> Value {
    answer(scenario)["caps"][0].clone()
}

fn with_strength(mut scenario: Value, value: &str) -> Value {
    scenario["products"][0]["ingredients"][0]["strength"]["value"] = json!(value);
    scenario
}

#[test]
fn an_acre_takes_25_6_fluid_ounces_of_two_pounds_a_gallon() {
    let cap = left(&scenario("1", "acre"));
    assert_eq!(cap["allowed_g"], "181.436948");
    assert_eq!(cap["remaining_product"]["p"], json!({ "value": "757.0823", "unit": "mL" }));
    for (strength, fluid_ounces) in [("2", "25.6000"), ("1.6", "32.0000"), ("4", "12.8000")] {
        let mut one = with_strength(scenario("1", "acre"), strength);
        one["products"][0]["uses"].as_array_mut().unwrap().remove(0);
        assert_eq!(left(&one)["remaining_product"]["p"], json!({ "value": fluid_ounces, "unit": "floz" }));
    }
}

#[test]
fn feet_of_height_that_an_acre_takes() {
    let millilitres = exact("0.2") * exact("3785.411784");
    assert_eq!(fixed_half_up(&(&millilitres / exact("3")), 4), "252.3608");
    assert_eq!(fixed_half_up(&(&millilitres / exact("6")), 4), "126.1804");
    assert_eq!(fixed_half_up(&(&millilitres / exact("12")), 4), "63.0902");
}

#[test]
fn a_quarter_acre_is_10890_square_feet_exactly() {
    let quarter = left(&scenario("0.25", "acre"));
    assert_eq!(quarter["allowed_g"], "45.359237");
    assert_eq!(quarter["remaining_product"]["p"]["value"], "189.2705");
    assert_eq!(quarter, left(&scenario("10890", "sqft")));
    let tree_only = |mut one: Value| {
        one["products"][0]["uses"].as_array_mut().unwrap().remove(0);
        one
    };
    let fluid = left(&tree_only(scenario("10890", "sqft")));
    assert_eq!(fluid["remaining_product"]["p"], json!({ "value": "6.4000", "unit": "floz" }));
}

/// Whole plants that fit: (area, unit, use, measure, rate, expected).
#[test]
fn plants_that_fit_the_cap() {
    for (area, unit, item, measure, rate, fit) in [
        ("0.25", "acre", "shrub", "8", "3", 7),
        ("0.25", "acre", "shrub", "8", "6", 3),
        ("0.5", "acre", "shrub", "5", "3", 25),
        ("0.5", "acre", "shrub", "5", "6", 12),
        ("0.1", "acre", "shrub", "8", "3", 3),
        ("0.1", "acre", "shrub", "8", "6", 1),
        ("7500", "sqft", "shrub", "5", "3", 8),
        ("10890", "sqft", "shrub", "8", "3", 7),
        ("1", "acre", "tree", "10", "0.2", 12),
    ] {
        let one = with_plants(scenario(area, unit), fit + 1, item, measure, rate);
        assert_eq!(allowed_today(&answer(&one)), fit, "{area} {unit} {measure} {rate}");
    }
}

/// Purdue Extension, acre restrictions: 128 to 64 inches at 0.4 lb, 256 to 128
/// at 0.8 lb.
#[test]
fn inches_of_trunk_that_an_acre_takes() {
    for (cap, rate, inches) in
        [("0.4", "0.2", 128), ("0.4", "0.4", 64), ("0.8", "0.2", 256), ("0.8", "0.4", 128)]
    {
        let fits = |inches: i32| {
            let mut one = with_plants(scenario("1", "acre"), 1, "tree", &inches.to_string(), rate);
            one["products"][0]["caps"][0]["amount"]["value"] = json!(cap);
            allowed_today(&answer(&one)) == 1
        };
        assert!(fits(inches) && !fits(inches + 1), "{cap} {rate}");
    }
}

#[test]
fn the_eighth_shrub_after_seven_is_refused() {
    let mut one = with_plants(scenario("0.25", "acre"), 1, "shrub", "8", "3");
    one = with_use(one, "2026-05-15", "168", "mL");
    let answer = answer(&one);
    assert_eq!(answer["due"][0]["held_by"], json!(["cap"]));
    // All of the cap is used on one day: free again the same day a year later.
    assert_eq!(answer["due"][0]["allowed_on"], "2027-05-15");
    assert_eq!(answer["caps"][0]["used_g"], "40.261680");
    let why = answer["due"][0]["why"].to_string();
    assert!(why.contains("0.4 lb/acre on 0.25 acre is 45.35 g"), "{why}");
    assert!(why.contains("together 46.02 g"), "{why}");
}

#[test]
fn five_thousand_square_feet() {
    let cap = left(&scenario("5000", "sqft"));
    assert_eq!(cap["allowed_g"], "20.826096");
    assert_eq!(cap["remaining_product"]["p"]["value"], "86.9010");
}

/// Purdue Extension: every use of the ingredient on the property counts, lawn
/// treatments too. Figures: arithmetic.
#[test]
fn lawn_and_drench_share_one_ledger() {
    let mut one = with_use(scenario("0.5", "acre"), "2026-05-01", "150", "mL");
    let lawn = json!({
        "id": "lawn", "form": "dry",
        "ingredients": [{ "name": "imidacloprid", "group": "4A", "strength": { "value": "0.5", "unit": "percent" } }],
        "caps": [], "uses": []
    });
    one["products"].as_array_mut().unwrap().push(lawn);
    // 15 lb of 0.5 percent granules hold 0.075 lb.
    one["history"].as_array_mut().unwrap().push(json!({
        "plant": null, "product": "lawn", "on": "2026-04-01", "amount": { "value": "15", "unit": "lb" }
    }));
    let cap = left(&one);
    let pounds = exact(cap["remaining_g"].as_str().unwrap()) / exact("453.59237");
    assert_eq!(fixed_half_up(&pounds, 7), "0.0457484");
    assert_eq!(cap["remaining_product"]["p"]["value"], "86.5882");
    // 28 ft at 3 mL a foot, not 29.
    assert_eq!(allowed_today(&answer(&with_plants(one.clone(), 1, "shrub", "28", "3"))), 1);
    assert_eq!(allowed_today(&answer(&with_plants(one, 1, "shrub", "29", "3"))), 0);
}

/// Labels say "per year" and not which; the policy tests both and the stricter
/// holds. No published source.
#[test]
fn a_year_is_tested_both_ways_where_the_label_does_not_say() {
    // 0.3 lb and 0.2 lb of an ingredient at 2 lb/gal are 0.15 and 0.1 gal.
    let ask = |year: &str| {
        let mut one = with_use(scenario("1", "acre"), "2025-11-01", "0.15", "gal");
        one["today"] = json!("2026-03-01");
        one["products"][0]["caps"][0]["year"] = json!(year);
        one["products"][0]["uses"][1]["rate"] = json!({ "low": "0.1", "high": "0.1", "unit": "gal" });
        let answer = answer(&with_plants(one, 1, "tree", "1", "0.1"));
        answer["due"][0].clone()
    };
    assert_eq!(ask("calendar")["allowed_on"], "2026-03-01");
    for year in ["rolling-12-months", "unstated"] {
        let due = ask(year);
        assert_eq!((&due["held_by"], &due["allowed_on"]), (&json!(["cap"]), &json!("2026-11-01")));
    }
}

/// A cap is a maximum: the sum may equal it. Policy, no published source.
#[test]
fn the_cap_itself_is_allowed_and_a_microlitre_more_is_not() {
    // On 0.25 acre the cap is exactly 0.05 gal.
    let whole = exact("0.05") * exact("3785411.784");
    let ask = |used: &str| {
        let one = with_use(scenario("0.25", "acre"), "2026-05-15", used, "mL");
        allowed_today(&answer(&with_plants(one, 1, "shrub", "8", "3")))
    };
    let rest = whole / exact("1000") - exact("24");
    assert_eq!(plantward::domain::quantity::plain(&rest), "165.2705892");
    assert_eq!(ask("165.2705892"), 1);
    assert_eq!(ask("165.2715892"), 0);
}

/// Without an area there is no answer, and no answer is no permission. Policy,
/// no published source.
#[test]
fn without_an_area_the_cap_cannot_be_checked() {
    let mut one = with_plants(scenario("1", "acre"), 1, "shrub", "8", "3");
    one["site"] = json!({});
    let answer = answer(&one);
    assert_eq!(answer["due"][0]["held_by"], json!(["area-unknown"]));
    assert_eq!(answer["due"][0]["allowed_on"], Value::Null);
    assert_eq!(answer["caps"][0]["allowed_g"], Value::Null);
    assert!(answer["due"][0]["why"].to_string().contains("cannot be checked"));
    for area in ["0", "-1", "NaN", "", "1e3"] {
        let wrong = scenario(area, "acre");
        assert_eq!(crate::support::mistakes(&wrong), ["/site/cap_area/value"], "{area}");
    }
}

#[test]
fn an_earlier_use_that_nobody_knows_of_is_said() {
    let mut one = scenario("1", "acre");
    one["site"]["history_known_from"] = json!("2026-02-01");
    assert_eq!(left(&one)["earlier_use"], "unconfirmed");
    one["site"]["history_known_from"] = json!("2025-05-16");
    assert_eq!(left(&one).get("earlier_use"), None);
}
