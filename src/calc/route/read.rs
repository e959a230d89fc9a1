//! Reading a planner's problem.

use crate::calc::json::Json;
use crate::calc::read::{Node, Object, Problem as Mistake, Problems};
use crate::domain::quantity::Exact;
use crate::domain::route::{
    Break, LOADS, Lock, MAX_NODES, MAX_TIME, MAX_TRAVEL, Matrix, Problem, Span, Stop, TechnicianDay, faults,
};
use num_integer::Integer;
use num_traits::{One, ToPrimitive};
use std::collections::HashMap;

/// A problem and how long to work on it.
pub struct Asked {
    pub problem: Problem,
    pub until: Until,
    pub dice: u64,
}

/// When to end.
#[derive(Clone, Copy)]
pub enum Until {
    Rounds(u64),
    Seconds(f64),
}

/// Longest time limit in seconds.
const MOST_SECONDS: f64 = 86_400.0;
const MOST_ROUNDS: i64 = 1_000_000_000_000;
const MOST_DAY: i64 = 1_000_000;

type Loads = [Option<Exact>; LOADS];

/// Reads a problem; lists every mistake.
pub fn read(tree: &Json) -> Result<Asked, Vec<Mistake>> {
    let problems = Problems::default();
    let asked = whole(&Node::root(tree, &problems));
    let mut mistakes = problems.into_inner();
    match asked {
        Some(asked) if mistakes.is_empty() => {
            let pointer = |list: &str, index: usize, member: &str| match member {
                "" => format!("/{list}"),
                _ => format!("/{list}/{index}/{member}"),
            };
            mistakes.extend(faults(&asked.problem).into_iter().map(|fault| Mistake {
                pointer: pointer(fault.list, fault.index, fault.member),
                error: fault.words,
            }));
            if mistakes.is_empty() { Ok(asked) } else { Err(mistakes) }
        }
        _ => Err(mistakes),
    }
}

fn whole(root: &Node<'_>) -> Option<Asked> {
    let object = root.object(&["matrix", "technicians", "stops", "seconds", "iterations", "seed"])?;
    let matrix = object.required("matrix").and_then(|node| matrix(&node));
    let technicians = object.required("technicians").and_then(|node| node.list()).unwrap_or_default();
    let mut positions = HashMap::new();
    for (position, id) in technicians.iter().enumerate().filter_map(|(at, node)| Some((at, node.id()?))) {
        positions.entry(id).or_insert(position);
    }
    let days: Vec<_> = technicians.iter().map(|node| technician(node)).collect();
    let stops = object.required("stops").and_then(|node| node.list()).unwrap_or_default();
    let stops: Vec<_> = stops.iter().map(|node| stop(node, &positions)).collect();
    let until = until(&object);
    let dice = object.optional("seed").map_or(Some(1), |node| node.whole(0, i64::MAX));
    let dice = dice.and_then(|dice| u64::try_from(dice).ok());
    let days: Option<Vec<_>> = days.into_iter().collect();
    let stops: Option<Vec<_>> = stops.into_iter().collect();
    let (matrix, days, stops, until, dice) = (matrix?, days?, stops?, until?, dice?);
    let (days, stops) = scaled(&object, days, stops)?;
    Some(Asked { problem: Problem { matrix, days, stops }, until, dice })
}

fn until(object: &Object<'_>) -> Option<Until> {
    match (object.optional("seconds"), object.optional("iterations")) {
        (Some(seconds), None) => seconds.number(0.0, MOST_SECONDS).map(Until::Seconds),
        (None, Some(rounds)) => {
            let rounds = rounds.whole(0, MOST_ROUNDS)?;
            u64::try_from(rounds).ok().map(Until::Rounds)
        }
        (None, None) => object.wrong_at("seconds", "is missing; give seconds or iterations"),
        (Some(_), Some(_)) => object.wrong_at("iterations", "give seconds or iterations, not both"),
    }
}

