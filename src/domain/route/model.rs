//! The problem made ready for the search: limits that do not change are worked out once.

use super::problem::{Break, LOADS, Load, Problem, Span, Stop, TechnicianDay};

/// No tank holds less than this asks for.
pub const UNLIMITED: i64 = i64::MAX / 4;
/// How many near stops are kept for each.
const NEAR: usize = 250;

/// What the search asks of a stop again and again; small, so that many lie in the cache.
pub struct StopModel {
    pub node: usize,
    pub service: i64,
    /// First time at which work may start.
    pub opens: i64,
    /// Last time at which work may start.
    pub closes: i64,
    pub load: Load,
    /// Empty if there is only one.
    pub windows: Box<[Span]>,
}

/// The rest of a stop.
pub struct StopWays {
    /// Technician-days that may take it.
    pub days: Vec<u32>,
    /// What late days cost, per entry of `days`.
    pub late: Vec<i64>,
    /// Is any of them late?
    pub can_be_late: bool,
    /// Cost of leaving it out.
    pub unserved: i64,
    /// Is it locked?
    pub locked: bool,
    /// Its rank among locked stops that keep their order; such a stop is never taken out.
    pub pinned: Option<u32>,
    /// Stops near it, nearest first; itself foremost.
    pub near: Vec<u32>,
}

impl StopModel {
    /// Earliest start of work for somebody who is there at `time`; `None`: too late.
    #[inline]
    pub fn start(&self, time: i64) -> Option<i64> {
        if time > self.closes {
            return None;
        }
        if self.windows.is_empty() {
            return Some(time.max(self.opens));
        }
        let window = self.windows.iter().find(|window| time <= window.to)?;
        Some(time.max(window.from))
    }

    /// Latest start of work no later than `time`; `None`: there is none.
    #[inline]
    pub fn latest_start(&self, time: i64) -> Option<i64> {
        if time < self.opens {
            return None;
        }
        if self.windows.is_empty() {
            return Some(time.min(self.closes));
        }
        let window = self.windows.iter().rev().find(|window| window.from <= time)?;
        Some(time.min(window.to))
    }
}

/// A technician-day, flat.
pub struct DayModel {
    pub start: usize,
    pub end: usize,
    pub window: Span,
    pub breaks: Vec<Break>,
    pub capacity: Load,
    /// Days alike in everything have one number: of the empty ones only the first is tried.
    pub kind: usize,
}

/// The problem, flat.
pub struct Model<'p> {
    pub problem: &'p Problem,
    pub stops: Vec<StopModel>,
    pub ways: Vec<StopWays>,
    pub days: Vec<DayModel>,
    /// Scale of one late day in the search's single figure.
    pub late_weight: i64,
    /// Priorities or locks differ between stops.
    pub ranked: bool,
}

impl<'p> Model<'p> {
    /// Works out what does not change.
    pub fn new(problem: &'p Problem) -> Self {
        let late_weight = 2 * problem.matrix.longest() + 1;
        let latest = |stop: &Stop| problem.days.iter().map(|day| stop.late_on(day.day)).max().unwrap_or(0);
        let most_late = problem.stops.iter().map(latest).max().unwrap_or(0);
        // Leaving the least important stop out costs more than any detour and any delay.
        let out = late_weight.saturating_mul(most_late + 1).min(MOST_OUT);
        let most_priority = problem.stops.iter().map(|stop| i64::from(stop.priority)).max().unwrap_or(1);
        let stops = problem.stops.iter().map(flat_stop).collect();
        let near = nearest(problem);
        let ways = problem.stops.iter().zip(near);
        let ways: Vec<StopWays> =
            ways.map(|(stop, near)| flat_ways(problem, stop, near, out, most_priority)).collect();
        let days = flat_days(problem, &ways);
        let ranked = ways.iter().any(|stop| stop.unserved != ways[0].unserved);
        Self { problem, stops, ways, days, late_weight, ranked }
    }

    /// Travel between places.
    #[inline]
    pub fn travel(&self, from: usize, to: usize) -> i64 {
        self.problem.matrix.travel(from, to)
    }

    /// The same for the rows of a day.
    #[inline]
    pub fn leg(&self, from: u32, to: u32) -> i32 {
        self.problem.matrix.ways_from(from as usize)[to as usize]
    }

    /// Travel from all places to one.
    #[inline]
    pub fn ways_to(&self, node: usize) -> &[i32] {
        self.problem.matrix.ways_to(node)
    }

    /// Travel from one place to all.
    #[inline]
    pub fn ways_from(&self, node: usize) -> &[i32] {
        self.problem.matrix.ways_from(node)
    }

