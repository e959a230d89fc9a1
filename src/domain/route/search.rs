//! The search: ruin and recreate under a falling temperature.

use super::chance::Dice;
use super::model::Model;
use super::plan::{Cost, Plan};
use super::problem::Problem;
use super::recreate::Recreate;
use super::ruin::Ruin;
use super::state::State;
use super::{construct, report};

/// Temperature at the start, in mean legs of the first plan.
const HOT: f64 = 2.0;
/// Temperature at the end, in mean legs.
const COLD: f64 = 0.02;
/// Rounds between two looks at the clock.
const LOOK: u64 = 50;
/// Rounds between two reports to the watcher.
const REPORT: u64 = 1000;

/// When the search ends.
pub enum Budget<'a> {
    /// After so many rounds: the plan is a pure function of the problem, the dice and this number.
    Rounds(u64),
    /// When this says 1 or more: the share of the time that has been used, by the caller's clock.
    Share(&'a mut dyn FnMut() -> f64),
}

/// How far the search is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Rounds so far.
    pub rounds: u64,
    /// Share of the budget that has been used, 0 to 1.
    pub share: f64,
    /// Cost of the best plan so far (evenness is counted at the end).
    pub best: Cost,
}

/// What the watcher wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flow {
    /// Search on.
    Continue,
    /// Answer with the best so far.
    Stop,
}

/// Plans.
///
/// The same problem, `dice` and number of rounds give the same plan. `watch` hears of progress now and
/// then and can end the search.
///
/// # Panics
/// May panic for a problem in which [`faults`](super::faults) finds something.
pub fn solve(
    problem: &Problem,
    mut budget: Budget<'_>,
    dice: u64,
    watch: &mut dyn FnMut(&Progress) -> Flow,
) -> Plan {
    let model = Model::new(problem);
    let mut search = Search::new(&model, dice);
    let mut rounds = 0;
    if !model.stops.is_empty() && !model.days.is_empty() {
        rounds = search.run(&mut budget, watch);
    }
    report::plan(&model, &search.best, rounds)
}

struct Search<'m, 'p> {
    state: State<'m, 'p>,
    dice: Dice,
    ruin: Ruin,
    recreate: Recreate,
    best: Vec<Vec<u32>>,
    best_figure: i64,
    best_uneven: i128,
    best_cost: Cost,
    leg: f64,
}

impl<'m, 'p> Search<'m, 'p> {
    fn new(model: &'m Model<'p>, dice: u64) -> Self {
        let mut dice = Dice::new(dice);
        let mut state = State::new(model);
        let mut recreate = Recreate::new(model.stops.len(), model.days.len());
        construct::pin(&mut state);
        state.begin();
        recreate.run(&mut state, &mut dice);
        let legs = model.stops.len() + state.days.iter().filter(|day| !day.order.is_empty()).count();
        let cost = state.cost();
        let leg = (cost.travel as f64 / legs.max(1) as f64).max(1e-3);
        let best = state.orders();
        let (best_figure, best_uneven) = (state.figure, cost.uneven);
        let ruin = Ruin::default();
        Self { state, dice, ruin, recreate, best, best_figure, best_uneven, best_cost: cost, leg }
    }

    /// Searches until the budget is used; gives the number of rounds.
    fn run(&mut self, budget: &mut Budget<'_>, watch: &mut dyn FnMut(&Progress) -> Flow) -> u64 {
        let mut rounds = 0;
        let mut heat = HOT * self.leg;
        loop {
            if rounds % LOOK == 0 {
                let share = match budget {
                    Budget::Rounds(most) => rounds as f64 / (*most).max(1) as f64,
                    Budget::Share(used) => used(),
                };
                let progress = Progress { rounds, share: share.clamp(0.0, 1.0), best: self.best_cost };
                let stopped = rounds % REPORT == 0 && watch(&progress) == Flow::Stop;
                if stopped || share >= 1.0 || share.is_nan() {
                    return rounds;
                }
                heat = self.leg * HOT * (COLD / HOT).powf(share);
            }
            if matches!(budget, Budget::Rounds(most) if rounds >= *most) {
                return rounds;
            }
            self.round(heat);
            rounds += 1;
        }
    }

    fn round(&mut self, heat: f64) {
        let before = self.state.figure;
        self.state.begin();
        self.ruin.run(&mut self.state, &mut self.dice);
        self.recreate.run(&mut self.state, &mut self.dice);
        let allowed = before as f64 - heat * (1.0 - self.dice.fraction()).ln();
        if self.state.figure as f64 >= allowed || !self.state.touched_keep_time() {
            self.state.take_back();
            return;
        }
        if self.state.figure > self.best_figure {
            return;
        }
        let cost = self.state.cost();
        if self.state.figure < self.best_figure || cost.uneven < self.best_uneven {
            self.best_figure = self.state.figure;
            self.best_uneven = cost.uneven;
            self.best_cost = cost;
            self.best = self.state.orders();
        }
    }
}