fn matrix(node: &Node<'_>) -> Option<Matrix> {
    let rows = node.list()?;
    if rows.len() > MAX_NODES {
        return node.wrong(format!("has more than {MAX_NODES} places"));
    }
    let row = |row: &Node<'_>| -> Option<Vec<i64>> {
        let cells = row.wholes(0, MAX_TRAVEL)?;
        if cells.len() != rows.len() {
            return row.wrong(format!("has {} entries; the matrix has {} rows", cells.len(), rows.len()));
        }
        Some(cells)
    };
    let rows: Vec<Option<Vec<i64>>> = rows.iter().map(row).collect();
    Matrix::new(&rows.into_iter().collect::<Option<Vec<_>>>()?)
}

const TECHNICIAN: [&str; 8] = ["id", "start", "end", "window", "capacity", "skills", "breaks", "day"];

fn technician(node: &Node<'_>) -> Option<(TechnicianDay, Loads)> {
    let object = node.object(&TECHNICIAN)?;
    let id = object.required("id").and_then(|node| node.text());
    let start = object.required("start").and_then(|node| place(&node));
    let end = object.required("end").and_then(|node| place(&node));
    let window = object.required("window").and_then(|node| span(&node));
    let capacity = loads(&object, "capacity");
    let skills = texts(&object, "skills");
    let breaks: Vec<Option<Break>> = object.items("breaks").iter().map(pause).collect();
    let day = day(&object, "day", Some(0));
    let day = TechnicianDay {
        id: id?,
        day: day?.unwrap_or(0),
        start: start?,
        end: end?,
        window: window?,
        breaks: breaks.into_iter().collect::<Option<_>>()?,
        capacity: [None; LOADS],
        skills: skills?,
    };
    Some((day, capacity?))
}

fn pause(node: &Node<'_>) -> Option<Break> {
    let object = node.object(&["start", "length"])?;
    let start = object.required("start").and_then(|node| span(&node));
    let length = object.required("length").and_then(|node| node.whole(0, MAX_TIME));
    Some(Break { start: start?, length: length? })
}

const STOP: [&str; 13] = [
    "id",
    "node",
    "service",
    "window",
    "windows",
    "load",
    "skills",
    "only",
    "priority",
    "release",
    "due",
    "late_cost",
    "locked",
];

fn stop(node: &Node<'_>, positions: &HashMap<String, usize>) -> Option<(Stop, Loads)> {
    let object = node.object(&STOP)?;
    let id = object.required("id").and_then(|node| node.text());
    let place = object.required("node").and_then(|node| place(&node));
    let service = object.required("service").and_then(|node| node.whole(0, MAX_TIME));
    let windows = windows(&object);
    let load = loads(&object, "load");
    let skills = texts(&object, "skills");
    let only = only(&object, positions);
    let priority = small(&object, "priority", 1);
    let late_cost = small(&object, "late_cost", 0);
    let (release, due) = (day(&object, "release", None), day(&object, "due", None));
    let locked = match object.optional("locked") {
        Some(node) => lock(&node, positions).map(Some),
        None => Some(None),
    };
    let stop = Stop {
        id: id?,
        node: place?,
        service: service?,
        windows: windows?,
        load: [0; LOADS],
        skills: skills?,
        only: only?,
        priority: priority?,
        release: release?,
        due: due?,
        late_cost: late_cost?,
        locked: locked?,
    };
    Some((stop, load?))
}

fn lock(node: &Node<'_>, positions: &HashMap<String, usize>) -> Option<Lock> {
    let object = node.object(&["technician", "start", "order"])?;
    let day = object.required("technician").and_then(|node| known(&node, positions));
    let start = match object.optional("start") {
        Some(node) => node.whole(-MAX_TIME, MAX_TIME).map(Some),
        None => Some(None),
    };
    let order = match object.optional("order") {
        Some(node) => node.integer(0, u32::MAX).map(Some),
        None => Some(None),
    };
    Some(Lock { day: day?, start: start?, order: order? })
}

fn known(node: &Node<'_>, positions: &HashMap<String, usize>) -> Option<usize> {
    let id = node.text()?;
    match positions.get(&id) {
        Some(position) => Some(*position),
        None => node.wrong(format!("there is no technician-day \"{id}\"")),
    }
}

fn only(object: &Object<'_>, positions: &HashMap<String, usize>) -> Option<Option<Vec<usize>>> {
    let Some(node) = object.optional("only") else { return Some(None) };
    let listed: Vec<Option<usize>> = node.list()?.iter().map(|item| known(item, positions)).collect();
    listed.into_iter().collect::<Option<Vec<_>>>().map(Some)
}

