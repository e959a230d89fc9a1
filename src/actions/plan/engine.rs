//! Between the plan's rows and the planner of the domain.
use super::{
    options::Around,
    rules::Fits,
    travel::{Position, Roads},
    week::Week,
};
use crate::{
    db::plan::{Day, Placed, Stop},
    domain::route::{
        Break, Budget, DayRoute, Flow, Lock, Matrix, Plan, Problem, Span, TechnicianDay, Unserved, Why,
        faults, solve,
    },
};
use chrono::{NaiveDate, NaiveTime};
use rust_decimal::{Decimal, prelude::ToPrimitive};
use std::collections::HashMap;
use uuid::Uuid;

/// What leaving a stop out weighs, by the site's priority; a late one weighs twice, a promised one most.
const WEIGHTS: [u32; 3] = [10, 30, 100];
const PROMISED: u32 = 1_000;
/// Loads are counted in thousandths of a gallon.
const PARTS: Decimal = Decimal::ONE_THOUSAND;

/// A question to the planner, with the names of what stands in it.
#[derive(Debug, Clone)]
pub struct Question {
    pub problem: Problem,
    /// The stops in the problem's order, and what stays out of it with the reason.
    pub stops: Vec<Uuid>,
    pub left_out: Vec<(Uuid, String)>,
    pub days: Vec<Day>,
    /// The numbers that the problem's places have among the roads.
    places: Vec<usize>,
    roads: Roads,
}

/// What a plan or a day drives.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Driven {
    pub seconds: i64,
    pub miles: f64,
}

impl Driven {
    /// Both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { seconds: self.seconds + other.seconds, miles: self.miles + other.miles }
    }

    /// Whole minutes, to the nearest.
    #[must_use]
    pub fn minutes(self) -> i32 {
        i32::try_from((self.seconds + self.seconds.signum() * 30) / 60).unwrap_or(i32::MAX)
    }

    /// Miles to a tenth.
    #[must_use]
    pub fn tenths(self) -> Decimal {
        let mut miles = Decimal::try_from(self.miles).unwrap_or_default().round_dp(1);
        miles.rescale(1);
        miles
    }
}

impl Question {
    /// The whole week: what is past stays as it is, what is locked stays where it is.
    #[must_use]
    pub fn of_week(week: &Week, fits: &HashMap<Uuid, Fits>) -> Self {
        let around = &week.around;
        let days: Vec<Day> = around.days.iter().filter(|d| d.on_date >= week.today).cloned().collect();
        let (mut stops, mut left_out) = (vec![], vec![]);
        // In an order that does not hang on where they stand now: the same question, the same plan.
        let mut open: Vec<&Stop> = week.stops.iter().filter(|s| !week.is_past(s)).collect();
        open.sort_by_key(|s| s.id);
        for stop in open {
            if let Some(why) = gone(stop).or_else(|| around.trouble(stop)) {
                left_out.push((stop.id, why));
                continue;
            }
            let why_not = |day: &Day| around.why_not(stop, fits.get(&stop.id), day);
            let only = allowed(&days, why_not);
            match only {
                Ok(only) => stops.push((stop, only)),
                Err(_) if stop.locked => stops.push((stop, vec![])),
                Err(why) => left_out.push((stop.id, why)),
            }
        }
        Self::new(around, days, &stops, left_out)
    }

    /// One technician's day with exactly these stops in this order; those that the planner locked keep their
    /// times. It is asked whether that holds.
    #[must_use]
    pub fn of_day(around: &Around, day: &Day, stops: &[&Stop]) -> Self {
        let with: Vec<(&Stop, Vec<usize>)> = stops.iter().map(|stop| (*stop, vec![0])).collect();
        let mut question = Self::new(around, vec![day.clone()], &with, vec![]);
        for (order, (stop, asked)) in stops.iter().zip(&mut question.problem.stops).enumerate() {
            let start = stop.locked.then_some(asked.locked).flatten().and_then(|lock| lock.start);
            asked.locked = Some(Lock { day: 0, start, order: u32::try_from(order).ok() });
        }
        question
    }

