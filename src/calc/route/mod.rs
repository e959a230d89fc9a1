//! The week planner on the command line: one problem in, one plan out.
//!
//! `plantward route` reads a JSON problem and answers with the plan that the server's own planner
//! finds. Whole numbers are times and travel in one unit of the caller's choice; loads are decimal
//! strings. A problem that is wrong is answered with a list of errors, each with a JSON pointer (RFC
//! 6901). Unknown keys are errors.
//!
//! | member | meaning |
//! |---|---|
//! | `matrix` | travel time between places, row by row; there and back may differ |
//! | `technicians[]` | one entry per technician-day: `id`, `start` and `end` (places), `window` `[from, to]`, `capacity` (decimal string; absent: no limit), `skills` |
//! | `stops[]` | `id`, `node` (place), `service`, `window` `[from, to]` in which work may start, `load` (decimal string), `skills`, `only` (ids of technician-days; null: any), `priority` (weight of leaving it out, 1 or more; default 1) |
//! | `seconds` or `iterations` | when to end; with `iterations` the answer depends on the input alone |
//! | `seed` | a whole number for the dice (default 1) |
//!
//! Beyond these a problem may hold:
//!
//! | member | meaning |
//! |---|---|
//! | `technicians[].breaks` | list of `{start: [from, to], length}`, at most three, in order: taken between stops; a day that is over by the latest start needs none |
//! | `technicians[].day` | number of the calendar day (default 0), for `release` and `due` |
//! | `technicians[].capacity`, `stops[].load` | also a list of two decimal strings, counted apart: say, tank mix and water |
//! | `stops[].windows` | list of windows in time order, instead of `window`; without either, any time |
//! | `stops[].release`, `stops[].due` | first day on which it may be done; last day on which it is not late |
//! | `stops[].late_cost` | what one late day counts (default 1) |
//! | `stops[].locked` | `{technician, start, order}`: stays on that technician-day; with `start` work begins exactly then, whatever the windows say; those with an `order` keep it among themselves |
//!
//! The plan leaves out as little as can be (locked stops last, then the smallest sum of `priority`),
//! then has the fewest late days, then the least travel, then the most even days. Times are as early
//! as can be. Days with breaks also list `breaks`: `{after, at, start, end}`, after so many stops of
//! the day, `at` the place `before` or the `next` one.

mod answer;
mod read;

use super::read::Problem as Mistake;
use crate::domain::route::{Budget, Flow, solve};

/// Answers a problem. `started` gives the seconds since the work began, by the caller's clock.
///
/// # Errors
/// The list of what is wrong with the problem, as JSON: `[{"pointer", "error"}]`.
pub fn run(input: &str, seconds: &mut dyn FnMut() -> f64) -> Result<String, String> {
    let asked = work(input).map_err(|mistakes| super::pretty(&mistakes))?;
    let problem = &asked.problem;
    let watch = &mut |_: &_| Flow::Continue;
    let plan = match asked.until {
        read::Until::Rounds(rounds) => solve(problem, Budget::Rounds(rounds), asked.dice, watch),
        read::Until::Seconds(most) => {
            let mut share = || if most > 0.0 { seconds() / most } else { 1.0 };
            solve(problem, Budget::Share(&mut share), asked.dice, watch)
        }
    };
    Ok(super::pretty(&answer::answer(problem, &plan)))
}

fn work(input: &str) -> Result<read::Asked, Vec<Mistake>> {
    let tree = super::json::parse(input).map_err(super::whole)?;
    read::read(&tree)
}
