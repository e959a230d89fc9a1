//! Sharing out what a cap leaves so that all plants together have the fewest
//! days without protection.
//!
//! Plants that hold no common capped ingredient are looked at apart. Within a
//! group every order of reserving is searched, branch by branch: a branch is
//! left when even the earliest days that its remaining plants could still get
//! are no better than the best order known, or when its reservations were seen
//! before. A reservation never makes another plant earlier, so both are exact.
//! The search begins with the usual order and therefore never ends worse.

use super::Candidate;
use crate::domain::book::{Book, Entry, post, unpost};
use crate::domain::calendar::{add_days, add_months};
use crate::domain::cap::{Span, Substance, first_free};
use crate::domain::hold::{Rule, bars, cap_spans};
use chrono::NaiveDate;
use std::collections::HashSet;

/// So many reservations are tried for a group; after that the best order found
/// so far is taken. Eight plants that all compete stay below it, ten often do,
/// twelve only where the cap is short for few of them.
pub(super) const MOST_TRIALS: usize = 400_000;

/// What is made as small as it can be, in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Burden {
    /// Plants for which no day is left.
    pub never: u32,
    /// Days without protection, all plants together.
    pub gap_days: i64,
    /// Days between the day wanted and the day allowed, all plants together.
    pub wait_days: i64,
}

impl Burden {
    /// Both together.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self {
            never: self.never + other.never,
            gap_days: self.gap_days + other.gap_days,
            wait_days: self.wait_days + other.wait_days,
        }
    }
}

/// An order of reserving.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Positions in the queue.
    pub order: Vec<usize>,
    /// Was every order searched, or passed over because it cannot be better?
    pub exact: bool,
}

/// What the order does not change about a plant.
struct Fixed<'c> {
    range: Span,
    /// Days that other rules than caps forbid.
    spans: Vec<Span>,
    /// Plants of the same key may change places without changing anything.
    twin: (&'c str, &'c str, String, NaiveDate, Option<NaiveDate>, Vec<NaiveDate>),
}

impl Fixed<'_> {
    /// The same to the cap and to every other rule.
    fn is_twin_of(&self, other: &Self) -> bool {
        self.twin == other.twin && self.spans == other.spans
    }
}

struct Search<'s, 'b, 'a> {
    book: &'s Book<'a>,
    queue: &'s [Candidate<'b, 'a>],
    fixed: Vec<Fixed<'s>>,
    substances: Vec<Substance>,
    best: Vec<usize>,
    least: Burden,
    path: Vec<(usize, Option<NaiveDate>)>,
    seen: HashSet<Vec<(usize, Option<NaiveDate>)>>,
    trials: usize,
    most: usize,
}

/// The order with the least burden.
pub(super) fn least_gap<'a>(book: &Book<'a>, queue: &[Candidate<'_, 'a>], most: usize) -> Order {
    let mut search = Search {
        book,
        queue,
        fixed: queue.iter().map(|one| fixed(book, one)).collect(),
        substances: book.substances.clone(),
        best: Vec::new(),
        least: Burden::default(),
        path: Vec::new(),
        seen: HashSet::new(),
        trials: 0,
        most,
    };
    let mut found = Order { order: Vec::with_capacity(queue.len()), exact: true };
    for group in groups(book, queue) {
        found.exact &= search.run(&group);
        found.order.append(&mut search.best);
    }
    found
}

/// Plants that hold a capped ingredient in common, directly or over others.
fn groups(book: &Book<'_>, queue: &[Candidate<'_, '_>]) -> Vec<Vec<usize>> {
    let mut groups: Vec<(HashSet<usize>, Vec<usize>)> = Vec::new();
    for (position, one) in queue.iter().enumerate() {
        let poured = one.planting.poured();
        let held = (0..book.substances.len()).filter(|n| book.substances[*n].held(&poured).is_some());
        let mut group = (held.collect::<HashSet<_>>(), vec![position]);
        let (mut same, apart): (Vec<_>, Vec<_>) =
            groups.into_iter().partition(|(substances, _)| !substances.is_disjoint(&group.0));
        for (substances, members) in &mut same {
            group.0.extend(substances.drain());
            group.1.append(members);
        }
        group.1.sort_unstable();
        groups = apart;
        groups.push(group);
    }
    groups.into_iter().map(|(_, members)| members).collect()
}

