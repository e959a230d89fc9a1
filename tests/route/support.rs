//! Made-up problems, from dice that fall the same way each time.

pub use crate::dice::Dice;
use serde_json::{Value, json};

/// The planner's answer to a problem that is right.
pub fn plan(problem: &Value) -> Value {
    let mut no_clock = || 0.0;
    let answer = plantward::calc::route::run(&problem.to_string(), &mut no_clock);
    serde_json::from_str(&answer.unwrap_or_else(|errors| panic!("{errors}"))).unwrap()
}

/// The planner's errors, each with its pointer.
pub fn errors(problem: &str) -> Vec<(String, String)> {
    let mut no_clock = || 0.0;
    let errors = plantward::calc::route::run(problem, &mut no_clock).expect_err("the problem is wrong");
    let errors: Vec<Value> = serde_json::from_str(&errors).unwrap();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    errors.iter().map(|error| (text(&error["pointer"]), text(&error["error"]))).collect()
}

/// A problem of that size in which every kind of limit occurs. Days are 480 long and start at 1440
/// times their number; not everything fits.
pub fn problem(dice: &mut Dice, stops: usize, days: usize, rounds: u64) -> Value {
    let places: Vec<(i64, i64)> = (0..=stops).map(|_| (dice.below(60), dice.below(60))).collect();
    let uneven = dice.one_in(3);
    let mut leg = |a: &(i64, i64), b: &(i64, i64)| {
        let straight = (a.0 - b.0).abs() + (a.1 - b.1).abs();
        // Some direct ways are far longer than the one over a third place. The few stops that are
        // solved exactly do without, since the planner promises no best plan there.
        let detour = if stops > 7 && dice.one_in(3) { 150 } else { 0 };
        straight + if uneven && a != b { dice.below(15) + detour } else { 0 }
    };
    let matrix: Vec<Vec<i64>> = places.iter().map(|a| places.iter().map(|b| leg(a, b)).collect()).collect();
    let technicians: Vec<Value> = (0..days).map(|at| technician(dice, at, stops)).collect();
    let stops: Vec<Value> = (0..stops).map(|at| stop(dice, at, days)).collect();
    json!({ "matrix": matrix, "technicians": technicians, "stops": stops, "iterations": rounds, "seed": 7 })
}

const SKILLS: [&str; 3] = ["drench", "inject", "spray"];

fn technician(dice: &mut Dice, at: usize, nodes: usize) -> Value {
    let day = i64::try_from(at).unwrap() / 2;
    let from = day * 1440;
    let skills: Vec<&str> = SKILLS.into_iter().filter(|_| !dice.one_in(4)).collect();
    let mut one = json!({
        "id": format!("t{at}"), "start": 0, "end": 0, "day": day,
        "window": [from, from + dice.between(150, 480)], "skills": skills,
    });
    if dice.one_in(4) {
        one["end"] = json!(dice.below(i64::try_from(nodes).unwrap()));
    }
    match dice.below(3) {
        0 => one["capacity"] = json!(format!("{}.5", dice.between(20, 120))),
        1 => one["capacity"] = json!(["80.25", format!("{}", dice.between(50, 200))]),
        _ => {}
    }
    if dice.one_in(2) {
        let opens = from + dice.between(0, 200);
        let mut breaks = vec![json!({ "start": [opens, opens + dice.between(0, 60)], "length": 30 })];
        if dice.one_in(3) {
            breaks.push(json!({ "start": [opens + 70, opens + 130], "length": 15 }));
        }
        one["breaks"] = json!(breaks);
    }
    one
}

fn stop(dice: &mut Dice, at: usize, days: usize) -> Value {
    let mut one = json!({
        "id": format!("s{at}"), "node": at + 1, "service": dice.between(5, 40),
        "load": format!("{}.{}", dice.between(1, 20), dice.below(1000)),
        "priority": dice.between(1, 3),
    });
    let last = i64::try_from(days).unwrap().div_euclid(2).max(1);
    let moment = |dice: &mut Dice| dice.below(last) * 1440 + dice.between(0, 400);
    match dice.below(4) {
        0 => {
            let from = moment(dice);
            one["window"] = json!([from, from + dice.between(0, 120)]);
        }
        1 => {
            let from = moment(dice);
            let then = from + dice.between(60, 100);
            one["windows"] = json!([[from, from + 20], [then, then + 50], [then + 1440, then + 1500]]);
        }
        _ => {}
    }
    if dice.one_in(4) {
        one["skills"] = json!([SKILLS[usize::try_from(dice.below(3)).unwrap()]]);
    }
    if dice.one_in(6) {
        let only: Vec<String> = (0..days).filter(|_| dice.one_in(2)).map(|day| format!("t{day}")).collect();
        one["only"] = json!(only);
    }
    if dice.one_in(4) {
        one["release"] = json!(dice.below(3));
    }
    if dice.one_in(2) {
        one["due"] = json!(dice.below(3) - 1);
        one["late_cost"] = json!(dice.between(1, 4));
    }
    one
}
