//! What the order of sharing costs: the usual order beside the fairest one.

use super::allocation::Burden;
use super::{Allocation, Due, days, days_within};
use crate::domain::book::Book;

/// Both ways of sharing what the caps of a property leave.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// In the order of the day wanted.
    pub in_order: Vec<Due>,
    /// So that all together have the fewest days without protection.
    pub least_gap: Vec<Due>,
    /// Is no other order better than the second?
    pub exact: bool,
}

impl Comparison {
    /// What the usual order costs.
    pub fn usual(&self) -> Burden {
        burden(&self.in_order)
    }

    /// What the fairest known order costs; never more.
    pub fn fairest(&self) -> Burden {
        burden(&self.least_gap)
    }

    /// Would other sharing leave fewer plants without a day, or fewer days
    /// without protection?
    pub fn helps(&self) -> bool {
        let (usual, fairest) = (self.usual(), self.fairest());
        (fairest.never, fairest.gap_days) < (usual.never, usual.gap_days)
    }
}

fn burden(due: &[Due]) -> Burden {
    due.iter().fold(Burden::default(), |sum, one| {
        sum.plus(Burden {
            never: u32::from(one.allowed_on.is_none()),
            gap_days: one.gap_days.unwrap_or(0),
            wait_days: one.allowed_on.map_or(0, |day| (day - one.wanted_on).num_days().max(0)),
        })
    })
}

/// Compares the two, looking at so many trials of sharing at most.
pub fn compare(book: &Book<'_>, trials: usize) -> Comparison {
    let in_order = days(book, Allocation::InOrder);
    let (least_gap, exact) = days_within(book, trials);
    Comparison { in_order, least_gap, exact }
}
