//! Where each cap stands today: allowed, used, reserved, left.

use super::ledger::{Basis, Ledger, Span};
use super::{CappedProduct, SiteCap, Substance};
use crate::domain::calendar::{limit_end, sub_days};
use crate::domain::label::CapYear;
use crate::domain::quantity::Exact;
use chrono::NaiveDate;
use num_traits::Zero;

/// What is known about applications before ours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EarlierUse {
    /// The window lies within the known history, or nobody said since when it
    /// is known.
    Unquestioned,
    /// The window reaches before the known history.
    Unconfirmed,
}

/// One ingredient's tightest cap, looked back on from today.
#[derive(Debug, Clone)]
pub struct CapStanding {
    /// Name of the ingredient; of the product, where that is what is counted.
    pub ingredient: String,
    /// The product, where that is what is counted; figures are then in its
    /// unit and not in grams.
    pub product: Option<CappedProduct>,
    /// How many caps there are on it; the tightest is this one.
    pub caps: usize,
    /// The cap that is tightest.
    pub cap: SiteCap,
    /// Which window of it.
    pub basis: Basis,
    /// The window.
    pub window: Span,
    /// Grams applied in the window up to today.
    pub used: Exact,
    /// Grams booked that share a window with today. Not part of `used`.
    pub reserved: Exact,
    /// Grams left, below zero where facts broke the cap; none without an area.
    pub remaining: Option<Exact>,
    /// Does the window reach before the known history?
    pub earlier_use: EarlierUse,
    /// The other windows and caps on the same thing, which hold as well.
    pub others: Vec<CapStanding>,
}

/// Applied and booked grams of one substance, apart from each other.
pub struct Dated<'a> {
    /// The substance.
    pub substance: &'a Substance,
    /// Applications, in grams.
    pub applied: Ledger,
    /// Reservations, in grams.
    pub booked: Ledger,
}

/// The tightest cap of each substance as of `today`.
pub fn standings(dated: &[Dated<'_>], today: NaiveDate, known_from: Option<NaiveDate>) -> Vec<CapStanding> {
    dated.iter().filter_map(|one| tightest(one, today, known_from)).collect()
}

fn tightest(one: &Dated<'_>, today: NaiveDate, known_from: Option<NaiveDate>) -> Option<CapStanding> {
    let mut all: Vec<CapStanding> = Vec::new();
    for cap in &one.substance.caps {
        all.extend(cap.bases().iter().map(|basis| standing(one, cap, *basis, today, known_from)));
    }
    let mut strictest = 0;
    for at in 1..all.len() {
        if tighter(&all[at], &all[strictest]) {
            strictest = at;
        }
    }
    let mut best = (!all.is_empty()).then(|| all.remove(strictest))?;
    best.others = all;
    Some(best)
}

/// Less left; without an area: more used.
fn tighter(one: &CapStanding, other: &CapStanding) -> bool {
    match (&one.remaining, &other.remaining) {
        (Some(a), Some(b)) => a < b,
        _ => one.used > other.used,
    }
}

fn standing(
    one: &Dated<'_>,
    cap: &SiteCap,
    basis: Basis,
    today: NaiveDate,
    known_from: Option<NaiveDate>,
) -> CapStanding {
    let window = basis.window_of(today);
    let used = one.applied.sum(Span { from: window.from, to: today });
    let ahead = match basis {
        Basis::Calendar => window,
        Basis::Rolling => Span { from: window.from, to: sub_days(limit_end(today), 1) },
    };
    // A year that the label does not state has both windows; the longer one
    // reaches farther back.
    let reach = match cap.cap.year {
        CapYear::Calendar => window.from,
        CapYear::Rolling | CapYear::Unstated => Basis::Rolling.window_of(today).from,
    };
    let earlier_use = match known_from {
        Some(known) if reach < known => EarlierUse::Unconfirmed,
        _ => EarlierUse::Unquestioned,
    };
    CapStanding {
        ingredient: one.substance.name.clone(),
        product: one.substance.product.clone(),
        caps: one.substance.caps.len(),
        cap: cap.clone(),
        basis,
        window,
        reserved: one.booked.sum(ahead),
        remaining: cap.allowed.as_ref().map(|allowed| allowed - &used),
        used,
        earlier_use,
        others: Vec::new(),
    }
}

impl CapStanding {
    /// The unit of its figures.
    pub fn unit(&self) -> &'static str {
        self.product.as_ref().map_or("g", |product| product.unit.code())
    }

    /// Grams that may still be used: never below zero; none without an area.
    pub fn free(&self) -> Option<Exact> {
        self.remaining.as_ref().map(|left| left.clone().max(Exact::zero()))
    }
}
