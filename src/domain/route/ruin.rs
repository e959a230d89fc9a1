//! Taking a part of the plan out: strings of stops from days near one another.
//!
//! The scheme is slack induction by string removals: J. Christiaens and G. Vanden Berghe, "Slack
//! Induction by String Removals for Vehicle Routing Problems", Transportation Science 54(2), 2020.

use super::chance::Dice;
use super::state::{NOWHERE, State};

/// Average number of stops taken out in one round.
const TAKEN: f64 = 10.0;
/// Longest string.
const LONGEST: f64 = 10.0;
/// How often a string keeps a part in its middle.
const SPLIT: f64 = 0.5;
/// How often the kept part ends growing.
const STOP_GROWING: f64 = 0.01;

/// Scratch room of the ruin.
#[derive(Default)]
pub struct Ruin {
    hit: Vec<bool>,
}

impl Ruin {
    /// Takes strings out.
    pub fn run(&mut self, state: &mut State<'_, '_>, dice: &mut Dice) {
        let used = state.days.iter().filter(|day| !day.order.is_empty()).count();
        if used == 0 {
            return;
        }
        let planned = state.model.stops.len() - state.absent.len();
        let longest = LONGEST.min(planned as f64 / used as f64);
        let strings = (4.0 * TAKEN / (1.0 + longest) - 1.0) * dice.fraction() + 1.0;
        let strings = strings as usize;
        self.hit.clear();
        self.hit.resize(state.days.len(), false);
        let model = state.model;
        let heart = dice.below(model.stops.len());
        let mut done = 0;
        for stop in &model.ways[heart].near {
            if done >= strings {
                break;
            }
            let day = state.at[*stop as usize];
            if day == NOWHERE || self.hit[day as usize] {
                continue;
            }
            self.hit[day as usize] = true;
            done += 1;
            take_string(state, dice, day as usize, *stop, longest);
        }
    }
}

/// Takes a string that holds `around` out of a day.
fn take_string(state: &mut State<'_, '_>, dice: &mut Dice, day: usize, around: u32, longest: f64) {
    let order = &state.days[day].order;
    let count = order.len();
    let Some(middle) = order.iter().position(|stop| *stop == around) else { return };
    let length = ((longest.min(count as f64) * dice.fraction()) as usize + 1).min(count);
    let mut kept = 0;
    if length > 1 && length < count && dice.fraction() < SPLIT {
        kept = 1;
        while length + kept < count && dice.fraction() > STOP_GROWING {
            kept += 1;
        }
    }
    let span = length + kept;
    let first = middle.saturating_sub(span - 1);
    let last = middle.min(count - span);
    let from = first + dice.below(last - first + 1);
    let keep_from = if kept > 0 { from + 1 + dice.below(length - 1) } else { from + span };
    let model = state.model;
    let mut taken = [0_u32; 16];
    let mut many = 0;
    state.change(day, |order| {
        let mut position = 0;
        order.retain(|stop| {
            let here = position;
            position += 1;
            let inside = here >= from && here < from + span;
            let spared = here >= keep_from && here < keep_from + kept;
            let take = inside && !spared && model.ways[*stop as usize].pinned.is_none();
            if take && many < taken.len() {
                taken[many] = *stop;
                many += 1;
            }
            !take
        });
    });
    for stop in &taken[..many] {
        state.removed(*stop);
    }
}
