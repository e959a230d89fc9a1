//! State rules on neonicotinoid treatments of ornamental plants; the source of
//! each is named beside it.

use crate::support::{answer, scenario, with_plants};
use serde_json::{Value, json};

fn due(state: &str, ingredient: &str, today: &str, extra: Value) -> Value {
    let mut one = with_plants(scenario("1", "acre"), 1, "shrub", "8", "3");
    one["today"] = json!(today);
    one["site"]["state"] = json!(state);
    one["products"][0]["ingredients"][0]["name"] = json!(ingredient);
    one["products"][0]["caps"] = json!([]);
    for (pointer, value) in extra.as_object().unwrap() {
        let (parent, key) = pointer.rsplit_once('/').unwrap();
        one.pointer_mut(parent).unwrap()[key] = value.clone();
    }
    answer(&one)["due"][0].clone()
}

fn held(due: &Value) -> bool {
    let held = due["held_by"] == json!(["permission"]);
    assert!(held || due["held_by"] == json!([]), "{due}");
    held
}

fn exemption(state: &str) -> Value {
    json!([{ "state": state, "from": "2026-01-01", "until": "2027-12-31", "reason": "emergency order" }])
}

/// 6 V.S.A. 1105c(a)(4), in force since 1 July 2025.
#[test]
fn vermont_bars_ornamentals_unless_an_order_exempts() {
    let barred = due("VT", "imidacloprid", "2026-06-01", json!({}));
    assert!(held(&barred) && barred["allowed_on"].is_null());
    assert!(barred["why"].to_string().contains("6 V.S.A. 1105c(a)(4)"));
    assert!(!held(&due("VT", "imidacloprid", "2026-06-01", json!({ "/site/exemptions": exemption("VT") }))));
    assert!(held(&due("VT", "imidacloprid", "2026-06-01", json!({ "/site/exemptions": exemption("NY") }))));
}

/// New York DEC: ECL 33-1301(13), next step on 31 December 2026; the wording of
/// the exemption is a reading of summaries.
#[test]
fn new_york_restricts_until_30_december_2026_and_bars_from_the_31st() {
    assert!(!held(&due("NY", "imidacloprid", "2026-12-30", json!({}))));
    assert!(held(&due("NY", "imidacloprid", "2026-12-30", json!({ "/applicator": { "certified": false } }))));
    let barred = due("NY", "imidacloprid", "2026-12-31", json!({}));
    assert!(held(&barred) && barred["allowed_on"].is_null());
}

/// As above: exempt use, and a course not older than a year.
#[test]
fn new_york_asks_for_exemption_and_course() {
    let case = |ingredient: &str, today: &str, exempt: bool, course: Option<&str>| {
        let courses: Vec<Value> = course.iter().map(|on| json!({ "state": "NY", "on": on })).collect();
        let exemptions = if exempt { exemption("NY") } else { json!([]) };
        let extra = json!({ "/applicator": { "courses": courses }, "/site/exemptions": exemptions });
        held(&due("NY", ingredient, today, extra))
    };
    assert!(case("dinotefuran", "2026-06-01", false, None));
    assert!(case("dinotefuran", "2026-06-01", true, None));
    assert!(case("dinotefuran", "2026-06-01", false, Some("2026-01-10")));
    assert!(!case("dinotefuran", "2026-06-01", true, Some("2026-01-10")));
    assert!(!case("dinotefuran", "2026-06-01", true, Some("2025-06-01")));
    assert!(case("dinotefuran", "2026-06-01", true, Some("2025-05-31")));
    assert!(!case("imidacloprid", "2026-12-31", true, Some("2026-01-10")));
}

/// The search passes over days without permission: a course that lapses, an
/// exemption that begins.
#[test]
fn the_first_day_with_permission_is_found() {
    let exemption = json!([{ "state": "VT", "from": "2026-09-01", "until": "2026-10-31" }]);
    let due = due("VT", "imidacloprid", "2026-06-01", json!({ "/site/exemptions": exemption }));
    assert!(held(&due));
    assert_eq!(due["allowed_on"], "2026-09-01");
}

/// FAC 12838(c)(2): since 1 January 2025 only certified commercial applicators.
#[test]
fn california_asks_for_a_certified_applicator() {
    let uncertified = json!({ "/applicator": { "certified": false } });
    assert!(held(&due("CA", "imidacloprid", "2026-06-01", uncertified.clone())));
    assert!(!held(&due("CA", "imidacloprid", "2026-06-01", json!({}))));
    assert!(!held(&due("CA", "imidacloprid", "2024-12-30", json!({}))));
    assert!(!held(&due("CA", "azadirachtin", "2026-06-01", uncertified)));
}

/// Rhode Island law on neonicotinoids, as summarised: never on linden or on a
/// plant in bloom.
#[test]
fn rhode_island_bars_linden_and_plants_in_bloom() {
    let neonicotinoids = ["acetamiprid", "clothianidin", "dinotefuran", "imidacloprid", "thiamethoxam"];
    for ingredient in neonicotinoids {
        let linden = json!({ "/plants/0/host": "littleleaf linden" });
        assert!(held(&due("RI", ingredient, "2026-06-01", linden)));
        let camellia = json!({ "/plants/0/host": { "name": "camellia", "in_bloom": false } });
        assert!(!held(&due("RI", ingredient, "2026-06-01", camellia)));
        let blooming = json!({ "/plants/0/host": { "name": "camellia", "in_bloom": true } });
        assert!(held(&due("RI", ingredient, "2026-06-01", blooming)));
    }
}

