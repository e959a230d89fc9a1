//! Which days each rule forbids.

use super::{Case, Repeat, Rule};
use crate::domain::calendar::{YearlySpan, add_days, sub_days};
use crate::domain::cap::{Basis, Ledger, Span};
use crate::domain::facts::Eaten;
use crate::domain::label::FoodCover;
use crate::domain::permission::{next_change, standing};
use crate::domain::quantity::Exact;
use chrono::NaiveDate;
use num_bigint::BigInt;
use num_traits::One;

/// A rule and the days that it forbids.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bar {
    /// The rule.
    pub rule: Rule,
    /// The days, in no order; they may overlap and reach beyond the range.
    pub spans: Vec<Span>,
}

impl Bar {
    /// Does it forbid that day?
    pub fn holds(&self, day: NaiveDate) -> bool {
        self.spans.iter().any(|span| span.holds(day))
    }
}

/// The days of `range` that each rule forbids, in the order of the rules;
/// rules that forbid none are left out.
pub fn bars(case: &Case<'_>, range: Span) -> Vec<Bar> {
    let always = |applies: bool| if applies { vec![range] } else { Vec::new() };
    let all = [
        (Rule::Cap, cap_spans(case, range)),
        (Rule::MinInterval, min_interval(case)),
        (Rule::MaxPerYear, max_per_year(case, range)),
        (Rule::Season, season(case, range)),
        (Rule::Bloom, bloom(case, range)),
        (Rule::Permission, permission(case, range)),
        (Rule::LabelUnsigned, always(!case.product.signed)),
        (Rule::AreaUnknown, always(case.bound().any(|(substance, _)| substance.area_unknown()))),
        (Rule::FoodPlant, always(food_not_covered(case))),
        (Rule::HostExcluded, always(excluded_host(case).is_some())),
        (Rule::NotRegistered, not_registered(case, range)),
        (Rule::PreHarvest, pre_harvest(case, range)),
        (Rule::GroupRepeat, case.repeats.iter().flat_map(Repeat::spans).collect()),
    ];
    let bars = all.into_iter().map(|(rule, spans)| Bar { rule, spans });
    bars.filter(|bar| bar.spans.iter().any(|span| span.meets(&range))).collect()
}

/// The days of `range` on which the dose would break a cap.
pub fn cap_spans(case: &Case<'_>, range: Span) -> Vec<Span> {
    case.bound().flat_map(|(substance, grams)| substance.barred(&grams, range)).collect()
}

/// Up to N - 1 days after the last application; a booking is kept clear of on
/// both sides.
fn min_interval(case: &Case<'_>) -> Vec<Span> {
    let Some(item) = case.item else { return Vec::new() };
    let days = item.min_interval_days;
    let mut spans = Vec::new();
    if let Some(last) = case.past.iter().max() {
        spans.push(Span { from: NaiveDate::MIN, to: sub_days(add_days(*last, days), 1) });
    }
    if days > 0 {
        let near = |on: &NaiveDate| Span {
            from: add_days(sub_days(*on, days), 1),
            to: sub_days(add_days(*on, days), 1),
        };
        spans.extend(case.booked.iter().map(near));
    }
    spans
}

/// A cap of so many applications: the same ledger, counting ones.
fn max_per_year(case: &Case<'_>, range: Span) -> Vec<Span> {
    let Some(max) = case.item.and_then(|item| item.max_per_year) else { return Vec::new() };
    let mut ledger = Ledger::default();
    for on in case.past.iter().chain(case.booked) {
        ledger.add(*on, &Exact::one());
    }
    let room = Exact::from(BigInt::from(max)) - Exact::one();
    ledger.barred(Basis::Rolling, &room, range)
}

/// Runs of days within `range` for which `forbidden` holds; it is asked only
/// on days on which a yearly span, or the `lead` days before it, begins or has
/// just ended.
fn runs(range: Span, edges: &[YearlySpan], lead: u32, forbidden: impl Fn(NaiveDate) -> bool) -> Vec<Span> {
    let mut changes = vec![range.from];
    for edge in edges {
        let mut day = edge.from.on_or_after(range.from);
        while day <= add_days(range.to, lead) && day < NaiveDate::MAX {
            changes.extend([day, sub_days(day, lead)]);
            day = edge.from.on_or_after(add_days(day, 1));
        }
        let mut last = edge.to.on_or_after(range.from);
        while last < range.to {
            // Where the last day is 29 February, a common year ends a day later
            // by this count; asking both days costs nothing.
            changes.extend([last, add_days(last, 1)]);
            last = edge.to.on_or_after(add_days(last, 1));
        }
    }
    changes.retain(|day| range.holds(*day));
    changes.sort_unstable();
    changes.dedup();
    let ends = changes.iter().skip(1).map(|next| sub_days(*next, 1)).chain([range.to]);
    let spans = changes.iter().zip(ends).map(|(from, to)| Span { from: *from, to });
    spans.filter(|span| forbidden(span.from)).collect()
}

