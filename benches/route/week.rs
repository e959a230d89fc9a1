//! The problems that are measured.

use super::dice::Dice;
use serde_json::{Value, json};

/// A week of so many stops; travel in seconds over an area 40 km wide. Every technician works five
/// days; two stops in five are free in the week, the others have a day or two hours of it.
pub fn week(number: u64, stops: usize, technicians: usize) -> Value {
    let mut dice = Dice::new(number);
    let mut places = vec![(20_000, 20_000)];
    places.extend((0..stops).map(|_| (dice.below(40_000), dice.below(40_000))));
    // 1.3 metres by road for one straight, 50 km/h.
    let leg = |a: &(i64, i64), b: &(i64, i64)| (straight(*a, *b) * 1.3 / 50_000.0 * 3600.0) as i64;
    let matrix: Vec<Vec<i64>> = places.iter().map(|a| places.iter().map(|b| leg(a, b)).collect()).collect();
    let mut days = vec![];
    for technician in 0..technicians {
        let skills: &[&str] = if technician % 2 == 0 { &["drench", "inject"] } else { &["drench", "spray"] };
        for day in 0..5 {
            let window = [hour(day, 8), hour(day, 16) + 1800];
            days.push(json!({ "id": format!("t{technician}-{day}"), "start": 0, "end": 0,
                "window": window, "capacity": "400", "skills": skills }));
        }
    }
    let stops: Vec<Value> = (1..=stops).map(|node| stop(&mut dice, node)).collect();
    json!({ "matrix": matrix, "technicians": days, "stops": stops })
}

fn straight(a: (i64, i64), b: (i64, i64)) -> f64 {
    ((a.0 - b.0) as f64).hypot((a.1 - b.1) as f64)
}

fn hour(day: i64, hour: i64) -> i64 {
    (day * 24 + hour) * 3600
}

fn stop(dice: &mut Dice, node: usize) -> Value {
    let day = dice.below(5);
    let window = match dice.below(10) {
        0..4 => [0, hour(5, 0)],
        4..7 => [hour(day, 8), hour(day, 16)],
        _ => {
            let from = 8 + 2 * dice.below(4);
            [hour(day, from), hour(day, from + 2)]
        }
    };
    let skill = match dice.one_in(5) {
        true => "inject",
        false if dice.one_in(4) => "spray",
        false => "drench",
    };
    json!({ "id": format!("s{node}"), "node": node, "service": 600 + 300 * dice.below(4),
        "window": window, "load": dice.between(5, 40).to_string(), "skills": [skill] })
}

/// A Solomon instance in tenths, distances truncated.
pub fn solomon(text: &str) -> Value {
    let numbers = |line: &str| line.split_whitespace().map(|word| word.parse::<i64>().ok()).collect();
    let rows: Vec<Vec<i64>> = text.lines().filter_map(numbers).collect();
    let capacity = rows.iter().find(|row| row.len() == 2).expect("number and capacity")[1].to_string();
    let places: Vec<&Vec<i64>> = rows.iter().filter(|row| row.len() == 7).collect();
    let leg = |a: &Vec<i64>, b: &Vec<i64>| (straight((a[1], a[2]), (b[1], b[2])) * 10.0 + 1e-9) as i64;
    let matrix: Vec<Vec<i64>> = places.iter().map(|a| places.iter().map(|b| leg(a, b)).collect()).collect();
    // The fleet is unlimited: one vehicle for each customer.
    let vehicle = |at: usize| {
        json!({ "id": format!("v{at}"), "start": 0, "end": 0,
        "window": [0, places[0][5] * 10], "capacity": capacity, "skills": [] })
    };
    let customer = |at: usize| {
        let row = places[at];
        json!({ "id": format!("c{at}"), "node": at, "service": row[6] * 10,
            "window": [row[4] * 10, row[5] * 10], "load": row[3].to_string(), "skills": [] })
    };
    let technicians: Vec<Value> = (1..places.len()).map(vehicle).collect();
    let stops: Vec<Value> = (1..places.len()).map(customer).collect();
    json!({ "matrix": matrix, "technicians": technicians, "stops": stops })
}

/// Gives a plan that only lists ids the earliest times, so that the checker can follow it.
pub fn fill_times(problem: &Value, plan: &mut Value) {
    let number = |value: &Value| value.as_i64().expect("a whole number");
    let list = |value: &'_ Value| value.as_array().cloned().unwrap_or_default();
    let find = |key: &str, id: &Value| list(&problem[key]).into_iter().find(|item| item["id"] == *id);
    let drive = |a: i64, b: i64| number(&problem["matrix"][a as usize][b as usize]);
    for route in plan["routes"].as_array_mut().expect("routes") {
        let day = find("technicians", &route["technician"]).expect("a technician-day");
        let (mut time, mut place, mut travel) = (number(&day["window"][0]), number(&day["start"]), 0);
        let mut visits = vec![];
        for id in list(&route["stops"]) {
            let stop = find("stops", &id).expect("a stop");
            let leg = drive(place, number(&stop["node"]));
            let start = (time + leg).max(number(&stop["window"][0]));
            let leave = start + number(&stop["service"]);
            visits.push(json!({ "id": id, "arrive": time + leg, "start": start, "leave": leave }));
            (time, place, travel) = (leave, number(&stop["node"]), travel + leg);
        }
        route["travel"] = json!(travel + drive(place, number(&day["end"])));
        route["stops"] = json!(visits);
    }
    plan["unserved"] = json!([]);
}