    /// What late days cost if that stop goes on that day.
    pub fn late(&self, stop: usize, day: usize) -> i64 {
        let stop = &self.ways[stop];
        if !stop.can_be_late {
            return 0;
        }
        let found = stop.days.iter().position(|allowed| *allowed as usize == day);
        found.map_or(0, |position| stop.late[position])
    }
}

const MOST_OUT: i64 = 1_000_000_000_000;

fn flat_stop(stop: &Stop) -> StopModel {
    let starts = stop.starts();
    StopModel {
        node: stop.node,
        service: stop.service,
        opens: starts.first().map_or(i64::MAX, |window| window.from),
        closes: starts.last().map_or(i64::MIN, |window| window.to),
        load: stop.load,
        windows: if starts.len() > 1 { starts.into() } else { Box::default() },
    }
}

fn flat_ways(problem: &Problem, stop: &Stop, near: Vec<u32>, out: i64, most_priority: i64) -> StopWays {
    let starts = stop.starts();
    let days: Vec<u32> = (0..problem.days.len())
        .filter(|day| may_take(stop, *day, &problem.days[*day]) && meets(&starts, &problem.days[*day]))
        .filter_map(|day| u32::try_from(day).ok())
        .collect();
    let late: Vec<i64> = days.iter().map(|day| stop.late_on(problem.days[*day as usize].day)).collect();
    let above = if stop.locked.is_some() { most_priority * 1000 } else { 0 };
    StopWays {
        days,
        can_be_late: late.iter().any(|late| *late > 0),
        late,
        unserved: out.saturating_mul(i64::from(stop.priority) + above).min(MOST_OUT * 1000),
        locked: stop.locked.is_some(),
        pinned: stop.locked.and_then(|lock| lock.order),
        near,
    }
}

/// May that technician-day take the stop, times apart?
pub fn may_take(stop: &Stop, position: usize, day: &TechnicianDay) -> bool {
    let listed = stop.only.as_ref().is_none_or(|only| only.contains(&position));
    let locked_elsewhere = stop.locked.is_some_and(|lock| lock.day != position);
    let released = stop.release.is_none_or(|release| release <= day.day);
    listed && !locked_elsewhere && released && has_skills(stop, day) && holds(stop, day)
}

/// Has the technician all skills?
pub fn has_skills(stop: &Stop, day: &TechnicianDay) -> bool {
    stop.skills.iter().all(|skill| day.skills.contains(skill))
}

/// Does the empty truck's tank hold the load?
pub fn holds(stop: &Stop, day: &TechnicianDay) -> bool {
    (0..LOADS).all(|load| day.capacity[load].is_none_or(|most| stop.load[load] <= most))
}

/// Could work start within the working hours?
pub fn meets(starts: &[Span], day: &TechnicianDay) -> bool {
    starts.iter().any(|window| window.from <= day.window.to && day.window.from <= window.to)
}

fn flat_days(problem: &Problem, stops: &[StopWays]) -> Vec<DayModel> {
    let mut taken_by: Vec<Vec<(u32, i64)>> = vec![Vec::new(); problem.days.len()];
    for (index, stop) in (0_u32..).zip(stops) {
        for (day, late) in stop.days.iter().zip(&stop.late) {
            taken_by[*day as usize].push((index, *late));
        }
    }
    let mut kinds = std::collections::HashMap::new();
    let flat = |(day, taken): (&TechnicianDay, Vec<(u32, i64)>)| {
        let capacity = day.capacity.map(|most| most.unwrap_or(UNLIMITED));
        let next = kinds.len();
        let key = (day.start, day.end, day.window, day.breaks.clone(), capacity, taken);
        let kind = *kinds.entry(key).or_insert(next);
        let (start, end, window) = (day.start, day.end, day.window);
        DayModel { start, end, window, breaks: day.breaks.clone(), capacity, kind }
    };
    problem.days.iter().zip(taken_by).map(flat).collect()
}

fn nearest(problem: &Problem) -> Vec<Vec<u32>> {
    let matrix = &problem.matrix;
    let count = u32::try_from(problem.stops.len()).unwrap_or(0);
    let keep = NEAR.min(problem.stops.len());
    let around = |(index, stop): (u32, &Stop)| {
        let key = |other: &u32| {
            let node = problem.stops[*other as usize].node;
            (*other != index, matrix.travel(stop.node, node) + matrix.travel(node, stop.node), *other)
        };
        let mut near: Vec<u32> = (0..count).collect();
        if keep < near.len() {
            near.select_nth_unstable_by_key(keep, key);
            near.truncate(keep);
        }
        near.sort_unstable_by_key(key);
        near
    };
    (0..count).zip(&problem.stops).map(around).collect()
}
