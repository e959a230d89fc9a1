//! The planner at work: how long, how far, and when to stop.
use super::engine::{Driven, Question};
use crate::domain::route::{Budget, Flow, Plan, Progress, faults, solve};
use rust_decimal::Decimal;
use std::{
    sync::{
        Mutex, MutexGuard, PoisonError,
        atomic::{AtomicBool, Ordering},
    },
    time::Instant,
};

/// How long a calculation goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// As many seconds as were asked for.
    AsAsked,
    /// So many rounds: the same plan each time, whatever the machine.
    Rounds(u64),
}

/// The best plan so far, in figures.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Best {
    pub percent: i32,
    pub minutes: Option<i32>,
    /// Told at the end alone.
    pub miles: Option<Decimal>,
    pub unserved: Option<i32>,
}

/// What the worker and the one who watches it share.
#[derive(Debug, Default)]
pub struct Shared {
    stop: AtomicBool,
    best: Mutex<Best>,
}

impl Shared {
    /// Asks for the end.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// How far it is.
    pub fn best(&self) -> Best {
        *self.lock()
    }

    fn lock(&self) -> MutexGuard<'_, Best> {
        // Figures are whole whatever happened to the thread that wrote them.
        self.best.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Ends the search when whoever waits for it has gone.
#[derive(Debug)]
pub struct StopWithMe(pub std::sync::Arc<Shared>);

impl Drop for StopWithMe {
    fn drop(&mut self) {
        self.0.stop();
    }
}

impl Limit {
    /// The rounds, or the seconds that were asked for.
    #[must_use]
    pub fn within(self, seconds: f64) -> Effort {
        match self {
            Self::AsAsked => Effort::Seconds(seconds.max(0.001)),
            Self::Rounds(rounds) => Effort::Rounds(rounds),
        }
    }
}

/// How much work one search is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Effort {
    Seconds(f64),
    Rounds(u64),
}

/// Searches until the effort is used up or somebody asks for the end; the best plan so far.
///
/// # Errors
/// What is wrong with the question, in words.
pub fn search(question: &Question, dice: i64, effort: Effort, shared: &Shared) -> Result<Plan, String> {
    let wrong: Vec<String> = faults(&question.problem)
        .iter()
        .map(|f| format!("{}[{}].{} {}", f.list, f.index, f.member, f.words))
        .collect();
    if !wrong.is_empty() {
        return Err(wrong.join("; "));
    }
    let began = Instant::now();
    let used = |seconds: f64| if shared.is_stopped() { 1.0 } else { began.elapsed().as_secs_f64() / seconds };
    let mut share;
    let budget = match effort {
        Effort::Rounds(rounds) => Budget::Rounds(rounds),
        Effort::Seconds(seconds) => {
            share = move || used(seconds);
            Budget::Share(&mut share)
        }
    };
    let mut watch = |progress: &Progress| {
        shared.lock().is_at(progress);
        if shared.is_stopped() { Flow::Stop } else { Flow::Continue }
    };
    let plan = solve(&question.problem, budget, dice.unsigned_abs(), &mut watch);
    let share = shared.lock().percent;
    let driven = question.driven_in(&plan);
    *shared.lock() = Best {
        percent: if shared.is_stopped() { share } else { 100 },
        minutes: Some(driven.minutes()),
        miles: Some(driven.tenths()),
        unserved: Some(question.unserved(&plan)),
    };
    Ok(plan)
}

impl Best {
    /// The planner tells travel and weights while it searches; miles and numbers are told at the end.
    #[expect(clippy::cast_possible_truncation, reason = "a share lies from 0 to 1")]
    fn is_at(&mut self, progress: &Progress) {
        self.percent = (progress.share * 100.0).floor() as i32;
        self.minutes = Some(Driven { seconds: progress.best.travel, miles: 0.0 }.minutes());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_goes_ends_the_search() {
        let shared = std::sync::Arc::new(Shared::default());
        drop(StopWithMe(shared.clone()));
        assert!(shared.is_stopped());
    }
}