    fn new(
        around: &Around,
        days: Vec<Day>,
        stops: &[(&Stop, Vec<usize>)],
        left_out: Vec<(Uuid, String)>,
    ) -> Self {
        let mut places = Places { roads: &around.roads, numbers: vec![] };
        let starts: Vec<usize> =
            days.iter().map(|d| places.number((d.start_latitude, d.start_longitude))).collect();
        let nodes: Vec<usize> = stops
            .iter()
            .map(|(s, _)| places.number((s.latitude.unwrap_or_default(), s.longitude.unwrap_or_default())))
            .collect();
        let places = places.numbers;
        let asked =
            days.iter().zip(&starts).map(|(day, start)| technician_day(around, day, *start)).collect();
        let wanted = stops.iter().zip(&nodes).map(|((s, only), node)| wanted(around, &days, s, only, *node));
        let problem =
            Problem { matrix: matrix(&around.roads, &places), days: asked, stops: wanted.collect() };
        Self {
            problem,
            stops: stops.iter().map(|(s, _)| s.id).collect(),
            left_out,
            days,
            places,
            roads: around.roads.clone(),
        }
    }

    /// What a day of the answer drives.
    #[must_use]
    pub fn driven(&self, route: &DayRoute) -> Driven {
        let day = &self.problem.days[route.day];
        let nodes = route.visits.iter().map(|v| self.problem.stops[v.stop].node);
        self.along(std::iter::once(day.start).chain(nodes).chain([day.end]))
    }

    /// What this order of stops drives on that technician's day, whether or not it can be kept.
    #[must_use]
    pub fn driven_by(&self, technician: Uuid, on: NaiveDate, order: &[Uuid]) -> Driven {
        let day = self.days.iter().position(|d| d.technician_id == technician && d.on_date == on);
        let Some(day) = day.map(|at| &self.problem.days[at]) else { return Driven::default() };
        let node = |id: &Uuid| Some(self.problem.stops[self.stops.iter().position(|s| s == id)?].node);
        self.along(std::iter::once(day.start).chain(order.iter().filter_map(node)).chain([day.end]))
    }

    fn along(&self, nodes: impl Iterator<Item = usize>) -> Driven {
        let nodes: Vec<usize> = nodes.collect();
        nodes.windows(2).fold(Driven::default(), |sum, leg| {
            let (seconds, miles) = self.roads.leg(self.places[leg[0]], self.places[leg[1]]);
            sum.and(Driven { seconds, miles })
        })
    }

    /// The whole answer.
    #[must_use]
    pub fn driven_in(&self, plan: &Plan) -> Driven {
        plan.routes.iter().map(|route| self.driven(route)).fold(Driven::default(), Driven::and)
    }

    /// Where each stop comes to stand, and why some stand nowhere.
    #[must_use]
    pub fn places(&self, around: &Around, plan: &Plan) -> Vec<(Uuid, Result<Placed, String>)> {
        let mut found = vec![];
        for route in &plan.routes {
            let day = &self.days[route.day];
            for (position, visit) in (1..).zip(&route.visits) {
                let placed = Placed {
                    technician: day.technician_id,
                    on: day.on_date,
                    position,
                    arrives_at: around.time_of(visit.arrive),
                    starts_at: around.time_of(visit.start),
                    leaves_at: around.time_of(visit.leave),
                };
                found.push((self.stops[visit.stop], Ok(placed)));
            }
        }
        found.extend(plan.unserved.iter().map(|u| (self.stops[u.stop], Err(why_words(u)))));
        found.extend(self.left_out.iter().map(|(id, why)| (*id, Err(why.clone()))));
        found
    }

    /// How many stand nowhere.
    #[must_use]
    pub fn unserved(&self, plan: &Plan) -> i32 {
        i32::try_from(plan.unserved.len() + self.left_out.len()).unwrap_or(i32::MAX)
    }
}

/// The places of one problem.
struct Places<'a> {
    roads: &'a Roads,
    numbers: Vec<usize>,
}