fn season(case: &Case<'_>, range: Span) -> Vec<Span> {
    match case.item {
        Some(item) if !item.season.is_empty() => {
            runs(range, &item.season, 0, |day| !item.season.iter().any(|span| span.holds(day)))
        }
        _ => Vec::new(),
    }
}

fn bloom(case: &Case<'_>, range: Span) -> Vec<Span> {
    let lead = case.item.and_then(|item| item.bloom.lead_days());
    match (case.plant, lead) {
        (Some(plant), Some(lead)) => runs(range, &plant.bloom, lead, |day| {
            case.in_bloom(day)
                || plant.bloom.iter().any(|span| span.from.on_or_after(day) <= add_days(day, lead))
        }),
        _ => Vec::new(),
    }
}

/// Days outside every registration in the state; nothing where registrations
/// were not looked up or the state is not known.
fn not_registered(case: &Case<'_>, range: Span) -> Vec<Span> {
    let (Some(state), Some(all)) = (case.site.state.as_deref(), &case.product.registrations) else {
        return Vec::new();
    };
    let mut open = vec![range];
    for one in all.iter().filter(|one| one.state == state) {
        let from = one.from.unwrap_or(NaiveDate::MIN);
        let to = one.until.unwrap_or(NaiveDate::MAX);
        open = open.into_iter().flat_map(|span| without(span, Span { from, to })).collect();
    }
    open
}

/// What is left of a span on both sides of another.
fn without(span: Span, other: Span) -> Vec<Span> {
    if !span.meets(&other) {
        return vec![span];
    }
    let before = (span.from < other.from).then(|| Span { from: span.from, to: sub_days(other.from, 1) });
    let after = (other.to < span.to).then(|| Span { from: add_days(other.to, 1), to: span.to });
    before.into_iter().chain(after).collect()
}

/// Days so near before a harvest, or in it, that the interval is not kept. An
/// interval of no days forbids none.
fn pre_harvest(case: &Case<'_>, range: Span) -> Vec<Span> {
    let days = match case.item.map(|item| item.food) {
        Some(FoodCover::Covered { pre_harvest_days }) if pre_harvest_days > 0 => pre_harvest_days,
        _ => return Vec::new(),
    };
    let Some(plant) = case.plant.filter(|plant| plant.eaten != Eaten::No) else { return Vec::new() };
    let lead = days - 1;
    let mut spans = runs(range, &plant.harvest, lead, |day| {
        let near = |span: &YearlySpan| span.from.on_or_after(day) <= add_days(day, lead);
        plant.harvest.iter().any(|span| span.holds(day) || near(span))
    });
    spans.extend(plant.harvest_on.map(|on| Span { from: sub_days(on, lead), to: on }));
    spans
}

fn permission(case: &Case<'_>, range: Span) -> Vec<Span> {
    let Some(state) = case.site.state.as_deref() else { return Vec::new() };
    let edges = case.plant.map(|plant| plant.bloom.as_slice()).unwrap_or_default();
    let mut spans = Vec::new();
    for (ingredient, _) in case.poured.ingredients {
        let mut from = range.from;
        while from <= range.to {
            let change = next_change(&case.question(state, ingredient, from), from);
            let to = change.map_or(range.to, |change| sub_days(change, 1).min(range.to));
            spans.extend(runs(Span { from, to }, edges, 0, |day| {
                !standing(&case.question(state, ingredient, day), day).blocked.is_empty()
            }));
            from = add_days(to, 1);
            if to == NaiveDate::MAX {
                break;
            }
        }
    }
    spans
}

fn food_not_covered(case: &Case<'_>) -> bool {
    let eaten = case.plant.is_some_and(|plant| plant.eaten != Eaten::No);
    eaten && case.item.is_none_or(|item| item.food == FoodCover::NotCovered)
}

/// The excluded host plant that the plant's name holds.
pub(super) fn excluded_host<'a>(case: &Case<'a>) -> Option<&'a str> {
    let host = case.plant?.host.as_deref()?.to_lowercase();
    let excluded = &case.item?.excluded_hosts;
    excluded.iter().map(String::as_str).find(|name| host.contains(&name.to_lowercase()))
}
