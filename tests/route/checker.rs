//! Checks a plan against the problem as it was asked, in JSON on both sides.
//! Nothing of the planner is used: times, loads, travel and late days are
//! worked out anew from the raw members.

use serde_json::Value;
use std::collections::{HashMap, HashSet};

/// What the checker found the plan to cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Found {
    pub unserved: i64,
    pub late: i64,
    pub travel: i64,
}

fn number(value: &Value) -> i64 {
    value.as_i64().unwrap_or_else(|| panic!("{value} is no whole number"))
}

fn pair(value: &Value) -> (i64, i64) {
    (number(&value[0]), number(&value[1]))
}

fn texts(value: &Value) -> HashSet<&str> {
    value.as_array().map(|list| list.iter().filter_map(Value::as_str).collect()).unwrap_or_default()
}

/// Millionths, so that decimals are added exactly.
fn millionths(value: &Value) -> i128 {
    let text = value.as_str().unwrap_or_else(|| panic!("{value} is no decimal string"));
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let part = format!("{part:0<6}");
    whole.parse::<i128>().unwrap() * 1_000_000 + part[..6].parse::<i128>().unwrap()
}

/// Loads as a list of up to two.
fn loads(value: &Value) -> Vec<i128> {
    match value {
        Value::Null => vec![],
        Value::Array(list) => list.iter().map(millionths).collect(),
        one => vec![millionths(one)],
    }
}

fn by_id(list: &Value) -> HashMap<&str, &Value> {
    list.as_array().unwrap().iter().map(|item| (item["id"].as_str().unwrap(), item)).collect()
}

/// Checks everything; gives the cost or what is broken.
///
/// # Errors
/// The first limit that the plan breaks, in words.
pub fn check(problem: &Value, plan: &Value) -> Result<Found, String> {
    let (days, stops) = (by_id(&problem["technicians"]), by_id(&problem["stops"]));
    let mut found = Found::default();
    let (mut seen, mut used) = (HashSet::new(), HashSet::new());
    for route in plan["routes"].as_array().unwrap() {
        let id = route["technician"].as_str().unwrap();
        let day = days.get(id).ok_or(format!("{id} is no technician-day"))?;
        if !used.insert(id) {
            return Err(format!("{id} has two routes"));
        }
        let visits = route["stops"].as_array().unwrap();
        let mut order = vec![];
        for visit in visits {
            let name = visit["id"].as_str().unwrap();
            let stop = stops.get(name).ok_or(format!("{name} is no stop"))?;
            if !seen.insert(name) {
                return Err(format!("{name} is served twice"));
            }
            may_go(id, day, stop)?;
            found.late += late(day, stop);
            order.push(*stop);
        }
        tank(id, day, &order)?;
        let travel = times(problem, day, &order, route)?;
        if number(&route["travel"]) != travel {
            return Err(format!("{id} states a travel of {}, it is {travel}", route["travel"]));
        }
        found.travel += travel;
    }
    for out in plan["unserved"].as_array().unwrap() {
        let name = out["id"].as_str().unwrap();
        let stop = stops.get(name).ok_or(format!("{name} is no stop"))?;
        if !seen.insert(name) {
            return Err(format!("{name} is both served and not"));
        }
        if out["why"].as_str().is_none_or(|why| why.len() < 10) {
            return Err(format!("{name} stays out without a reason"));
        }
        found.unserved += stop["priority"].as_i64().unwrap_or(1);
    }
    if seen.len() != stops.len() {
        return Err(format!("{} of {} stops are accounted for", seen.len(), stops.len()));
    }
    if number(&plan["travel"]) != found.travel {
        return Err(format!("the plan states a travel of {}, it is {}", plan["travel"], found.travel));
    }
    Ok(found)
}

fn may_go(id: &str, day: &Value, stop: &Value) -> Result<(), String> {
    let name = &stop["id"];
    if !texts(&stop["skills"]).is_subset(&texts(&day["skills"])) {
        return Err(format!("{id} lacks a skill for {name}"));
    }
    if !stop["only"].is_null() && !texts(&stop["only"]).contains(id) {
        return Err(format!("{name} may not go on {id}"));
    }
    if stop["release"].as_i64().is_some_and(|release| release > day["day"].as_i64().unwrap_or(0)) {
        return Err(format!("{name} goes before its release on {id}"));
    }
    if stop["locked"]["technician"].as_str().is_some_and(|locked| locked != id) {
        return Err(format!("{name} is locked and moved to {id}"));
    }
    Ok(())
}

