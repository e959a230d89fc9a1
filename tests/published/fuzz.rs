//! Scenarios that were right and then had something broken at random: there is
//! always an answer or a list of pointers, never a panic.

use crate::oracle::{Dice, random_text};
use crate::support::{scenario, with_plants};
use serde_json::{Value, json};

const CASES: u64 = 2500;

/// Values that a careless or hostile hand may write anywhere.
fn odd(dice: &mut Dice) -> Value {
    let long = "9".repeat(60);
    let odd = [
        json!(null),
        json!(true),
        json!(-1),
        json!(0),
        json!(1.5),
        json!(1e300),
        json!(18_446_744_073_709_551_615_u64),
        json!(""),
        json!("0"),
        json!("-0"),
        json!("NaN"),
        json!("1e5"),
        json!(long),
        json!(format!("0.{}", "0".repeat(57) + "1")),
        json!("2024-02-29"),
        json!("1900-01-01"),
        json!("2199-12-31"),
        json!("9999-12-31"),
        json!("02-29"),
        json!("oz"),
        json!("packet"),
        json!("tablet"),
        json!("percent"),
        json!("gal/acre"),
        json!("area-acre"),
        json!("product"),
        json!("u0"),
        json!("a~/b\u{0}\u{202e}"),
        json!([]),
        json!({}),
        json!([[], {}]),
        json!({ "value": "1", "unit": "g" }),
        json!({ "from": "12-31", "to": "01-01" }),
    ];
    odd[dice.index(odd.len())].clone()
}

const KEYS: [&str; 30] = [
    "piece",
    "per",
    "area",
    "of",
    "density",
    "registrations",
    "bloom",
    "bloom_lead_days",
    "harvest",
    "harvest_on",
    "pest",
    "poured",
    "kit",
    "tank",
    "allocation",
    "municipality",
    "agricultural",
    "listed_pests",
    "supervised",
    "categories",
    "foliar_rest_days",
    "no_group_repeat",
    "stems",
    "stem_rule",
    "circumference",
    "exemptions",
    "history_known_from",
    "season",
    "host",
    "unknown",
];

/// Breaks one place of the tree.
fn breaks(value: &mut Value, dice: &mut Dice) {
    match value {
        Value::Object(members) if !members.is_empty() && dice.percent(85) => {
            let key = members.keys().nth(dice.index(members.len())).unwrap().clone();
            match dice.range(0, 10) {
                0 => drop(members.remove(&key)),
                1 => drop(members.insert(KEYS[dice.index(KEYS.len())].to_owned(), odd(dice))),
                _ => breaks(members.get_mut(&key).unwrap(), dice),
            }
        }
        Value::Array(items) if !items.is_empty() && dice.percent(85) => {
            let at = dice.index(items.len());
            match dice.range(0, 10) {
                0 => drop(items.remove(at)),
                1 => items.push(items[at].clone()),
                _ => breaks(&mut items[at], dice),
            }
        }
        place => *place = odd(dice),
    }
}

/// A scenario with about everything in it that can be said.
fn rich() -> Value {
    let mut one = with_plants(scenario("1", "acre"), 3, "shrub", "8", "3");
    one["site"]["state"] = json!("RI");
    one["products"][0]["registrations"] =
        json!([{ "state": "RI", "from": "2020-01-01", "until": "2030-01-01" }]);
    one["products"][0]["uses"][0]["bloom"] = json!("not-in-bloom");
    one["products"][0]["uses"][0]["bloom_lead_days"] = json!(9);
    one["products"][0]["uses"][0]["season"] = json!({ "from": "02-29", "to": "11-30" });
    one["plants"][0]["bloom"] = json!([{ "from": "05-01", "to": "05-20" }]);
    one["plants"][1]["host"] = json!({ "name": "linden", "in_bloom": false });
    one["history"] = json!([
        { "plant": "a000", "product": "p", "use": "shrub", "on": "2025-05-15", "amount": { "value": "24", "unit": "mL" } }
    ]);
    one["reservations"] = one["history"].clone();
    one["kit"] = json!([{ "name": "cup", "mark": { "value": "5", "unit": "mL" }, "holds": { "value": "1", "unit": "L" } }]);
    one["tank"] = json!({ "value": "3", "unit": "gal" });
    one["allocation"] = json!("least-gap");
    one
}

#[test]
fn a_broken_scenario_is_answered_and_never_a_panic() {
    let (mut right, mut wrong) = (0, 0);
    for seed in 0..CASES {
        let dice = &mut Dice::new(seed + 77_000_000);
        let mut one: Value =
            if dice.percent(50) { rich() } else { serde_json::from_str(&random_text(seed)).unwrap() };
        for _ in 0..=dice.index(3) {
            breaks(&mut one, dice);
        }
        let text = one.to_string();
        let outcome = std::panic::catch_unwind(|| plantward::calc::run(&text));
        match outcome.unwrap_or_else(|_| panic!("seed {seed} panics: {text}")) {
            Ok(answer) => {
                assert!(serde_json::from_str::<Value>(&answer).unwrap()["due"].is_array(), "seed {seed}");
                right += 1;
            }
            Err(problems) => {
                let list: Vec<Value> = serde_json::from_str(&problems).unwrap();
                assert!(!list.is_empty(), "seed {seed}: nothing is said about {text}");
                for problem in list {
                    let pointer = problem["pointer"].as_str().unwrap();
                    assert!(pointer.is_empty() || pointer.starts_with('/'), "seed {seed}: {pointer}");
                    assert!(!problem["error"].as_str().unwrap().is_empty(), "seed {seed}");
                }
                wrong += 1;
            }
        }
    }
    assert!(right > 100 && wrong > 1000, "{right} right, {wrong} wrong");
}

#[test]
fn text_cut_anywhere_is_no_panic() {
    let text = rich().to_string();
    for at in (0..text.len()).filter(|at| text.is_char_boundary(*at)) {
        assert!(plantward::calc::run(&text[..at]).is_err(), "cut at {at}");
    }
}
