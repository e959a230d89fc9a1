//! The documented example, and what is said about problems that are wrong.

use crate::support::{errors, plan};
use serde_json::{Value, json};

fn example() -> Value {
    json!({
        "matrix": [[0, 12], [12, 0]],
        "technicians": [{
            "id": "t1-mon", "start": 0, "end": 0, "window": [0, 1236], "capacity": "200", "skills": []
        }],
        "stops": [{
            "id": "s1", "node": 1, "service": 10, "window": [161, 171], "load": "10", "skills": [],
            "only": null, "priority": 1
        }],
        "iterations": 10, "seed": 1
    })
}

#[test]
fn the_documented_example_has_this_plan() {
    let expected = json!({
        "routes": [{
            "technician": "t1-mon",
            "stops": [{ "id": "s1", "arrive": 12, "start": 161, "leave": 171 }],
            "back": 183, "travel": 24
        }],
        "unserved": [], "travel": 24, "late": 0
    });
    assert_eq!(plan(&example()), expected);
}

#[test]
fn a_mistake_is_named_where_it_stands() {
    let cases: [(&str, Value, &str); 17] = [
        ("/colour", json!(1), "unknown key"),
        ("/matrix/0", json!([0]), "has 1 entries"),
        ("/matrix/0/1", json!(-1), "whole number"),
        ("/matrix/0/1", json!(1.5), "whole number"),
        ("/technicians/0/start", json!(7), "no place 7"),
        ("/technicians/0/window", json!([10, 5]), "ends before it begins"),
        ("/technicians/0/capacity", json!(200), "decimal as a string"),
        ("/technicians/0/capacity", json!("-1"), "below zero"),
        ("/technicians/0/hours", json!(1), "unknown key"),
        ("/stops/0/node", json!(2), "no place 2"),
        ("/stops/0/load", json!("ten"), "ten"),
        ("/stops/0/priority", json!(0), "from 1"),
        ("/stops/0/only/0", json!("t9"), "no technician-day \"t9\""),
        ("/stops/0/windows", json!([[1, 2]]), "not both"),
        ("/stops/0/locked/technician", json!("t9"), "no technician-day \"t9\""),
        ("/iterations", json!("many"), "whole number"),
        ("/seconds", json!(1), "not both"),
    ];
    for (pointer, value, words) in cases {
        let mut wrong = example();
        put(&mut wrong, pointer, value);
        let found = errors(&wrong.to_string());
        let at = if pointer == "/seconds" { "/iterations" } else { pointer };
        assert!(found.iter().any(|(p, e)| p == at && e.contains(words)), "{pointer}: {found:?}");
    }
    let mut twice = example();
    twice["stops"] = json!([example()["stops"][0], example()["stops"][0]]);
    assert_eq!(errors(&twice.to_string())[0].0, "/stops/1/id");
}

/// Puts a value at a pointer, making lists and objects on the way.
fn put(tree: &mut Value, pointer: &str, value: Value) {
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    if tree.pointer(parent).is_none_or(Value::is_null) {
        let empty = if key.parse::<usize>().is_ok() { json!([null]) } else { json!({}) };
        put(tree, parent, empty);
    }
    match tree.pointer_mut(parent).unwrap() {
        Value::Array(list) => list[key.parse::<usize>().unwrap()] = value,
        object => object[key] = value,
    }
}

#[test]
fn each_reason_is_the_most_telling_one() {
    let cases: [(&str, Value, &str); 8] = [
        ("/stops/0/skills", json!(["inject"]), "has the skill: inject"),
        ("/stops/0/only", json!([]), "list of allowed technician-days is empty"),
        ("/stops/0/load", json!("200.001"), "more than the tank"),
        ("/stops/0/window", json!([5000, 6000]), "outside the working hours"),
        ("/stops/0/window", json!([0, 11]), "even as the only stop"),
        ("/stops/0/service", json!(1300), "even as the only stop"),
        ("/stops/0/release", json!(1), "released on day 1"),
        ("/stops/0/locked", json!({ "technician": "t1-mon", "start": 3 }), "locked: even as the only stop"),
    ];
    for (pointer, value, words) in cases {
        let mut asked = example();
        put(&mut asked, pointer, value);
        let answer = plan(&asked);
        assert!(answer["unserved"][0]["why"].as_str().unwrap().contains(words), "{answer}");
    }
    let mut nobody = example();
    nobody["technicians"] = json!([]);
    assert_eq!(plan(&nobody)["unserved"][0]["why"], "there is no technician-day");
}

#[test]
fn a_load_exactly_the_tank_is_taken_and_a_hair_more_is_not() {
    let mut asked = example();
    let mut second = example()["stops"][0].clone();
    second["id"] = json!("s2");
    second["window"] = json!([200, 300]);
    (asked["stops"][0]["load"], second["load"]) = (json!("199.9999"), json!("0.0001"));
    asked["stops"].as_array_mut().unwrap().push(second);
    assert_eq!(plan(&asked)["unserved"], json!([]));
    asked["stops"][1]["load"] = json!("0.00010001");
    assert!(plan(&asked)["unserved"][0]["why"].as_str().unwrap().contains("used up"));
}