fn late(day: &Value, stop: &Value) -> i64 {
    let due = stop["due"].as_i64().unwrap_or(i64::MAX / 2);
    (day["day"].as_i64().unwrap_or(0) - due).max(0) * stop["late_cost"].as_i64().unwrap_or(1)
}

fn tank(id: &str, day: &Value, order: &[&Value]) -> Result<(), String> {
    for (kind, most) in loads(&day["capacity"]).into_iter().enumerate() {
        let total: i128 = order.iter().map(|s| loads(&s["load"]).get(kind).copied().unwrap_or(0)).sum();
        if total > most {
            return Err(format!("{id} carries {total} of {most} millionths"));
        }
    }
    Ok(())
}

/// Follows the stated times: nothing may be earlier than the drive allows, work starts inside a window
/// and takes as long as it takes, breaks lie where they may. Gives the travel.
fn times(problem: &Value, day: &Value, order: &[&Value], route: &Value) -> Result<i64, String> {
    let id = &day["id"];
    let drive = |from: i64, to: i64| number(&problem["matrix"][from as usize][to as usize]);
    let none = vec![];
    let breaks = route["breaks"].as_array().unwrap_or(&none);
    let taken = |after: usize, at: &str| {
        let at = at.to_owned();
        breaks.iter().filter(move |b| b["after"] == after && b["at"] == at.as_str())
    };
    let hours = pair(&day["window"]);
    let (mut time, mut place, mut travel) = (hours.0, number(&day["start"]), 0);
    let pause = |time: &mut i64, after: usize, at: &str| {
        for b in taken(after, at) {
            if number(&b["start"]) < *time {
                return Err(format!("{id} begins a break before it is free"));
            }
            *time = number(&b["end"]);
        }
        Ok(())
    };
    for (position, (stop, visit)) in order.iter().zip(route["stops"].as_array().unwrap()).enumerate() {
        pause(&mut time, position, "before")?;
        let leg = drive(place, number(&stop["node"]));
        let (arrive, start, leave) =
            (number(&visit["arrive"]), number(&visit["start"]), number(&visit["leave"]));
        if arrive != time + leg {
            return Err(format!("{} is reached at {}, not at {arrive}", visit["id"], time + leg));
        }
        time = arrive;
        pause(&mut time, position, "next")?;
        if start < time || leave != start + number(&stop["service"]) || !opens(stop, start) {
            return Err(format!("{} has work at {start} to {leave}, free at {time}", visit["id"]));
        }
        (time, place, travel) = (leave, number(&stop["node"]), travel + leg);
    }
    pause(&mut time, order.len(), "before")?;
    let leg = drive(place, number(&day["end"]));
    let back = time + leg;
    pause(&mut time, order.len(), "next")?;
    if back > hours.1 {
        return Err(format!("{id} is back at {back}, hours end at {}", hours.1));
    }
    breaks_kept(day, breaks, back)?;
    locks_in_order(id, order)?;
    Ok(travel + leg)
}

fn opens(stop: &Value, start: i64) -> bool {
    if let Some(locked) = stop["locked"]["start"].as_i64() {
        return start == locked;
    }
    let inside = |window: &Value| (pair(window).0..=pair(window).1).contains(&start);
    match (&stop["window"], stop["windows"].as_array()) {
        (Value::Null, None) => true,
        (Value::Null, Some(windows)) => windows.iter().any(inside),
        (window, _) => inside(window),
    }
}

/// The breaks taken are the first ones of the day, in order, in their windows and of their length; the
/// day is over by the latest start of the first that was not taken.
fn breaks_kept(day: &Value, taken: &[Value], back: i64) -> Result<(), String> {
    let none = vec![];
    let asked = day["breaks"].as_array().unwrap_or(&none);
    for (asked, taken) in asked.iter().zip(taken) {
        let (from, to) = pair(&asked["start"]);
        let start = number(&taken["start"]);
        if start < from || start > to || number(&taken["end"]) != start + number(&asked["length"]) {
            return Err(format!("{} takes a break at {start}", day["id"]));
        }
    }
    match asked.get(taken.len()) {
        Some(missing) if back > pair(&missing["start"]).1 => Err(format!("{} misses a break", day["id"])),
        _ if taken.len() > asked.len() => Err(format!("{} takes more breaks than it has", day["id"])),
        _ => Ok(()),
    }
}

fn locks_in_order(id: &Value, order: &[&Value]) -> Result<(), String> {
    let ranks: Vec<i64> = order.iter().filter_map(|stop| stop["locked"]["order"].as_i64()).collect();
    if ranks.is_sorted() { Ok(()) } else { Err(format!("{id} has its locked stops in the order {ranks:?}")) }
}
