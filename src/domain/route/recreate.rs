//! Putting what was taken out back in, each stop where it costs least.

use super::chance::Dice;
use super::day::Place;
use super::state::State;

/// A best place is passed over so often, so that the same ruin does not always end alike.
const PASSED_OVER: f64 = 0.01;
/// Cells of the memory of best places; larger problems go without.
const MOST_CELLS: usize = 4_000_000;

/// What was found for a stop on a day in that version of the day.
#[derive(Clone, Copy)]
struct Known {
    version: u64,
    /// `i32::MAX`: there is no place.
    travel: i32,
    position: u32,
}

const NO_PLACE: i32 = i32::MAX;

/// Scratch room of the recreation.
pub struct Recreate {
    known: Vec<Known>,
    days: usize,
    seen_empty: Vec<u64>,
    round: u64,
    until_passed: u32,
    waiting: Vec<u32>,
}

impl Recreate {
    /// Room for a problem of that size.
    pub fn new(stops: usize, days: usize) -> Self {
        let cells = if stops * days <= MOST_CELLS { stops * days } else { 0 };
        Self {
            known: vec![Known { version: 0, travel: NO_PLACE, position: 0 }; cells],
            days,
            seen_empty: vec![0; days],
            round: 0,
            until_passed: 100,
            waiting: Vec::new(),
        }
    }

    /// Puts back whatever fits.
    pub fn run(&mut self, state: &mut State<'_, '_>, dice: &mut Dice) {
        let mut waiting = std::mem::take(&mut self.waiting);
        waiting.clear();
        waiting.append(&mut state.absent);
        sort(state, dice, &mut waiting);
        for stop in &waiting {
            // What could not be kept in its order at the beginning stays out.
            if state.model.ways[*stop as usize].pinned.is_some() {
                state.absent.push(*stop);
                continue;
            }
            match self.cheapest(state, dice, *stop) {
                Some((day, position)) => state.insert(*stop, day, position as usize),
                None => state.absent.push(*stop),
            }
        }
        self.waiting = waiting;
    }

    /// The cheapest day and position for a stop.
    fn cheapest(&mut self, state: &State<'_, '_>, dice: &mut Dice, stop: u32) -> Option<(usize, u32)> {
        self.round += 1;
        let model = state.model;
        let of = &model.ways[stop as usize];
        let mut best = (i64::MAX, 0, 0);
        for (day, late) in of.days.iter().zip(&of.late) {
            let day = *day as usize;
            if state.marks[day].empty {
                let kind = model.days[day].kind;
                if self.seen_empty[kind] == self.round {
                    continue;
                }
                self.seen_empty[kind] = self.round;
            }
            let Some(mut place) = self.place(state, stop, day) else { continue };
            if late * model.late_weight + place.travel >= best.0 {
                continue;
            }
            self.until_passed -= 1;
            if self.until_passed == 0 {
                self.until_passed = next_passed(dice);
                match state.days[day].best_place(model, stop, Some(place.position)) {
                    Some(second) => place = second,
                    None => continue,
                }
            }
            let figure = late * model.late_weight + place.travel;
            if figure < best.0 {
                best = (figure, day, place.position);
            }
        }
        (best.0 < i64::MAX).then_some((best.1, best.2))
    }

    #[inline]
    fn place(&mut self, state: &State<'_, '_>, stop: u32, day: usize) -> Option<Place> {
        let version = state.marks[day].version;
        let Some(known) = self.known.get_mut(stop as usize * self.days + day) else {
            return state.days[day].best_place(state.model, stop, None);
        };
        if known.version != version {
            known.version = version;
            let place = state.days[day].best_place(state.model, stop, None);
            known.travel = place.and_then(|place| i32::try_from(place.travel).ok()).unwrap_or(NO_PLACE);
            known.position = place.map_or(0, |place| place.position);
        }
        let Known { travel, position, .. } = *known;
        (travel != NO_PLACE).then_some(Place { travel: i64::from(travel), position })
    }
}

/// How many places until one is passed over.
fn next_passed(dice: &mut Dice) -> u32 {
    let draws = (1.0 - dice.fraction()).ln() / (1.0 - PASSED_OVER).ln();
    draws as u32 + 1
}

/// The order in which stops are put back: at random, or the hardest first in one sense or another.
fn sort(state: &State<'_, '_>, dice: &mut Dice, waiting: &mut [u32]) {
    let model = state.model;
    dice.shuffle(waiting);
    let of = |stop: &u32| &model.stops[*stop as usize];
    let away = |stop: &u32| {
        let day = model.ways[*stop as usize].days.first();
        day.map_or(0, |day| model.travel(model.days[*day as usize].start, of(stop).node))
    };
    match dice.below(17) {
        0..4 => {}
        4..7 => waiting.sort_by_key(|stop| std::cmp::Reverse(of(stop).load)),
        7..9 => waiting.sort_by_key(|stop| std::cmp::Reverse(away(stop))),
        9..10 => waiting.sort_by_key(away),
        10..13 => waiting.sort_by_key(|stop| of(stop).closes.saturating_sub(of(stop).opens)),
        13..15 => waiting.sort_by_key(|stop| of(stop).opens),
        _ => waiting.sort_by_key(|stop| std::cmp::Reverse(of(stop).closes)),
    }
    if model.ranked && dice.one_in(2) {
        waiting.sort_by_key(|stop| std::cmp::Reverse(model.ways[*stop as usize].unserved));
    }
}
