//! Repeats of a mode of action on one plant, by the groups of the resistance
//! action committee that labels print.

use crate::domain::book::Entry;
use crate::domain::calendar::{add_days, sub_days};
use crate::domain::cap::Span;
use crate::domain::label::{Product, Use};
use chrono::NaiveDate;

/// An earlier or booked use that the next one repeats or comes too soon after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repeat {
    /// The day of that use.
    pub on: NaiveDate,
    /// What was used, in words.
    pub product: String,
    /// The group that both have, where another product is meant now.
    pub group: Option<String>,
    /// The first day on which the label of that use allows the next one; none:
    /// it states no period.
    pub rests_until: Option<NaiveDate>,
    /// Does the label of the next use refuse the repeat?
    pub refused: bool,
}

/// What of the entries of one plant matters to the next use of `product`.
pub fn repeats<'e, 'f: 'e>(
    entries: impl IntoIterator<Item = &'e Entry<'f>>,
    product: &Product,
    item: &Use,
) -> Vec<Repeat> {
    let one = |entry: &'e Entry<'f>| {
        let other = entry.product.id != product.id;
        let group = if other { common_group(entry.product, product) } else { None };
        let rests_until = rests_until(entry, product, item);
        (group.is_some() || rests_until.is_some()).then(|| Repeat {
            on: entry.fact.on,
            product: entry.product.words().to_owned(),
            refused: group.is_some() && item.no_group_repeat,
            group,
            rests_until,
        })
    };
    entries.into_iter().filter_map(one).collect()
}

impl Repeat {
    /// The days that it forbids.
    pub(super) fn spans(&self) -> Vec<Span> {
        let rest = self.rests_until.map(|until| Span { from: self.on, to: sub_days(until, 1) });
        let always = self.refused.then_some(Span { from: self.on, to: NaiveDate::MAX });
        rest.into_iter().chain(always).collect()
    }

    /// Why it forbids the day; none: it does not.
    pub(super) fn refusal(&self, day: NaiveDate, next: &str) -> Option<String> {
        if day < self.on {
            return None;
        }
        if self.refused {
            return Some(format!(
                "{} on {} had the same mode of action, and the label of {next} refuses to repeat it.",
                self.product, self.on
            ));
        }
        let until = self.rests_until.filter(|until| day < *until)?;
        Some(format!(
            "{} was drenched or injected on {}; no foliar use of group 4 may follow before {until}. Rule: label of {}.",
            self.product, self.on, self.product
        ))
    }

    /// What is said of a repeat that nothing forbids.
    pub(super) fn caution(&self) -> Option<String> {
        let group = self.group.as_ref().filter(|_| !self.refused)?;
        Some(format!("Group {group} again after {} on {}: resistance may build up.", self.product, self.on))
    }
}

/// Of several repeats after one product only the latest is said.
pub fn repeat_cautions(repeats: &[Repeat]) -> Vec<String> {
    let mut latest: Vec<&Repeat> = Vec::new();
    for one in repeats {
        match latest.iter_mut().find(|known| known.product == one.product) {
            Some(known) if known.on < one.on => *known = one,
            Some(_) => {}
            None => latest.push(one),
        }
    }
    latest.into_iter().filter_map(Repeat::caution).collect()
}

/// The group that two products have in common; the subgroups of group 4 count
/// as one.
fn common_group(one: &Product, other: &Product) -> Option<String> {
    let whole = |group: &str| if is_group_four(group) { "4".to_owned() } else { group.to_uppercase() };
    let groups = |product: &Product| -> Vec<String> {
        product.ingredients.iter().filter_map(|held| held.group.as_deref()).map(whole).collect()
    };
    let others = groups(other);
    groups(one).into_iter().find(|group| others.contains(group))
}

fn is_group_four(group: &str) -> bool {
    let rest = group.strip_prefix('4');
    rest.is_some_and(|rest| rest.chars().all(|letter| letter.is_ascii_alphabetic()))
}

/// After a drench or injection of 4A no foliar use of group 4, for as long as
/// the label of what was drenched says; the same product is no exception.
fn rests_until(entry: &Entry<'_>, product: &Product, item: &Use) -> Option<NaiveDate> {
    let used = entry.item?;
    let days = used.foliar_rest_days?;
    let holds = |product: &Product, test: &dyn Fn(&str) -> bool| {
        product.ingredients.iter().filter_map(|held| held.group.as_deref()).any(test)
    };
    let systemic = used.method.ends_with("drench") || used.method.ends_with("injection");
    let ruled = systemic
        && item.method.starts_with("foliar")
        && holds(entry.product, &|group| group.eq_ignore_ascii_case("4A"))
        && holds(product, &is_group_four);
    ruled.then(|| add_days(entry.fact.on, days))
}
