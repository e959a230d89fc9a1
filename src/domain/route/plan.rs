//! What the planner answers.

use std::fmt;

/// A plan. Everything is named by its position in the problem's lists.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plan {
    /// One per technician-day that has stops, in the order of the problem.
    pub routes: Vec<DayRoute>,
    /// What stays out, in the order of the problem.
    pub unserved: Vec<Unserved>,
    /// What the plan costs.
    pub cost: Cost,
    /// Rounds of the search that led here.
    pub rounds: u64,
}

/// One technician-day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayRoute {
    /// Position of the technician-day.
    pub day: usize,
    /// Its stops in order.
    pub visits: Vec<Visit>,
    /// The breaks taken, in order.
    pub breaks: Vec<BreakTaken>,
    /// Back at the end place.
    pub back: i64,
    /// Travel time of the whole day.
    pub travel: i64,
}

/// One stop with its times, each as early as can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Visit {
    /// Position of the stop.
    pub stop: usize,
    /// There.
    pub arrive: i64,
    /// Work starts.
    pub start: i64,
    /// Work is done.
    pub leave: i64,
}

/// A break with its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BreakTaken {
    /// After so many stops of the day.
    pub after: usize,
    /// On arriving at the next stop (`true`) or before leaving the last place (`false`).
    pub on_arrival: bool,
    /// From then.
    pub start: i64,
    /// Until then.
    pub end: i64,
}

/// A stop that stays out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unserved {
    /// Position of the stop.
    pub stop: usize,
    /// The most telling reason.
    pub why: Why,
}

/// Why a stop stays out, the most telling reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Why {
    /// There is no technician-day at all.
    NoDays,
    /// Its list of technician-days is empty.
    NoneAllowed,
    /// It has no window at all.
    NoWindow,
    /// No technician-day that may take it has these skills together.
    NoSkill(Vec<String>),
    /// It is released after the last technician-day that may take it.
    NotReleased {
        /// First day on which it may be done.
        release: i32,
    },
    /// It takes more than the largest tank that could go there holds; which load.
    OverTank {
        /// Position in [`Load`](super::Load).
        load: usize,
    },
    /// None of its windows meets the working hours of a technician-day that may take it.
    OutsideHours,
    /// Even as the only stop of a day it cannot be reached in its window and left in time.
    TooFar,
    /// Each technician-day fails for a reason of its own.
    NoDayMeetsAll,
    /// It is locked to a technician-day that cannot keep it there; the reason alone, if there is one.
    LockFails(Option<Box<Why>>),
    /// There would be time, but the tanks are used up.
    TanksFull,
    /// The technician-days that could take it are full of stops that count more or were there first.
    DaysFull,
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoDays => f.write_str("there is no technician-day"),
            Self::NoneAllowed => f.write_str("its list of allowed technician-days is empty"),
            Self::NoWindow => f.write_str("it has no window in which work may start"),
            Self::NoSkill(skills) => {
                write!(f, "no technician who may go there has the skill: {}", skills.join(", "))
            }
            Self::NotReleased { release } => {
                write!(f, "it is released on day {release}, after the last technician-day that may take it")
            }
            Self::OverTank { .. } => {
                f.write_str("it takes more than the tank of any truck that may go there")
            }
            Self::OutsideHours => {
                f.write_str("its window lies outside the working hours of every technician-day")
            }
            Self::TooFar => f.write_str(
                "even as the only stop it cannot be reached in its window and left before the day ends",
            ),
            Self::NoDayMeetsAll => f.write_str("no single technician-day meets all that it asks for"),
            Self::LockFails(None) => {
                f.write_str("it does not fit where it is locked, beside the other locked stops")
            }
            Self::LockFails(Some(why)) => write!(f, "it cannot be kept where it is locked: {why}"),
            Self::TanksFull => {
                f.write_str("there would be time, but the tanks of the days that could take it are used up")
            }
            Self::DaysFull => f.write_str("the days that could take it are full"),
        }
    }
}

/// What a plan costs, the weightiest first: compared in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Cost {
    /// Locked stops that could not be kept.
    pub locks: i64,
    /// Sum of the priorities of what stays out.
    pub unserved: i64,
    /// Late days, each times the cost that its stop states.
    pub late: i64,
    /// Travel time.
    pub travel: i64,
    /// Sum of the squares of the days' lengths (from leaving to being back): smaller is more even.
    pub uneven: i128,
}
