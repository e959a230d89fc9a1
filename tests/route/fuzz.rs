//! Problems that were right and then had something broken at random: there is
//! always a plan that keeps its limits or a list of pointers, never a panic.

use crate::checker::check;
use crate::support::{Dice, problem};
use serde_json::{Value, json};

const CASES: u64 = 3000;

fn odd(dice: &mut Dice) -> Value {
    let odd = [
        json!(null),
        json!(true),
        json!(-1),
        json!(0),
        json!(1),
        json!(1.5),
        json!(1e300),
        json!(i64::MAX),
        json!(i64::MIN),
        json!(1_000_000_000_000_i64),
        json!(100_000_000),
        json!(u64::MAX),
        json!(""),
        json!("0"),
        json!("1e5"),
        json!("9".repeat(50)),
        json!(format!("0.{}1", "0".repeat(40))),
        json!("t0"),
        json!([]),
        json!({}),
        json!([[], {}]),
        json!([0, 1_000_000]),
        json!([5, 1]),
        json!(["t0", "t0"]),
        json!({ "technician": "t0", "start": 10, "order": 1 }),
        json!([{ "start": [0, 9], "length": 0 }]),
    ];
    odd[dice.below(26) as usize].clone()
}

const KEYS: [&str; 12] = [
    "only",
    "locked",
    "breaks",
    "windows",
    "window",
    "late_cost",
    "release",
    "due",
    "seconds",
    "seed",
    "day",
    "x~/y",
];

fn break_something(tree: &mut Value, dice: &mut Dice) {
    match tree {
        Value::Array(list) if !list.is_empty() && !dice.one_in(8) => {
            let at = dice.below(list.len() as i64) as usize;
            break_something(&mut list[at], dice);
        }
        Value::Object(members) if !members.is_empty() && !dice.one_in(8) => {
            if dice.one_in(5) {
                members.insert(KEYS[dice.below(12) as usize].into(), odd(dice));
                return;
            }
            let key = members.keys().nth(dice.below(members.len() as i64) as usize).unwrap().clone();
            break_something(&mut members[&key], dice);
        }
        value => *value = odd(dice),
    }
}

#[test]
fn broken_problems_never_panic() {
    let (mut planned, mut refused) = (0, 0);
    for number in 0..CASES {
        let mut dice = Dice::new(number);
        let mut asked = problem(&mut dice, 6, 3, 5);
        for _ in 0..=dice.below(3) {
            break_something(&mut asked, &mut dice);
        }
        if asked["iterations"].as_i64().is_some_and(|rounds| rounds > 1000) {
            continue;
        }
        match plantward::calc::route::run(&asked.to_string(), &mut || 1e9) {
            Ok(answer) => {
                let answer = serde_json::from_str(&answer).unwrap();
                check(&asked, &answer).unwrap_or_else(|broken| panic!("{broken}\n{asked}\n{answer}"));
                planned += 1;
            }
            Err(errors) => {
                let errors: Vec<Value> = serde_json::from_str(&errors).unwrap();
                assert!(!errors.is_empty() && errors.iter().all(|error| error["pointer"].is_string()));
                refused += 1;
            }
        }
    }
    assert!(planned > 50 && refused > 200, "{planned} planned, {refused} refused");
}
