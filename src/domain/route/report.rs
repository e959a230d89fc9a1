//! From the orders that the search found to a plan with times and reasons.

use super::labels::{NEVER, end_of};
use super::model::Model;
use super::plan::{BreakTaken, Cost, DayRoute, Plan, Unserved, Visit};
use super::why::why;

/// The plan with these orders.
pub fn plan(model: &Model<'_>, orders: &[Vec<u32>], rounds: u64) -> Plan {
    let mut plan = Plan { rounds, ..Plan::default() };
    let mut served = vec![false; model.stops.len()];
    for (day, order) in orders.iter().enumerate().filter(|(_, order)| !order.is_empty()) {
        for stop in order {
            served[*stop as usize] = true;
            plan.cost.late += model.late(*stop as usize, day);
        }
        let route = route(model, day, order);
        plan.cost.travel += route.travel;
        plan.cost.uneven += i128::from(route.back - model.days[day].window.from).pow(2);
        plan.routes.push(route);
    }
    for stop in (0..served.len()).filter(|stop| !served[*stop]) {
        let Cost { locks, unserved, .. } = &mut plan.cost;
        *locks += i64::from(model.ways[stop].locked);
        *unserved += i64::from(model.problem.stops[stop].priority);
        plan.unserved.push(Unserved { stop, why: why(model, orders, stop) });
    }
    plan
}

/// How far a day has come, with so many breaks behind it.
#[derive(Clone)]
struct Way {
    time: i64,
    breaks: Vec<BreakTaken>,
    visits: Vec<Visit>,
}

/// One day with its times. For each number of breaks taken the earliest way is followed; the one that
/// is back earliest is shown.
fn route(model: &Model<'_>, day: usize, order: &[u32]) -> DayRoute {
    let of = &model.days[day];
    let mut ways: Vec<Option<Way>> = vec![None; of.breaks.len() + 1];
    ways[0] = Some(Way { time: of.window.from, breaks: Vec::new(), visits: Vec::new() });
    pause(model, day, &mut ways, 0, false);
    let mut from = of.start;
    let mut travel = 0;
    for (position, stop) in order.iter().enumerate() {
        let index = *stop as usize;
        let stop = &model.stops[index];
        let drive = model.travel(from, stop.node);
        travel += drive;
        from = stop.node;
        for way in ways.iter_mut().flatten() {
            way.time += drive;
            way.visits.push(Visit { stop: index, arrive: way.time, start: 0, leave: 0 });
        }
        pause(model, day, &mut ways, position, true);
        for slot in &mut ways {
            let start = slot.as_ref().and_then(|way| stop.start(way.time));
            match (start, slot.as_mut().and_then(|way| way.visits.last_mut())) {
                (Some(start), Some(visit)) => (visit.start, visit.leave) = (start, start + stop.service),
                _ => *slot = None,
            }
            if let Some(way) = slot {
                way.time = way.visits.last().map_or(NEVER, |visit| visit.leave);
            }
        }
        pause(model, day, &mut ways, position + 1, false);
    }
    let drive = model.travel(from, of.end);
    travel += drive;
    for way in ways.iter_mut().flatten() {
        way.time += drive;
    }
    pause(model, day, &mut ways, order.len(), true);
    let over = |(taken, way): (usize, Option<Way>)| {
        way.filter(|way| of.breaks.get(taken).is_none_or(|pause| way.time <= pause.start.to))
    };
    let best = ways.into_iter().enumerate().filter_map(over).min_by_key(|way| way.time);
    let way = best.unwrap_or(Way { time: NEVER, breaks: Vec::new(), visits: Vec::new() });
    DayRoute { day, visits: way.visits, breaks: way.breaks, back: way.time, travel }
}

/// Takes breaks where that gives a way, or an earlier way, with one more break.
fn pause(model: &Model<'_>, day: usize, ways: &mut [Option<Way>], after: usize, on_arrival: bool) {
    for (taken, pause) in model.days[day].breaks.iter().enumerate() {
        let Some(way) = &ways[taken] else { continue };
        let Some(end) = end_of(pause, way.time) else { continue };
        if ways[taken + 1].as_ref().is_none_or(|known| end < known.time) {
            let mut way = way.clone();
            let start = end - pause.length;
            way.breaks.push(BreakTaken { after, on_arrival, start, end });
            way.time = end;
            ways[taken + 1] = Some(way);
        }
    }
}
