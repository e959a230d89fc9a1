//! Scenarios and answers of the arithmetic core, built and read in few words.

use plantward::domain::quantity::{Exact, parse};
use serde_json::{Value, json};

/// An exact number.
pub fn exact(text: &str) -> Exact {
    parse(text).unwrap()
}

/// A day.
pub fn day(text: &str) -> chrono::NaiveDate {
    text.parse().unwrap()
}

/// One liquid with imidacloprid at 2 lb/gal, 3 to 6 mL per foot of height (use
/// `shrub`) or 0.2 to 0.4 fl oz per inch of trunk (use `tree`), capped at 0.4
/// lb per acre and year.
pub fn drench() -> Value {
    let one_use = |id: &str, measure: &str, low: &str, high: &str, unit: &str| {
        json!({
            "id": id, "method": "basal-drench", "measure": measure,
            "rate": { "low": low, "high": high, "unit": unit },
            "protection": { "value": 12, "unit": "month" },
            "uptake_days": 0, "min_interval_days": 0, "max_per_year": null
        })
    };
    json!({
        "id": "p", "form": "liquid",
        "ingredients": [{ "name": "imidacloprid", "group": "4A", "strength": { "value": "2", "unit": "lb/gal" } }],
        "caps": [{ "ingredient": "imidacloprid", "amount": { "value": "0.4", "unit": "lb/acre" }, "year": "unstated" }],
        "uses": [
            one_use("shrub", "height-ft", "3", "6", "mL"),
            one_use("tree", "diameter-in", "0.2", "0.4", "floz"),
        ]
    })
}

/// A scenario of that drench on that area, without plants or history.
pub fn scenario(area: &str, unit: &str) -> Value {
    json!({
        "today": "2026-05-15",
        "site": { "cap_area": { "value": area, "unit": unit } },
        "products": [drench()],
        "plants": [],
        "history": []
    })
}

/// Adds so many plants, each its own record: `a000`, `a001` and so on.
pub fn with_plants(mut scenario: Value, number: usize, item: &str, measure: &str, rate: &str) -> Value {
    let plants = (0..number).map(
        |n| json!({ "id": format!("a{n:03}"), "use": item, "measure": measure, "rate": rate, "count": 1 }),
    );
    scenario["plants"] = plants.collect();
    scenario
}

/// Adds an application to no plant.
pub fn with_use(mut scenario: Value, on: &str, amount: &str, unit: &str) -> Value {
    let entry =
        json!({ "plant": null, "product": "p", "on": on, "amount": { "value": amount, "unit": unit } });
    scenario["history"].as_array_mut().unwrap().push(entry);
    scenario
}

/// The answer to a scenario that is right.
pub fn answer(scenario: &Value) -> Value {
    let text = plantward::calc::run(&scenario.to_string()).unwrap_or_else(|errors| panic!("{errors}"));
    serde_json::from_str(&text).unwrap()
}

/// Pointers of the mistakes of a scenario that is wrong, sorted.
pub fn mistakes(scenario: &Value) -> Vec<String> {
    let text = plantward::calc::run(&scenario.to_string()).unwrap_err();
    let list: Vec<Value> = serde_json::from_str(&text).unwrap();
    for entry in &list {
        assert!(!entry["error"].as_str().unwrap().is_empty());
        assert_eq!(entry.as_object().unwrap().len(), 2);
    }
    let mut pointers: Vec<String> =
        list.iter().map(|entry| entry["pointer"].as_str().unwrap().to_owned()).collect();
    pointers.sort();
    pointers
}

/// How many plants of an answer may be treated today.
pub fn allowed_today(answer: &Value) -> usize {
    let due = answer["due"].as_array().unwrap();
    due.iter().filter(|one| one["allowed_on"] == "2026-05-15").count()
}