impl Places<'_> {
    /// The number of a place in the problem; the same place has one.
    fn number(&mut self, place: Position) -> usize {
        let number = self.roads.number(place);
        if let Some(known) = self.numbers.iter().position(|n| *n == number) {
            return known;
        }
        self.numbers.push(number);
        self.numbers.len() - 1
    }
}

/// Travel is square and kept within its limits, so that it makes a matrix; more places than the planner takes
/// are named by its own check.
fn matrix(roads: &Roads, places: &[usize]) -> Matrix {
    let row = |from: &usize| places.iter().map(|to| roads.leg(*from, *to).0).collect();
    let rows: Vec<Vec<i64>> = places.iter().map(row).collect();
    Matrix::new(&rows).or_else(|| Matrix::new(&[])).unwrap_or_else(|| unreachable!("no places make a matrix"))
}

/// A visit that is not booked any more is not planned.
fn gone(stop: &Stop) -> Option<String> {
    let status = stop.visit_status.as_deref().filter(|status| *status != "booked")?;
    Some(format!("Its visit is {status} by now."))
}

/// The days on which it may be; where there is none, each reason once.
fn allowed(days: &[Day], why_not: impl Fn(&Day) -> Option<String>) -> Result<Vec<usize>, String> {
    let (mut only, mut reasons) = (vec![], vec![]);
    for (at, day) in days.iter().enumerate() {
        match why_not(day) {
            None => only.push(at),
            Some(why) if reasons.contains(&why) => {}
            Some(why) => reasons.push(why),
        }
    }
    if !only.is_empty() {
        return Ok(only);
    }
    let nobody = "Nobody works on a day of this week that is still to come.".to_owned();
    Err(if reasons.is_empty() { nobody } else { reasons.join(" ") })
}

fn technician_day(around: &Around, day: &Day, node: usize) -> TechnicianDay {
    let at = |time| around.seconds(day.on_date, time);
    let now = around.seconds(around.now.date(), around.now.time());
    let ends = at(day.ends);
    let length = i64::from(day.break_minutes) * 60;
    let pause = day.break_from.zip(day.break_until).filter(|_| length > 0);
    TechnicianDay {
        id: format!("{} {}", day.technician_id, day.on_date),
        day: number(around, day.on_date),
        start: node,
        end: node,
        window: Span::new(at(day.starts).max(now).min(ends), ends),
        breaks: pause
            .map(|(from, until)| Break { start: Span::new(at(from), at(until) - length), length })
            .into_iter()
            .collect(),
        capacity: [day.tank_gal.and_then(|tank| (tank * PARTS).floor().to_i64()), None],
        skills: vec![],
    }
}

fn number(around: &Around, on: NaiveDate) -> i32 {
    i32::try_from((on - around.monday).num_days()).unwrap_or(i32::MIN)
}

fn wanted(
    around: &Around,
    days: &[Day],
    stop: &Stop,
    only: &[usize],
    node: usize,
) -> crate::domain::route::Stop {
    let place = stop.technician_id.zip(stop.on_date).zip(stop.starts_at).filter(|_| stop.locked);
    let locked = place.and_then(|((technician, on), at)| {
        let day = days.iter().position(|d| d.technician_id == technician && d.on_date == on)?;
        let order = stop.position.and_then(|position| u32::try_from(position).ok());
        Some(Lock { day, start: Some(around.seconds(on, at)), order })
    });
    let weight = WEIGHTS[usize::try_from(stop.priority - 1).unwrap_or(0).min(2)];
    let late = stop.due_on.is_some_and(|due| due < around.now.date());
    crate::domain::route::Stop {
        id: stop.id.to_string(),
        node,
        service: i64::from(stop.service_minutes) * 60,
        windows: around.starts(stop),
        load: [(stop.load_gal * PARTS).ceil().to_i64().unwrap_or(i64::MAX), 0],
        skills: vec![],
        only: if locked.is_some() { None } else { Some(only.to_vec()) },
        priority: weight * if late { 2 } else { 1 }
            + if stop.promised && !stop.waiting { PROMISED } else { 0 },
        release: None,
        due: stop.due_on.map(|due| number(around, due)),
        late_cost: u32::try_from(stop.plants.max(1)).unwrap_or(1),
        locked,
    }
}

