//! Scenarios that mean to hurt: too large, too deep, too many, given twice, strange letters. Each is
//! answered in words with pointers, and within its time.

use crate::support::{scenario, with_plants};
use serde_json::{Value, json};
use std::time::{Duration, Instant};

/// Much more than any of them needs in a development build on a busy machine; what hangs is a failure
/// all the same.
const PATIENCE: Duration = Duration::from_secs(60);

/// The answer, or the pointers of what is wrong.
fn asked(text: &str) -> Result<Value, Vec<String>> {
    let start = Instant::now();
    let outcome = std::panic::catch_unwind(|| plantward::calc::run(text));
    let outcome = outcome.unwrap_or_else(|_| panic!("a panic for {}", &text[..text.len().min(300)]));
    assert!(start.elapsed() < PATIENCE, "{:?} for {}", start.elapsed(), &text[..text.len().min(300)]);
    outcome.map(|answer| serde_json::from_str(&answer).unwrap()).map_err(|problems| {
        let list: Vec<Value> = serde_json::from_str(&problems).unwrap();
        assert!(list.iter().all(|one| !one["error"].as_str().unwrap().is_empty()));
        list.iter().map(|one| one["pointer"].as_str().unwrap().to_owned()).collect()
    })
}

fn one_plant() -> Value {
    with_plants(scenario("1", "acre"), 1, "shrub", "8", "3")
}

#[test]
fn numbers_of_any_length_are_refused_where_they_stand() {
    let long = |digits: usize| format!("1{}", "0".repeat(digits));
    for digits in [60, 400, 100_000] {
        for pointer in ["/plants/0/measure", "/site/cap_area/value", "/products/0/uses/0/rate/high"] {
            let mut one = one_plant();
            *one.pointer_mut(pointer).unwrap() = json!(long(digits));
            assert_eq!(asked(&one.to_string()).unwrap_err(), [pointer], "{digits} digits");
        }
        // As a number and not as text: larger than any number that is read.
        let text = one_plant().to_string().replacen("\"count\":1", &format!("\"count\":{}", long(digits)), 1);
        let found = asked(&text).unwrap_err();
        assert!(found == ["/plants/0/count"] || found == [""], "{digits} digits: {found:?}");
    }
}

#[test]
fn counts_beyond_reason_are_refused_and_large_ones_counted() {
    for count in ["4000000000", "4294967295", "18446744073709551615", "1e400", "-4000000000", "1.5"] {
        let text = one_plant().to_string().replacen("\"count\":1", &format!("\"count\":{count}"), 1);
        let found = asked(&text).unwrap_err();
        assert!(found == ["/plants/0/count"] || found == [""], "{count}: {found:?}");
    }
    let mut one = one_plant();
    one["plants"][0]["count"] = json!(1_000_000);
    assert_eq!(asked(&one.to_string()).unwrap()["doses"][0]["product"]["value"], "24000000");
}

#[test]
fn values_at_the_edge_of_what_is_read_stay_exact() {
    let mut one = one_plant();
    let least = format!("0.{}1", "0".repeat(57));
    one["plants"][0]["measure"] = json!(least);
    one["site"]["cap_area"]["value"] = json!("9".repeat(60));
    let answer = asked(&one.to_string()).unwrap();
    assert_eq!(answer["doses"][0]["product"]["value"], format!("0.{}3", "0".repeat(57)));
    assert_eq!(answer["due"][0]["held_by"], json!([]));
}

#[test]
fn nesting_without_a_bottom_is_one_mistake() {
    for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
        for depth in [200, 100_000] {
            let whole = format!("{}1{}", open.repeat(depth), close.repeat(depth));
            assert_eq!(asked(&whole).unwrap_err(), [""], "{depth} {open}");
            let inside = one_plant().to_string().replacen("\"8\"", &whole, 1);
            assert_eq!(asked(&inside).unwrap_err(), [""], "{depth} {open} inside");
        }
    }
}

#[test]
fn every_key_given_twice_is_named() {
    let text = one_plant().to_string();
    for (key, pointer) in [
        ("plants", "/plants"),
        ("measure", "/products/0/uses/0/measure"),
        ("strength", "/products/0/ingredients/0/strength"),
        ("cap_area", "/site/cap_area"),
    ] {
        let double = text.replacen(&format!("\"{key}\":"), &format!("\"{key}\":null,\"{key}\":"), 1);
        let found = asked(&double).unwrap_err();
        // In the order of the text the first use stands before or after the plant's own measure.
        assert!(found.iter().any(|one| one.ends_with(&format!("/{key}"))), "{pointer}: {found:?}");
    }
}

#[test]
fn letters_of_every_kind_are_only_letters() {
    for name in [
        "\u{0}",
        "\u{202e}txt",
        "e\u{301}\u{301}\u{301}",
        "\u{1f33f}",
        "\u{feff}p",
        "</script>",
        "a~/b",
        "\u{ffff}",
    ] {
        let mut one = one_plant();
        one["products"][0]["name"] = json!(name);
        one["plants"][0]["name"] = json!(name.repeat(50));
        one["plants"][0]["id"] = json!(name);
        let answer = asked(&one.to_string()).unwrap();
        assert_eq!(answer["due"][0]["plant"], name);
        let mut one = one_plant();
        one["plants"][0][name] = json!(1);
        let pointer = format!("/plants/0/{}", name.replace('~', "~0").replace('/', "~1"));
        assert_eq!(asked(&one.to_string()).unwrap_err(), [pointer]);
    }
    // A half of a pair is no letter at all.
    assert_eq!(asked(&one_plant().to_string().replacen("a000", "\\ud800", 1)).unwrap_err(), [""]);
    // Digits of other scripts are no decimals.
    let mut one = one_plant();
    one["plants"][0]["measure"] = json!("\u{0668}");
    assert_eq!(asked(&one.to_string()).unwrap_err(), ["/plants/0/measure"]);
}

#[test]
fn ten_thousand_plants_are_answered() {
    let mut one = with_plants(scenario("1000", "acre"), 10_000, "shrub", "8", "3");
    assert_eq!(asked(&one.to_string()).unwrap()["due"].as_array().unwrap().len(), 10_000);
    for plant in one["plants"].as_array_mut().unwrap() {
        plant["measure"] = json!("0");
    }
    assert_eq!(asked(&one.to_string()).unwrap_err().len(), 10_000);
}

/// Forty plants of different sizes that compete for one cap: beyond an exact search, not beyond an answer.
#[test]
fn sharing_out_among_forty_ends() {
    let mut one = with_plants(scenario("1", "acre"), 40, "shrub", "8", "3");
    one["allocation"] = json!("least-gap");
    for (n, plant) in one["plants"].as_array_mut().unwrap().iter_mut().enumerate() {
        plant["measure"] = json!((5 + n % 13).to_string());
    }
    let answer = asked(&one.to_string()).unwrap();
    assert_eq!(answer["due"].as_array().unwrap().len(), 40);
}