/// Without a state nothing is asked.
#[test]
fn without_a_state_no_rule_is_checked() {
    let mut one = with_plants(scenario("1", "acre"), 1, "shrub", "8", "3");
    one["applicator"] = json!({ "certified": false });
    assert!(!held(&answer(&one)["due"][0]));
}

/// The rows of the table, each with its source beside it in the table itself:
/// what an applicator without a certification, one who works under somebody
/// certified, and a certified person may do on 1 June 2026.
#[test]
fn every_row_asks_what_its_source_says() {
    // None: the rule bars everybody without an exemption.
    let rows: [(&str, &str, &str, Option<[bool; 3]>); 13] = [
        // P.L. from bill S1016, as a trade notice states it.
        ("NJ", "imidacloprid", "part checked", None),
        // 01-026 ch. 41 s. 6.
        ("ME", "imidacloprid", "checked", None),
        // 6 V.S.A. 1105c(a)(4).
        ("VT", "imidacloprid", "checked", None),
        // ECL 33-1301(13).
        ("NY", "dinotefuran", "part checked", None),
        // New York DEC, until 30 December 2026.
        ("NY", "acetamiprid", "part checked", Some([false, true, true])),
        // FAC 12838(c)(2): the person applying.
        ("CA", "thiamethoxam", "checked", Some([false, false, true])),
        // UMass Extension.
        ("MA", "imidacloprid", "checked", Some([false, true, true])),
        // Extension answer: certified applicators only.
        ("MD", "clothianidin", "part checked", Some([false, false, true])),
        // Law on neonicotinoids, as summarised.
        ("RI", "imidacloprid", "part checked", Some([false, true, true])),
        // Law of 2016, as summarised.
        ("CT", "imidacloprid", "part checked", Some([false, true, true])),
        // SB 5972 (2024), as summarised.
        ("WA", "imidacloprid", "part checked", Some([false, true, true])),
        // From memory: named, and nothing is barred by it.
        ("CO", "imidacloprid", "unverified", Some([true, true, true])),
        ("NV", "imidacloprid", "unverified", Some([true, true, true])),
    ];
    for (state, ingredient, mark, allowed) in rows {
        let people = [
            json!({ "certified": false }),
            json!({ "certified": true, "supervised": true }),
            json!({ "certified": true }),
        ];
        let found =
            people.map(|person| due(state, ingredient, "2026-06-01", json!({ "/applicator": person })));
        assert_eq!(found.each_ref().map(|due| !held(due)), allowed.unwrap_or([false; 3]), "{state}");
        assert!(found[0]["why"].to_string().contains(&format!("({mark})")), "{state}: {}", found[0]["why"]);
        if allowed.is_none() && state != "NY" {
            let exempt = json!({ "/site/exemptions": exemption(state) });
            assert!(!held(&due(state, ingredient, "2026-06-01", exempt)), "{state}");
        }
    }
}

/// 01-026 ch. 41 s. 6: licensed treatment of listed pests on ornamentals. Which
/// pests are listed is for the state: no list ships with the program.
#[test]
fn maine_exempts_pests_that_it_lists() {
    let pest = |listed: &str, person: Value| {
        let list = json!([{ "state": listed, "pest": "Emerald ash borer" }]);
        let extra = json!({
            "/plants/0/pest": "emerald ash borer", "/site/listed_pests": list, "/applicator": person
        });
        held(&due("ME", "imidacloprid", "2026-06-01", extra))
    };
    assert!(!pest("ME", json!({})));
    assert!(pest("VT", json!({})));
    assert!(pest("ME", json!({ "certified": false })));
    assert!(held(&due("ME", "imidacloprid", "2026-06-01", json!({ "/plants/0/pest": "aphids" }))));
    assert!(!held(&due("ME", "acetamiprid", "2026-06-01", json!({}))), "not among the four of the rule");
}

/// New Jersey and Maine speak of land outside agriculture; Vermont of all
/// ornamental plants.
#[test]
fn farmed_land_is_outside_some_rules() {
    for (state, free) in [("NJ", true), ("ME", true), ("VT", false)] {
        let farmed = json!({ "/site/agricultural": true });
        assert_eq!(!held(&due(state, "imidacloprid", "2026-06-01", farmed)), free, "{state}");
    }
}

/// The rules are asked for the day of the visit, not for the day of planning.
#[test]
fn the_day_of_the_visit_counts() {
    let wanted = |on: &str| {
        let first = json!({ "/plants/0/first_wanted": on });
        due("NY", "imidacloprid", "2026-11-25", first)
    };
    assert!(!held(&wanted("2026-12-30")));
    let late = wanted("2026-12-31");
    assert!(held(&late) && late["allowed_on"].is_null());
}

/// OAR 603-057-0388, from memory: a caution and no bar.
#[test]
fn oregon_on_linden_is_a_caution() {
    let linden = json!({ "/plants/0/host": "littleleaf linden" });
    let due = due("OR", "imidacloprid", "2026-06-01", linden);
    assert!(!held(&due));
    assert!(due["why"].to_string().contains("OAR 603-057-0388 (unverified)"));
}