/// Why the planner left a stop out, in words for the office.
fn why_words(unserved: &Unserved) -> String {
    fn words(why: &Why) -> &'static str {
        match why {
            Why::OverTank { .. } => {
                "Its water is more than the tank of any vehicle that could go there holds."
            }
            Why::TanksFull => {
                "There would be time, but the tanks are used up on every day that it could be. Give a vehicle a \
                 larger tank, or another technician a day."
            }
            Why::OutsideHours => "Nobody works while the site may be entered.",
            Why::TooFar => {
                "Even as the only stop of a day it cannot be reached in its hours and left before the day ends."
            }
            Why::DaysFull => {
                "Every day that it could be is full. Give more hours, or take something else out."
            }
            Why::LockFails(None) => "It does not fit where it is locked, beside what else is locked there.",
            Why::LockFails(Some(why)) => words(why),
            _ => "No technician's day meets all that it asks for.",
        }
    }
    words(&unserved.why).to_owned()
}

/// The day with exactly these stops in this order, with its times.
///
/// # Errors
/// The first limit that it would break, in words.
pub fn held(around: &Around, day: &Day, stops: &[&Stop]) -> Result<DayRoute, String> {
    let question = Question::of_day(around, day, stops);
    if let Some(fault) = faults(&question.problem).first() {
        return Err(format!("This cannot be worked out: {} {}.", fault.member, fault.words));
    }
    let plan = solve(&question.problem, Budget::Rounds(0), 0, &mut |_| Flow::Stop);
    match plan.routes.into_iter().next() {
        Some(route) if plan.unserved.is_empty() => Ok(route),
        _ => Err(broken(around, day, stops, &question.problem)),
    }
}

/// Which limit the order breaks first.
fn broken(around: &Around, day: &Day, stops: &[&Stop], problem: &Problem) -> String {
    let asked = &problem.days[0];
    let load: i64 = problem.stops.iter().map(|s| s.load[0]).sum();
    if asked.capacity[0].is_some_and(|tank| load > tank) {
        let gallons: Decimal = stops.iter().map(|s| s.load_gal).sum();
        let tank = day.tank_gal.unwrap_or_default().normalize();
        return format!(
            "The stops of {} on {} would take {} gal of water; the tank holds {tank}.",
            day.technician_name,
            day.on_date,
            gallons.normalize()
        );
    }
    let (mut node, mut time) = (asked.start, asked.window.from);
    for (stop, asked) in stops.iter().zip(&problem.stops) {
        time += problem.matrix.travel(node, asked.node);
        let starts = asked.starts();
        let Some(span) = starts.iter().find(|span| span.to >= time) else {
            let last = starts.last().map_or(0, |span| span.to);
            return too_late(around, day, stop, time, last);
        };
        time = time.max(span.from);
        if time >= asked_midnight(around, day) {
            return format!("{} may not be entered on {}.", stop.street, day.on_date);
        }
        time += asked.service;
        node = asked.node;
    }
    time += problem.matrix.travel(node, asked.end);
    let ends = day.ends.format("%-I:%M %P");
    if time > asked.window.to {
        let over = (time - asked.window.to + 59) / 60;
        return format!(
            "The day of {} on {} ends at {ends}; this would take {over} minutes longer.",
            day.technician_name, day.on_date
        );
    }
    format!(
        "With the break the day of {} on {} would not end by {ends}, or a stop would come too late.",
        day.technician_name, day.on_date
    )
}

fn asked_midnight(around: &Around, day: &Day) -> i64 {
    around.seconds(day.on_date, NaiveTime::MIN) + super::options::DAY
}

fn too_late(around: &Around, day: &Day, stop: &Stop, time: i64, last: i64) -> String {
    let clock = |seconds| around.time_of(seconds).format("%-I:%M %P").to_string();
    if last < around.seconds(day.on_date, NaiveTime::MIN) {
        return format!("{} may not be entered on {} or later in this week.", stop.street, day.on_date);
    }
    let why = if stop.locked { "it is locked to" } else { "work there must begin by" };
    format!("{} would be reached at {}; {why} {}.", stop.street, clock(time), clock(last))
}
