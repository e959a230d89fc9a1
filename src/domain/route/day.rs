//! One technician-day of a plan under construction: its stops with times and loads.

use super::labels::{NEVER, TOO_LATE, Times, ending, leaving, meet, serve, serve_back};
use super::model::{Model, StopModel};
use super::problem::{LOADS, Load};

/// The order of one technician-day and all that follows from it. The rows hold the start place at
/// position 0 and the end place last; stop `i` of the order stands at `i + 1`.
#[derive(Debug, Clone, Default)]
pub struct Day {
    pub index: usize,
    pub order: Vec<u32>,
    nodes: Vec<u32>,
    /// Travel from each place to the next.
    legs: Vec<i32>,
    /// Earliest time to leave each place.
    ready: Vec<i64>,
    /// Latest arrival at each place.
    latest: Vec<i64>,
    /// The same with breaks; empty rows where the day has none.
    ready_paused: Vec<Times>,
    latest_paused: Vec<Times>,
    pub load: Load,
    pub travel: i64,
    /// Late days of its stops.
    pub late: i64,
}

/// Where a stop fits and what that adds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Added travel.
    pub travel: i64,
    /// Position in the order.
    pub position: u32,
}

impl Day {
    /// An empty day.
    pub fn new(model: &Model<'_>, index: usize) -> Self {
        let mut day = Self { index, ..Self::default() };
        day.refresh(model);
        day
    }

    /// Works out times, load and travel from the order.
    pub fn refresh(&mut self, model: &Model<'_>) {
        let of = &model.days[self.index];
        self.nodes.clear();
        self.nodes.push(u32::try_from(of.start).unwrap_or(0));
        self.load = [0; LOADS];
        self.late = 0;
        for stop in &self.order {
            let stop_model = &model.stops[*stop as usize];
            self.nodes.push(u32::try_from(stop_model.node).unwrap_or(0));
            for (sum, load) in self.load.iter_mut().zip(stop_model.load) {
                *sum += load;
            }
            self.late += model.late(*stop as usize, self.index);
        }
        self.nodes.push(u32::try_from(of.end).unwrap_or(0));
        self.legs.clear();
        self.legs.extend(self.nodes.windows(2).map(|leg| model.leg(leg[0], leg[1])));
        if self.order.is_empty() {
            // Nobody drives from the start to the end of a day without stops.
            self.legs[0] = 0;
        }
        self.travel = self.legs.iter().map(|leg| i64::from(*leg)).sum();
        if of.breaks.is_empty() {
            self.refresh_times(model);
        } else {
            self.refresh_paused(model);
        }
    }

    fn refresh_times(&mut self, model: &Model<'_>) {
        let of = &model.days[self.index];
        let last = self.order.len() + 1;
        self.ready.resize(last + 1, 0);
        self.latest.resize(last + 1, 0);
        let mut time = of.window.from;
        self.ready[0] = time;
        for position in 1..last {
            let stop = &model.stops[self.order[position - 1] as usize];
            time += i64::from(self.legs[position - 1]);
            time = stop.start(time).map_or(NEVER, |start| start + stop.service);
            self.ready[position] = time;
        }
        let mut time = of.window.to;
        self.latest[last] = time;
        for position in (1..last).rev() {
            let stop = &model.stops[self.order[position - 1] as usize];
            time -= i64::from(self.legs[position]);
            time = stop.latest_start(time - stop.service).unwrap_or(TOO_LATE);
            self.latest[position] = time;
        }
    }

    fn refresh_paused(&mut self, model: &Model<'_>) {
        let of = &model.days[self.index];
        let last = self.order.len() + 1;
        let leg = |from: usize| i64::from(self.legs[from]);
        let stop = |position: usize| &model.stops[self.order[position - 1] as usize];
        self.ready_paused.clear();
        self.ready_paused.push(leaving(of));
        for position in 1..last {
            let next = serve(&of.breaks, &self.ready_paused[position - 1], leg(position - 1), stop(position));
            self.ready_paused.push(next);
        }
        self.latest_paused.clear();
        self.latest_paused.push(ending(of));
        for position in (1..last).rev() {
            let before = serve_back(
                &of.breaks,
                &self.latest_paused[last - position - 1],
                leg(position),
                stop(position),
            );
            self.latest_paused.push(before);
        }
        self.latest_paused.push([TOO_LATE; super::problem::MAX_BREAKS + 1]);
        self.latest_paused.reverse();
    }