fn windows(object: &Object<'_>) -> Option<Vec<Span>> {
    match (object.optional("window"), object.optional("windows")) {
        (Some(_), Some(_)) => object.wrong_at("windows", "give window or windows, not both"),
        (Some(node), None) => span(&node).map(|window| vec![window]),
        (None, Some(node)) => node.list()?.iter().map(span).collect(),
        (None, None) => Some(vec![Span::new(-MAX_TIME, MAX_TIME)]),
    }
}

fn span(node: &Node<'_>) -> Option<Span> {
    let ends = node.list()?;
    let [from, to] = ends.as_slice() else { return node.wrong("two times are expected: [from, to]") };
    let (from, to) = (from.whole(-MAX_TIME, MAX_TIME), to.whole(-MAX_TIME, MAX_TIME));
    let (from, to) = (from?, to?);
    if from > to { node.wrong("ends before it begins") } else { Some(Span { from, to }) }
}

fn place(node: &Node<'_>) -> Option<usize> {
    node.whole(0, MAX_NODES as i64).and_then(|place| usize::try_from(place).ok())
}

fn day(object: &Object<'_>, key: &str, default: Option<i32>) -> Option<Option<i32>> {
    let Some(node) = object.optional(key) else { return Some(default) };
    node.whole(-MOST_DAY, MOST_DAY).and_then(|day| i32::try_from(day).ok()).map(Some)
}

fn small(object: &Object<'_>, key: &str, least: u32) -> Option<u32> {
    object.optional(key).map_or(Some(1), |node| node.integer(least, 1_000_000))
}

fn texts(object: &Object<'_>, key: &str) -> Option<Vec<String>> {
    let Some(node) = object.optional(key) else { return Some(Vec::new()) };
    let texts: Vec<Option<String>> = node.list()?.iter().map(Node::text).collect();
    texts.into_iter().collect()
}

fn loads(object: &Object<'_>, key: &str) -> Option<Loads> {
    let Some(node) = object.optional(key) else { return Some(Loads::default()) };
    if !node.is_list() {
        return Some([Some(node.not_negative()?), None]);
    }
    let items = node.list()?;
    if items.len() > LOADS {
        return node.wrong(format!("at most {LOADS} loads are counted apart"));
    }
    let mut loads = Loads::default();
    for (load, item) in loads.iter_mut().zip(&items) {
        *load = Some(item.not_negative()?);
    }
    Some(loads)
}

type Days = Vec<TechnicianDay>;

/// Loads as whole numbers: all of one kind times their common denominator, which keeps them exact.
fn scaled(
    object: &Object<'_>,
    mut days: Vec<(TechnicianDay, Loads)>,
    mut stops: Vec<(Stop, Loads)>,
) -> Option<(Days, Vec<Stop>)> {
    for kind in 0..LOADS {
        let given = days.iter().map(|(_, loads)| loads).chain(stops.iter().map(|(_, loads)| loads));
        let common = given
            .filter_map(|loads| loads[kind].as_ref())
            .fold(num_bigint::BigInt::one(), |common, load| common.lcm(load.denom()));
        let whole = |load: &Exact| {
            let scaled = (load * Exact::from_integer(common.clone())).to_integer().to_i64();
            scaled.filter(|scaled| *scaled <= MAX_TIME)
        };
        for (index, (day, loads)) in days.iter_mut().enumerate() {
            let Some(load) = &loads[kind] else { continue };
            let Some(scaled) = whole(load) else {
                return object.wrong_at(&format!("technicians/{index}/capacity"), TOO_FINE);
            };
            day.capacity[kind] = Some(scaled);
        }
        for (index, (stop, loads)) in stops.iter_mut().enumerate() {
            let Some(load) = &loads[kind] else { continue };
            let Some(scaled) = whole(load) else {
                return object.wrong_at(&format!("stops/{index}/load"), TOO_FINE);
            };
            stop.load[kind] = scaled;
        }
    }
    Some((days.into_iter().map(|(day, _)| day).collect(), stops.into_iter().map(|(stop, _)| stop).collect()))
}

const TOO_FINE: &str = "is too large or has too many decimals to be counted beside the others";
