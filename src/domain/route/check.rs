//! Is a problem sound? The planner takes only sound ones.

use super::problem::{MAX_BREAKS, MAX_DAYS, MAX_STOPS, MAX_TIME, Problem, Span, Stop, TechnicianDay};

/// What is wrong with a problem: at which entry, which member, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// `technicians` or `stops`.
    pub list: &'static str,
    /// Position in the list.
    pub index: usize,
    /// Name of the member.
    pub member: &'static str,
    /// What is wrong.
    pub words: String,
}

struct Faults(Vec<Fault>);

impl Faults {
    fn at(&mut self, list: &'static str, index: usize, member: &'static str, words: impl Into<String>) {
        self.0.push(Fault { list, index, member, words: words.into() });
    }
}

const DAYS: &str = "technicians";
const STOPS: &str = "stops";

/// Everything that is wrong with a problem; empty for a sound one.
pub fn faults(problem: &Problem) -> Vec<Fault> {
    let mut found = Faults(Vec::new());
    if problem.days.len() > MAX_DAYS {
        found.at(DAYS, MAX_DAYS, "", format!("more than {MAX_DAYS} technician-days"));
    }
    if problem.stops.len() > MAX_STOPS {
        found.at(STOPS, MAX_STOPS, "", format!("more than {MAX_STOPS} stops"));
    }
    twice(&mut found, DAYS, problem.days.iter().map(|day| day.id.as_str()));
    twice(&mut found, STOPS, problem.stops.iter().map(|stop| stop.id.as_str()));
    for (index, day) in problem.days.iter().enumerate() {
        check_day(&mut found, index, day, problem.matrix.nodes());
    }
    for (index, stop) in problem.stops.iter().enumerate() {
        check_stop(&mut found, index, stop, problem);
    }
    found.0
}

fn twice<'a>(found: &mut Faults, list: &'static str, ids: impl Iterator<Item = &'a str>) {
    let mut seen = std::collections::HashSet::new();
    for (index, id) in ids.enumerate() {
        if !seen.insert(id) {
            found.at(list, index, "id", format!("\"{id}\" is given twice"));
        }
    }
}

fn sound(span: Span) -> bool {
    span.from <= span.to && in_range(span.from) && in_range(span.to)
}

fn in_range(time: i64) -> bool {
    (-MAX_TIME..=MAX_TIME).contains(&time)
}

fn check_day(found: &mut Faults, index: usize, day: &TechnicianDay, nodes: usize) {
    for (member, node) in [("start", day.start), ("end", day.end)] {
        if node >= nodes {
            found.at(DAYS, index, member, format!("the matrix has no place {node}"));
        }
    }
    if !sound(day.window) {
        found.at(DAYS, index, "window", "must end no earlier than it begins");
    }
    if day.capacity.iter().flatten().any(|most| !(0..=MAX_TIME).contains(most)) {
        found.at(DAYS, index, "capacity", format!("must lie from 0 to {MAX_TIME}"));
    }
    if day.breaks.len() > MAX_BREAKS {
        found.at(DAYS, index, "breaks", format!("at most {MAX_BREAKS}"));
    }
    let unsound = |pause: &super::Break| !sound(pause.start) || !(0..=MAX_TIME).contains(&pause.length);
    if day.breaks.iter().any(unsound) {
        found.at(DAYS, index, "breaks", "a break must end no earlier than it begins");
    }
    let ordered = |pair: &[super::Break]| {
        pair[0].start.from <= pair[1].start.from && pair[0].start.to <= pair[1].start.to
    };
    if !day.breaks.windows(2).all(ordered) {
        found.at(DAYS, index, "breaks", "must stand in their order");
    }
}

fn check_stop(found: &mut Faults, index: usize, stop: &Stop, problem: &Problem) {
    let days = problem.days.len();
    if stop.node >= problem.matrix.nodes() {
        found.at(STOPS, index, "node", format!("the matrix has no place {}", stop.node));
    }
    if !(0..=MAX_TIME).contains(&stop.service) {
        found.at(STOPS, index, "service", format!("must lie from 0 to {MAX_TIME}"));
    }
    if !stop.windows.iter().all(|window| sound(*window)) {
        found.at(STOPS, index, "windows", "each must end no earlier than it begins");
    }
    if !stop.windows.windows(2).all(|pair| pair[0].to < pair[1].from) {
        found.at(STOPS, index, "windows", "must stand in time order and apart");
    }
    if stop.load.iter().any(|load| !(0..=MAX_TIME).contains(load)) {
        found.at(STOPS, index, "load", format!("must lie from 0 to {MAX_TIME}"));
    }
    if stop.priority == 0 || stop.priority > 1_000_000 {
        found.at(STOPS, index, "priority", "must lie from 1 to 1000000");
    }
    if stop.late_cost > 1_000_000 {
        found.at(STOPS, index, "late_cost", "must lie from 0 to 1000000");
    }
    if stop.only.iter().flatten().any(|day| *day >= days) {
        found.at(STOPS, index, "only", "names a technician-day that is not there");
    }
    match stop.locked {
        Some(lock) if lock.day >= days => {
            found.at(STOPS, index, "locked", "names a technician-day that is not there");
        }
        Some(lock) if lock.start.is_some_and(|start| !in_range(start)) => {
            found.at(STOPS, index, "locked", "starts at a time that is out of range");
        }
        _ => {}
    }
}
