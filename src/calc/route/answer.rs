//! From a plan to the JSON answer.

use crate::domain::route::{BreakTaken, DayRoute, Plan, Problem};
use serde::Serialize;

/// The whole answer.
#[derive(Serialize)]
pub struct Answer {
    routes: Vec<RouteAnswer>,
    unserved: Vec<UnservedAnswer>,
    travel: i64,
    late: i64,
}

#[derive(Serialize)]
struct RouteAnswer {
    technician: String,
    stops: Vec<VisitAnswer>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    breaks: Vec<BreakAnswer>,
    back: i64,
    travel: i64,
}

#[derive(Serialize)]
struct VisitAnswer {
    id: String,
    arrive: i64,
    start: i64,
    leave: i64,
}

#[derive(Serialize)]
struct BreakAnswer {
    after: usize,
    at: &'static str,
    start: i64,
    end: i64,
}

#[derive(Serialize)]
struct UnservedAnswer {
    id: String,
    why: String,
}

/// Puts ids in the place of positions.
pub fn answer(problem: &Problem, plan: &Plan) -> Answer {
    Answer {
        routes: plan.routes.iter().map(|route| route_answer(problem, route)).collect(),
        unserved: plan
            .unserved
            .iter()
            .map(|out| UnservedAnswer { id: problem.stops[out.stop].id.clone(), why: out.why.to_string() })
            .collect(),
        travel: plan.cost.travel,
        late: plan.cost.late,
    }
}

fn route_answer(problem: &Problem, route: &DayRoute) -> RouteAnswer {
    let visit = |visit: &crate::domain::route::Visit| VisitAnswer {
        id: problem.stops[visit.stop].id.clone(),
        arrive: visit.arrive,
        start: visit.start,
        leave: visit.leave,
    };
    RouteAnswer {
        technician: problem.days[route.day].id.clone(),
        stops: route.visits.iter().map(visit).collect(),
        breaks: route.breaks.iter().map(break_answer).collect(),
        back: route.back,
        travel: route.travel,
    }
}

fn break_answer(taken: &BreakTaken) -> BreakAnswer {
    let at = if taken.on_arrival { "next" } else { "before" };
    BreakAnswer { after: taken.after, at, start: taken.start, end: taken.end }
}
