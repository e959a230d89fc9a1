//! Scenarios that are wrong: every mistake is named with its pointer (RFC 6901).

use crate::support::{mistakes, scenario, with_plants};
use serde_json::{Value, json};

fn right() -> Value {
    let mut one = with_plants(scenario("1", "acre"), 2, "shrub", "8", "3");
    one["history"] = json!([
        { "plant": "a000", "product": "p", "use": "shrub", "on": "2025-05-15", "amount": { "value": "24", "unit": "mL" } }
    ]);
    one
}

/// Sets or (with null where that is no value) breaks one member.
fn broken(pointer: &str, value: Value) -> Vec<String> {
    let mut one = right();
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    let parent = one.pointer_mut(parent).unwrap();
    match key.parse::<usize>() {
        Ok(index) if parent.is_array() => parent[index] = value,
        _ => parent[key] = value,
    }
    mistakes(&one)
}

#[test]
fn the_scenario_that_is_broken_below_is_right() {
    crate::support::answer(&right());
}

#[test]
fn a_wrong_value_is_named_where_it_stands() {
    for (pointer, value) in [
        ("/today", json!("2026-02-30")),
        ("/today", json!("15.05.2026")),
        ("/today", json!(20260515)),
        ("/site", json!([])),
        ("/site/state", json!("California")),
        ("/site/cap_area/value", json!(1)),
        ("/site/cap_area/value", json!("0")),
        ("/site/cap_area/unit", json!("acres")),
        ("/products/0/form", json!("gel")),
        ("/products/0/ingredients/0/strength/value", json!("-2")),
        ("/products/0/ingredients/0/strength/unit", json!("lb/acre")),
        ("/products/0/caps/0/amount/unit", json!("mL/acre")),
        ("/products/0/caps/0/amount/value", json!("0")),
        ("/products/0/caps/0/year", json!("yearly")),
        ("/products/0/caps/0/ingredient", json!("clothianidin")),
        ("/products/0/uses/0/rate/low", json!("0")),
        ("/products/0/uses/0/rate/high", json!("2")),
        ("/products/0/uses/0/rate/unit", json!("oz")),
        ("/products/0/uses/0/measure", json!("height")),
        ("/products/0/uses/0/protection/value", json!("12")),
        ("/products/0/uses/0/protection/value", json!(-1)),
        ("/products/0/uses/0/protection/unit", json!("months")),
        ("/products/0/uses/0/max_per_year", json!(0)),
        ("/products/0/uses/0/min_interval_days", json!(-1)),
        ("/products/0/uses/0/uptake_days", json!(1.5)),
        ("/products/0/uses/1/id", json!("shrub")),
        ("/plants/0/use", json!("palm")),
        ("/plants/0/measure", json!("0")),
        ("/plants/0/measure", json!("NaN")),
        ("/plants/0/measure", json!(8)),
        ("/plants/0/measure", Value::Null),
        ("/plants/0/count", json!(0)),
        ("/plants/0/count", json!("1")),
        ("/plants/0/rate", json!("6.0001")),
        ("/plants/0/rate", json!("2.9999")),
        ("/plants/0/first_wanted", json!("soon")),
        ("/plants/1/id", json!("a000")),
        ("/plants/0/id", json!("")),
        ("/history/0/product", json!("q")),
        ("/history/0/plant", json!("b")),
        ("/history/0/use", json!("lawn")),
        ("/history/0/on", json!("2025-13-01")),
        ("/history/0/amount/value", json!("-1")),
        ("/history/0/amount/unit", json!("oz")),
        ("/plants/0/a~b", json!(1)),
        ("/extra", json!(1)),
        ("/applicator", json!({ "certified": "yes" })),
        ("/reservations", json!({})),
    ] {
        let mut expected = pointer.replace("a~b", "a~0b");
        if pointer == "/applicator" {
            expected = "/applicator/certified".into();
        }
        // A use that cannot be told apart takes its plants along.
        let found = broken(pointer, value.clone());
        let own: Vec<&String> = found.iter().filter(|one| **one == expected).collect();
        assert_eq!(own.len(), 1, "{pointer} {value}: {found:?}");
        assert!(found.len() == 1 || pointer == "/plants/0/id", "{pointer} {value}: {found:?}");
    }
}

#[test]
fn all_mistakes_are_listed_at_once() {
    let mut one = right();
    one["today"] = json!("never");
    one["site"]["cap_area"]["value"] = json!("0");
    one["plants"][0]["rate"] = json!("9");
    one["plants"][1]["measure"] = json!("0");
    one["history"][0]["amount"]["unit"] = json!("stone");
    one["colour"] = json!("green");
    assert_eq!(
        mistakes(&one),
        [
            "/colour",
            "/history/0/amount/unit",
            "/plants/0/rate",
            "/plants/1/measure",
            "/site/cap_area/value",
            "/today"
        ]
    );
}

#[test]
fn missing_members_are_named() {
    assert_eq!(mistakes(&json!({})), ["/plants", "/products", "/site", "/today"]);
    let mut one = right();
    one["plants"][0].as_object_mut().unwrap().remove("use");
    one["products"][0]["uses"][1].as_object_mut().unwrap().remove("protection");
    assert_eq!(mistakes(&one), ["/plants/0/use", "/products/0/uses/1/protection"]);
}

#[test]
fn a_plant_has_one_measure() {
    let stems = |value: Value, rule: Value| {
        let mut one = right();
        one["plants"][0] = json!({ "id": "t", "use": "tree", "stems": value, "stem_rule": rule });
        one["history"] = json!([]);
        mistakes(&one)
    };
    assert_eq!(stems(json!([]), json!("sum")), ["/plants/0/stems"]);
    assert_eq!(stems(json!(["5", "0"]), json!("sum")), ["/plants/0/stems/1"]);
    assert_eq!(stems(json!(["5", "6"]), Value::Null), ["/plants/0/stem_rule"]);
    assert_eq!(stems(json!(["5", "6"]), json!("mean")), ["/plants/0/stem_rule"]);
    assert_eq!(broken("/plants/0/stems", json!(["5"])), ["/plants/0/stems"]);
    assert_eq!(broken("/plants/0/stem_rule", json!("sum")), ["/plants/0/stem_rule"]);
    assert_eq!(broken("/plants/0/circumference", json!("30")), ["/plants/0/circumference"]);
}

#[test]
fn text_that_is_no_json_is_one_mistake_of_the_whole() {
    for text in ["", "{", "[1,]", "{\"today\": NaN}"] {
        let errors: Vec<Value> = serde_json::from_str(&plantward::calc::run(text).unwrap_err()).unwrap();
        assert_eq!((errors.len(), &errors[0]["pointer"]), (1, &json!("")));
    }
    let errors: Vec<Value> = serde_json::from_str(&plantward::calc::run("[]").unwrap_err()).unwrap();
    assert_eq!(errors[0]["pointer"], "");
}

#[test]
fn a_member_given_twice_is_a_mistake() {
    let text = right().to_string().replacen("\"today\"", "\"today\": \"2026-01-01\", \"today\"", 1);
    let errors: Vec<Value> = serde_json::from_str(&plantward::calc::run(&text).unwrap_err()).unwrap();
    assert_eq!(errors[0], json!({ "pointer": "/today", "error": "the key is given twice" }));
}