    /// Does the tank still hold that load?
    #[inline]
    pub fn holds(&self, model: &Model<'_>, load: &Load) -> bool {
        let capacity = &model.days[self.index].capacity;
        (0..LOADS).all(|kind| self.load[kind] + load[kind] <= capacity[kind])
    }

    /// Does the order as it stands keep hours, windows and breaks?
    pub fn keeps_time(&self, model: &Model<'_>) -> bool {
        let last = self.order.len();
        let drive = i64::from(self.legs[last]);
        if model.days[self.index].breaks.is_empty() {
            self.ready[last] + drive <= self.latest[last + 1]
        } else {
            meet(&self.ready_paused[last], drive, &self.latest_paused[last + 1])
        }
    }

    /// From leaving to being back; 0 for an empty day.
    pub fn length(&self, model: &Model<'_>) -> i128 {
        let last = self.order.len();
        if last == 0 {
            return 0;
        }
        let drive = i64::from(self.legs[last]);
        let ready = match self.ready_paused.last() {
            Some(times) => times.iter().copied().min().unwrap_or(0),
            None => self.ready[last],
        };
        i128::from(ready + drive - model.days[self.index].window.from)
    }

    /// The cheapest place for a stop, or none, `passed` over.
    pub fn best_place(&self, model: &Model<'_>, stop: u32, passed: Option<u32>) -> Option<Place> {
        let of = &model.stops[stop as usize];
        if !self.holds(model, &of.load) {
            return None;
        }
        let paused = !model.days[self.index].breaks.is_empty();
        let (to_stop, from_stop) = (model.ways_to(of.node), model.ways_from(of.node));
        let mut best: Option<Place> = None;
        let mut best_travel = i32::MAX;
        let first = if paused { 0 } else { self.first_position(of) };
        for position in first..=self.order.len() {
            let there = to_stop[self.nodes[position] as usize];
            let on = from_stop[self.nodes[position + 1] as usize];
            if !paused && self.ready[position] > of.closes {
                break;
            }
            let added = there + on - self.legs[position];
            if added >= best_travel {
                continue;
            }
            let (there, on) = (i64::from(there), i64::from(on));
            let fits = if paused {
                self.fits_paused(model, of, position, there, on)
            } else {
                self.fits(of, position, there, on)
            };
            let position = u32::try_from(position).unwrap_or(u32::MAX);
            if fits && passed != Some(position) {
                best_travel = added;
                best = Some(Place { travel: i64::from(added), position });
            }
        }
        best
    }

    /// The first position before which there is time for the stop at all: latest arrivals only grow
    /// along a day.
    fn first_position(&self, stop: &StopModel) -> usize {
        let done = stop.opens.saturating_add(stop.service);
        self.latest[1..=self.order.len()].partition_point(|latest| *latest < done)
    }

    #[inline]
    fn fits(&self, stop: &StopModel, position: usize, there: i64, on: i64) -> bool {
        let start = stop.start(self.ready[position] + there);
        start.is_some_and(|start| start + stop.service + on <= self.latest[position + 1])
    }

    fn fits_paused(&self, model: &Model<'_>, stop: &StopModel, position: usize, there: i64, on: i64) -> bool {
        let breaks = &model.days[self.index].breaks;
        let done = serve(breaks, &self.ready_paused[position], there, stop);
        meet(&done, on, &self.latest_paused[position + 1])
    }

    /// Takes over another day's content without new memory.
    pub fn copy_from(&mut self, other: &Self) {
        self.index = other.index;
        self.order.clone_from(&other.order);
        self.nodes.clone_from(&other.nodes);
        self.legs.clone_from(&other.legs);
        self.ready.clone_from(&other.ready);
        self.latest.clone_from(&other.latest);
        self.ready_paused.clone_from(&other.ready_paused);
        self.latest_paused.clone_from(&other.latest_paused);
        self.load = other.load;
        self.travel = other.travel;
        self.late = other.late;
    }
}