fn fixed<'s>(book: &Book<'_>, one: &'s Candidate<'_, '_>) -> Fixed<'s> {
    let first = one.wanted_on.max(book.facts.today);
    let range = Span { from: first, to: add_months(book.facts.today, super::HORIZON_MONTHS) };
    let case = book.case(one.planting, &book.substances, &one.past, &[], &one.repeats);
    let all = bars(&case, Span { from: first, to: range.to.max(first) });
    let spans = all.into_iter().filter(|bar| bar.rule != Rule::Cap).flat_map(|bar| bar.spans).collect();
    let planting = one.planting;
    // A plant that is booked has no twin: its own booking is its own.
    let own = if one.own.is_empty() { String::new() } else { planting.plant.id.clone() };
    let dose = format!("{} {own}", planting.dose.product.words());
    let mut past = one.past.clone();
    past.sort_unstable();
    Fixed {
        range,
        spans,
        twin: (&planting.product.id, &planting.item.id, dose, one.wanted_on, one.protected_until, past),
    }
}

impl Search<'_, '_, '_> {
    /// Searches a group; was every order covered?
    fn run(&mut self, group: &[usize]) -> bool {
        self.trials = 0;
        self.seen.clear();
        self.best = group.to_vec();
        self.least = self.usual(group);
        let mut left = group.to_vec();
        self.descend(&mut left, Burden::default());
        self.trials < self.most
    }

    /// The burden of the order given.
    fn usual(&mut self, group: &[usize]) -> Burden {
        let mut sum = Burden::default();
        let mut placed = Vec::new();
        for one in group {
            let day = self.earliest(*one);
            sum = sum.plus(self.burden(*one, day));
            self.reserve(*one, day, post);
            placed.push((*one, day));
        }
        placed.into_iter().rev().for_each(|(one, day)| self.reserve(one, day, unpost));
        sum
    }

    fn descend(&mut self, left: &mut Vec<usize>, so_far: Burden) {
        if left.is_empty() {
            if so_far < self.least {
                self.least = so_far;
                self.best = self.path.iter().map(|(one, _)| *one).collect();
            }
            return;
        }
        let mut state = self.path.clone();
        state.sort_unstable();
        if self.trials >= self.most || !self.seen.insert(state) {
            return;
        }
        self.trials += left.len();
        let days: Vec<Option<NaiveDate>> = left.iter().map(|one| self.earliest(*one)).collect();
        let best_case = left.iter().zip(&days).map(|(one, day)| self.burden(*one, *day));
        if best_case.fold(so_far, Burden::plus) >= self.least {
            return;
        }
        for (at, day) in days.into_iter().enumerate() {
            let one = left[at];
            if left[..at].iter().any(|other| self.fixed[*other].is_twin_of(&self.fixed[one])) {
                continue;
            }
            let burden = so_far.plus(self.burden(one, day));
            left.remove(at);
            self.path.push((one, day));
            self.reserve(one, day, post);
            self.descend(left, burden);
            self.reserve(one, day, unpost);
            self.path.pop();
            left.insert(at, one);
        }
    }

    /// The first day for a plant with the reservations made so far; its own
    /// booking does not hold it back.
    fn earliest(&mut self, one: usize) -> Option<NaiveDate> {
        let candidate = &self.queue[one];
        let own: &[&Entry<'_>] = &candidate.own;
        own.iter().for_each(|entry| unpost(&mut self.substances, entry.fact.on, &entry.poured()));
        let fixed = &self.fixed[one];
        let case = self.book.case(candidate.planting, &self.substances, &candidate.past, &[], &[]);
        let mut spans = cap_spans(&case, fixed.range);
        spans.extend_from_slice(&fixed.spans);
        let day = first_free(fixed.range, &spans);
        own.iter().for_each(|entry| post(&mut self.substances, entry.fact.on, &entry.poured()));
        day
    }

    fn burden(&self, one: usize, day: Option<NaiveDate>) -> Burden {
        let Some(day) = day else { return Burden { never: 1, ..Burden::default() } };
        let candidate = &self.queue[one];
        let works = add_days(day, candidate.planting.item.uptake_days);
        Burden {
            never: 0,
            gap_days: candidate.protected_until.map_or(0, |end| (works - end).num_days().max(0)),
            wait_days: (day - self.fixed[one].range.from).num_days(),
        }
    }

    fn reserve(
        &mut self,
        one: usize,
        day: Option<NaiveDate>,
        write: fn(&mut [Substance], NaiveDate, &crate::domain::cap::Poured<'_>),
    ) {
        let candidate = &self.queue[one];
        if let (Some(day), true) = (day, candidate.own.is_empty()) {
            write(&mut self.substances, day, &candidate.planting.poured());
        }
    }
}
