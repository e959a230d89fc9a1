//! The week planner: which stop goes to which technician-day, in which order and when.
//!
//! In plain words it looks for the plan that loses no protection that need not be lost (first as few
//! and as unimportant stops as possible stay out, then as few late days as possible), then drives
//! least, then has the most even days. Windows, working hours, breaks, tanks, skills and lists of
//! allowed technician-days are limits and are never broken; what cannot be served stays out and says
//! why.
//!
//! [`solve`] is a pure function of the problem, a number that sets its dice, and a count of rounds.
//! With a time limit instead, the caller brings the clock.

mod chance;
mod check;
mod construct;
mod day;
mod labels;
mod model;
mod plan;
mod problem;
mod recreate;
mod report;
mod ruin;
mod search;
mod state;
pub mod travel;
mod why;

pub use check::{Fault, faults};
pub use plan::{BreakTaken, Cost, DayRoute, Plan, Unserved, Visit, Why};
pub use problem::{
    Break, LOADS, Load, Lock, MAX_BREAKS, MAX_DAYS, MAX_NODES, MAX_STOPS, MAX_TIME, MAX_TRAVEL, Matrix,
    Problem, Span, Stop, TechnicianDay,
};
pub use search::{Budget, Flow, Progress, solve};
