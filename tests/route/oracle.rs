//! The best plan by trying everything: slow, readable, for a handful of stops.
//!
//! Every order of every subset is driven on every day with every way of
//! taking breaks; then subsets are dealt to the days.

use crate::checker::Found;
use serde_json::Value;

fn number(value: &Value) -> i64 {
    value.as_i64().unwrap()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn thousandths(value: &Value) -> Vec<i64> {
    let one = |text: &Value| (text.as_str().unwrap().parse::<f64>().unwrap() * 1000.0).round() as i64;
    match value {
        Value::Null => vec![],
        Value::Array(both) => both.iter().map(one).collect(),
        text => vec![one(text)],
    }
}

/// May that day take the stop, time and tank apart?
pub fn allowed(day: &Value, stop: &Value) -> bool {
    let skilled = list(&stop["skills"]).iter().all(|skill| list(&day["skills"]).contains(skill));
    let listed = stop["only"].is_null() || list(&stop["only"]).contains(&day["id"]);
    let released = stop["release"].is_null() || number(&stop["release"]) <= number(&day["day"]);
    let locked = &stop["locked"]["technician"];
    skilled && listed && released && (locked.is_null() || *locked == day["id"])
}

/// Does the tank hold all of them?
pub fn carries(day: &Value, stops: &[&Value]) -> bool {
    thousandths(&day["capacity"]).iter().enumerate().all(|(kind, most)| {
        let load = |stop: &&Value| thousandths(&stop["load"]).get(kind).copied().unwrap_or(0);
        stops.iter().map(load).sum::<i64>() <= *most
    })
}

/// Can the stops be done in that order within hours, windows and breaks?
pub fn in_time(matrix: &Value, day: &Value, order: &[&Value]) -> bool {
    go(matrix, day, order, number(&day["start"]), number(&day["window"][0]), 0)
}

/// From a place at a time, with so many breaks taken: take a break here, or drive on.
fn go(matrix: &Value, day: &Value, rest: &[&Value], place: i64, time: i64, taken: usize) -> bool {
    if let Some(after) = pause(day, time, taken)
        && go(matrix, day, rest, place, after, taken + 1)
    {
        return true;
    }
    let next = rest.first().map_or(number(&day["end"]), |stop| number(&stop["node"]));
    let there = time + number(&matrix[usize::try_from(place).unwrap()][usize::try_from(next).unwrap()]);
    match rest.split_first() {
        Some((stop, rest)) => work(matrix, day, stop, rest, there, taken),
        None => home(day, there, taken),
    }
}

fn pause(day: &Value, time: i64, taken: usize) -> Option<i64> {
    let next = list(&day["breaks"]).get(taken)?;
    let start = time.max(number(&next["start"][0]));
    (start <= number(&next["start"][1])).then(|| start + number(&next["length"]))
}

fn work(matrix: &Value, day: &Value, stop: &Value, rest: &[&Value], there: i64, taken: usize) -> bool {
    if let Some(after) = pause(day, there, taken)
        && work(matrix, day, stop, rest, after, taken + 1)
    {
        return true;
    }
    let windows = match (&stop["window"], &stop["windows"]) {
        (Value::Null, Value::Null) => vec![(there, there)],
        (Value::Null, windows) => list(windows).iter().map(|w| (number(&w[0]), number(&w[1]))).collect(),
        (window, _) => vec![(number(&window[0]), number(&window[1]))],
    };
    windows.iter().any(|(opens, closes)| {
        let start = there.max(*opens);
        let done = start + number(&stop["service"]);
        start <= *closes && go(matrix, day, rest, number(&stop["node"]), done, taken)
    })
}

fn home(day: &Value, time: i64, taken: usize) -> bool {
    let in_hours = time <= number(&day["window"][1]);
    match list(&day["breaks"]).get(taken) {
        None => in_hours,
        Some(next) => {
            in_hours && time <= number(&next["start"][1])
                || pause(day, time, taken).is_some_and(|after| home(day, after, taken + 1))
        }
    }
}

/// The least travel of a day that serves exactly these stops, in any order.
fn least(matrix: &Value, day: &Value, stops: &[&Value]) -> Option<i64> {
    let mut best = None;
    let mut order = stops.to_vec();
    permute(&mut order, 0, &mut |order| {
        let mut place = number(&day["start"]);
        let mut travel = 0;
        let ends = order.iter().map(|stop| number(&stop["node"])).chain([number(&day["end"])]);
        for next in ends {
            travel += number(&matrix[usize::try_from(place).unwrap()][usize::try_from(next).unwrap()]);
            place = next;
        }
        if best.is_none_or(|best| travel < best) && in_time(matrix, day, order) {
            best = Some(travel);
        }
    });
    best
}

fn permute<T>(list: &mut [T], from: usize, visit: &mut impl FnMut(&[T])) {
    if from == list.len() {
        return visit(list);
    }
    for at in from..list.len() {
        list.swap(from, at);
        permute(list, from + 1, visit);
        list.swap(from, at);
    }
}

/// The cost of the best plan.
pub fn best(problem: &Value) -> Found {
    let stops = list(&problem["stops"]);
    let sets = 1_usize << stops.len();
    let mut dealt: Vec<Option<Found>> = vec![None; sets];
    dealt[0] = Some(Found::default());
    for day in list(&problem["technicians"]) {
        let alone: Vec<Option<Found>> = (0..sets).map(|set| day_cost(problem, day, stops, set)).collect();
        let before = dealt.clone();
        for set in 1..sets {
            let mut part = set;
            while part > 0 {
                if let (Some(mine), Some(others)) = (alone[part], before[set & !part]) {
                    let sum = Found {
                        unserved: 0,
                        late: mine.late + others.late,
                        travel: mine.travel + others.travel,
                    };
                    if dealt[set].is_none_or(|best| sum < best) {
                        dealt[set] = Some(sum);
                    }
                }
                part = (part - 1) & set;
            }
        }
    }
    let left_out = |set: usize| -> i64 {
        (0..stops.len()).filter(|at| set >> at & 1 == 0).map(|at| number(&stops[at]["priority"])).sum()
    };
    let whole =
        |(set, found): (usize, Option<Found>)| found.map(|found| Found { unserved: left_out(set), ..found });
    dealt.into_iter().enumerate().filter_map(whole).min().unwrap()
}

fn day_cost(problem: &Value, day: &Value, stops: &[Value], set: usize) -> Option<Found> {
    let mine: Vec<&Value> = (0..stops.len()).filter(|at| set >> at & 1 == 1).map(|at| &stops[at]).collect();
    if mine.is_empty() || !mine.iter().all(|stop| allowed(day, stop)) || !carries(day, &mine) {
        return None;
    }
    let late = |stop: &&Value| match stop["due"].as_i64() {
        Some(due) => (number(&day["day"]) - due).max(0) * number(&stop["late_cost"]),
        None => 0,
    };
    let travel = least(&problem["matrix"], day, &mine)?;
    Some(Found { unserved: 0, late: mine.iter().map(late).sum(), travel })
}
