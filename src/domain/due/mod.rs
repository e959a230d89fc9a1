//! When each plant is wanted, allowed and due, and why.
//!
//! - *Protected until*: the latest end of protection of its applications, each
//!   by the use it followed.
//! - *Wanted on*: protection less the days of uptake; without an application
//!   the day first wanted, else today.
//! - *Allowed on*: the first day from today (or wanted, if later) on which the
//!   dose keeps every rule, within sixty months.
//! - *Due on*: wanted, unless a rule moves it.
//!
//! Plants compete for what a cap leaves. They are looked at in the order of the
//! day wanted, then the smaller mass of ingredient, then the id; each one that
//! is allowed reserves its dose before the next is looked at.

mod allocation;
mod comparison;

pub use allocation::Burden;
pub use comparison::{Comparison, compare};

use super::book::{Book, Entry, FactError, Planting, post, unpost};
use super::calendar::{add_days, add_months, sub_days};
use super::cap::{CapStanding, EarlierUse, Span, Substance, allowed_words, first_free, used_words};
use super::dose::Dose;
use super::facts::{Application, Facts};
use super::hold::{Bar, Case, Repeat, Rule, bars, cautions, repeats, words};
use chrono::NaiveDate;
use num_traits::Zero;
use std::collections::HashMap;

/// How plants share what a cap leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Allocation {
    /// In the order of the day wanted, the mass, the id.
    #[default]
    InOrder,
    /// So that all together have the fewest days without protection.
    LeastGap,
}

impl Allocation {
    /// The code used in JSON and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::InOrder => "in-order",
            Self::LeastGap => "least-gap",
        }
    }

    /// The rule of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        match code {
            "in-order" => Some(Self::InOrder),
            "least-gap" => Some(Self::LeastGap),
            _ => None,
        }
    }
}

/// How far ahead an allowed day is looked for, in months.
pub const HORIZON_MONTHS: u32 = 60;

/// The answer for one plant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    /// Id of the plant.
    pub plant: String,
    /// The dose that was asked about.
    pub dose: Dose,
    /// End of protection; none without an application.
    pub protected_until: Option<NaiveDate>,
    /// When the next treatment is wanted.
    pub wanted_on: NaiveDate,
    /// The first day that keeps every rule; none within sixty months.
    pub allowed_on: Option<NaiveDate>,
    /// When it is due; none with `allowed_on`. It may lie in the past.
    pub due_on: Option<NaiveDate>,
    /// The rules that forbid the first day looked at.
    pub held_by: Vec<Rule>,
    /// Days without protection before the next one works; none with `allowed_on`.
    pub gap_days: Option<i64>,
    /// The first day for which the plant is booked with this product.
    pub booked_on: Option<NaiveDate>,
    /// The whole chain of reasons, in plain words.
    pub why: Vec<String>,
}

/// Doses, caps and due dates of one property.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// Where each cap of an ingredient stands today.
    pub caps: Vec<CapStanding>,
    /// Where each cap that counts a product itself stands today.
    pub product_caps: Vec<CapStanding>,
    /// One answer for each active plant, in the order given.
    pub due: Vec<Due>,
    /// Is no other order of sharing better? Always so where the order is set.
    pub exact: bool,
}

/// Works out the whole property.
///
/// # Errors
/// Facts that do not fit together; see [`Book::new`].
pub fn outlook(facts: &Facts) -> Result<Outlook, Vec<FactError>> {
    Ok(outlook_of(&Book::new(facts)?))
}

/// [`outlook`] for facts that are already looked up, shared as was chosen for
/// the land.
pub fn outlook_of(book: &Book<'_>) -> Outlook {
    outlook_by(book, book.facts.site.sharing)
}

/// [`outlook_of`] under a rule of sharing.
pub fn outlook_by(book: &Book<'_>, allocation: Allocation) -> Outlook {
    let standings = book.standings();
    let (due, exact) = dues_by(book, Some(&standings), allocation);
    let (product_caps, caps) = standings.into_iter().partition(|cap| cap.product.is_some());
    Outlook { caps, product_caps, due, exact }
}

/// Entries by the id of their plant.
type ByPlant<'b, 'a> = HashMap<&'b str, Vec<&'b Entry<'a>>>;

fn by_plant<'b, 'a>(entries: &'b [Entry<'a>]) -> ByPlant<'b, 'a> {
    let mut all = ByPlant::new();
    for entry in entries {
        if let Some(id) = entry.fact.plant.as_deref() {
            all.entry(id).or_default().push(entry);
        }
    }
    all
}

/// A plant and what its history says.
struct Candidate<'b, 'a> {
    position: usize,
    planting: &'b Planting<'a>,
    /// Days on which it got the product of its use.
    past: Vec<NaiveDate>,
    /// Its own bookings of that product.
    own: Vec<&'b Entry<'a>>,
    /// Its uses whose mode of action the next one repeats.
    repeats: Vec<Repeat>,
    protected_until: Option<NaiveDate>,
    last: Option<&'a Application>,
    /// The application whose protection ends last.
    guard: Option<&'b Entry<'a>>,
    wanted_on: NaiveDate,
}

/// One answer for each active plant, in the order given.
pub fn dues(book: &Book<'_>, caps: &[CapStanding]) -> Vec<Due> {
    dues_by(book, Some(caps), Allocation::InOrder).0
}

/// One answer for each active plant, in the order given, without the words.
pub fn days(book: &Book<'_>, allocation: Allocation) -> Vec<Due> {
    dues_by(book, None, allocation).0
}

/// [`days`] with the fewest days without protection that so many trials of
/// sharing find for plants that compete; and whether no order is better.
pub fn days_within(book: &Book<'_>, trials: usize) -> (Vec<Due>, bool) {
    answers(book, None, Some(trials))
}

/// The answers, with words where the caps' standings are given, and whether no
/// order of sharing is better.
fn dues_by(book: &Book<'_>, caps: Option<&[CapStanding]>, allocation: Allocation) -> (Vec<Due>, bool) {
    let trials = (allocation == Allocation::LeastGap).then_some(allocation::MOST_TRIALS);
    answers(book, caps, trials)
}

fn answers(book: &Book<'_>, caps: Option<&[CapStanding]>, trials: Option<usize>) -> (Vec<Due>, bool) {
    let mut queue = queue(book);
    let mut exact = true;
    if let Some(trials) = trials {
        let found = allocation::least_gap(book, &queue, trials);
        exact = found.exact;
        let mut places: Vec<Option<Candidate<'_, '_>>> = queue.into_iter().map(Some).collect();
        queue = found.order.into_iter().filter_map(|place| places[place].take()).collect();
    }
    let mut substances = book.substances.clone();
    let caps = caps.map(|caps| caps.iter().map(|cap| (cap, cap_words(cap))).collect::<Vec<_>>());
    let mut answers: Vec<(usize, Due)> =
        queue.iter().map(|one| (one.position, answer(book, caps.as_deref(), one, &mut substances))).collect();
    answers.sort_by_key(|(position, _)| *position);
    (answers.into_iter().map(|(_, due)| due).collect(), exact)
}

/// The active plants in the usual order.
fn queue<'b, 'a>(book: &'b Book<'a>) -> Vec<Candidate<'b, 'a>> {
    let (applied, booked) = (by_plant(&book.applied), by_plant(&book.booked));
    let mut queue: Vec<Candidate<'b, 'a>> = book
        .plantings
        .iter()
        .enumerate()
        .filter(|(_, one)| one.plant.active)
        .map(|(position, planting)| {
            let id = planting.plant.id.as_str();
            let applied = applied.get(id).cloned().unwrap_or_default();
            let booked = booked.get(id).cloned().unwrap_or_default();
            candidate(book, position, planting, applied, booked)
        })
        .collect();
    queue.sort_by_cached_key(|one| {
        (one.wanted_on, one.planting.dose.total_grams(), one.planting.plant.id.clone())
    });
    queue
}

fn candidate<'b, 'a>(
    book: &'b Book<'a>,
    position: usize,
    planting: &'b Planting<'a>,
    applied: Vec<&'b Entry<'a>>,
    mut own: Vec<&'b Entry<'a>>,
) -> Candidate<'b, 'a> {
    let same = |entry: &Entry<'_>| entry.product.id == planting.product.id;
    let repeats = repeats(applied.iter().chain(&own).copied(), planting.product, planting.item);
    own.retain(|entry| same(entry));
    let past = applied.iter().filter(|entry| same(entry)).map(|entry| entry.fact.on).collect();
    let all = || applied.iter().copied();
    let guard = all().filter(|entry| entry.item.is_some()).max_by_key(|entry| entry.protected_until());
    let protected_until = guard.and_then(Entry::protected_until);
    let last = all().map(|entry| entry.fact).max_by_key(|fact| fact.on);
    let wanted_on = match protected_until {
        Some(end) => sub_days(end, planting.item.uptake_days),
        None => planting.plant.first_wanted.unwrap_or(book.facts.today),
    };
    Candidate { position, planting, past, own, repeats, protected_until, last, guard, wanted_on }
}

fn answer(
    book: &Book<'_>,
    caps: Option<&[CapWords<'_>]>,
    one: &Candidate<'_, '_>,
    substances: &mut [Substance],
) -> Due {
    // Its own booking is the application that is asked about: it neither holds
    // itself back nor is it reserved twice.
    let own = &one.own;
    own.iter().for_each(|entry| unpost(substances, entry.fact.on, &entry.poured()));
    let first_day = one.wanted_on.max(book.facts.today);
    let horizon = add_months(book.facts.today, HORIZON_MONTHS);
    let case = book.case(one.planting, substances, &one.past, &[], &one.repeats);
    let bars = bars(&case, Span { from: first_day, to: horizon.max(first_day) });
    let allowed_on = first_allowed(&bars, Span { from: first_day, to: horizon });
    let held_by: Vec<Rule> = bars.iter().filter(|bar| bar.holds(first_day)).map(|bar| bar.rule).collect();
    let mut due = Due {
        plant: one.planting.plant.id.clone(),
        dose: one.planting.dose.clone(),
        protected_until: one.protected_until,
        wanted_on: one.wanted_on,
        allowed_on,
        due_on: allowed_on.map(|day| if day == first_day { one.wanted_on } else { day }),
        gap_days: gap(one, allowed_on),
        booked_on: own.iter().map(|entry| entry.fact.on).min(),
        held_by,
        why: Vec::new(),
    };
    if let Some(caps) = caps {
        due.why = reasons(book, caps, one, &case, &due);
    }
    if own.is_empty() {
        if let Some(day) = allowed_on {
            post(substances, day, &one.planting.poured());
        }
    } else {
        own.iter().for_each(|entry| post(substances, entry.fact.on, &entry.poured()));
    }
    due
}

/// The first day of `range` that no rule forbids.
pub fn first_allowed(bars: &[Bar], range: Span) -> Option<NaiveDate> {
    let spans: Vec<Span> = bars.iter().flat_map(|bar| bar.spans.iter().copied()).collect();
    first_free(range, &spans)
}

fn gap(one: &Candidate<'_, '_>, allowed_on: Option<NaiveDate>) -> Option<i64> {
    let works = add_days(allowed_on?, one.planting.item.uptake_days);
    Some(one.protected_until.map_or(0, |end| (works - end).num_days().max(0)))
}

fn reasons(
    book: &Book<'_>,
    caps: &[CapWords<'_>],
    one: &Candidate<'_, '_>,
    case: &Case<'_>,
    due: &Due,
) -> Vec<String> {
    let mut why = history_words(book, one);
    let first_day = due.wanted_on.max(book.facts.today);
    for rule in &due.held_by {
        why.extend(words(case, *rule, first_day));
    }
    let held = |cap: &CapStanding| match &cap.product {
        None => due.dose.ingredients.iter().any(|(held, _)| *held == cap.ingredient),
        Some(capped) => capped.id == one.planting.product.id,
    };
    why.extend(caps.iter().filter(|(cap, _)| held(cap)).flat_map(|(_, words)| words.iter().cloned()));
    why.push(outcome_words(book, due, first_day));
    if let Some(day) = due.booked_on {
        why.push(format!("Booked for {day}."));
    }
    why.extend(cautions(case, due.allowed_on.unwrap_or(first_day)));
    why
}

fn history_words(book: &Book<'_>, one: &Candidate<'_, '_>) -> Vec<String> {
    let mut why = Vec::new();
    match one.last {
        // A part that was split off got what the whole record got.
        Some(last) if last.amount.value.is_zero() => {
            why.push(format!(
                "Last application on {}, as part of the record that it was split from.",
                last.on
            ));
        }
        Some(last) => why.push(format!(
            "Last application on {}: {} of {}.",
            last.on,
            last.amount.words(),
            book.facts.products.iter().find(|p| p.id == last.product).map_or("", |p| p.words())
        )),
        None => why.push("No application to this plant is known.".to_owned()),
    }
    match (one.protected_until, one.planting.plant.first_wanted) {
        (Some(end), _) => {
            if let Some((entry, item)) = one.guard.and_then(|entry| Some((entry, entry.item?))) {
                why.push(format!(
                    "The application of {} by {} of {} protects for {}, until {end}.",
                    entry.fact.on,
                    item.method.replace('-', " "),
                    entry.product.words(),
                    item.protection.words()
                ));
            }
            match one.planting.item.uptake_days {
                0 => why.push(format!("No uptake time is stated, so the next is wanted on {end}.")),
                days => why.push(format!(
                    "The plant takes {days} days to take the product up, so the next is wanted on {}.",
                    one.wanted_on
                )),
            }
        }
        (None, Some(day)) => why.push(format!("It is first wanted on {day}.")),
        (None, None) => why.push("No day was set, so it is wanted today.".to_owned()),
    }
    why
}

/// A cap and what is to be said about it to every plant whose dose it counts.
type CapWords<'a> = (&'a CapStanding, Vec<String>);

fn cap_words(cap: &CapStanding) -> Vec<String> {
    let mut why = Vec::new();
    let unit = cap.unit();
    if let (Some(allowed), Some(left)) = (&cap.cap.allowed, &cap.remaining) {
        why.push(format!(
            "Cap of {} today: {} {unit} used of {} {unit} in {}, {} {unit} left ({} on the label of {}).",
            cap.ingredient,
            used_words(&cap.used),
            allowed_words(allowed),
            cap.basis.words(),
            allowed_words(left),
            cap.cap.cap.words(),
            cap.cap.product,
        ));
    }
    if cap.caps > 1 {
        why.push(format!("{} caps on {} hold; this is the strictest today.", cap.caps, cap.ingredient));
    }
    if cap.earlier_use == EarlierUse::Unconfirmed {
        why.push(format!(
            "Earlier use of {} on this land is unconfirmed: the cap's window reaches before the known history.",
            cap.ingredient
        ));
    }
    why
}

fn outcome_words(book: &Book<'_>, due: &Due, first_day: NaiveDate) -> String {
    match (due.allowed_on, due.due_on) {
        (Some(allowed), Some(day)) if allowed == first_day => {
            let late = if day < book.facts.today { ", overdue" } else { "" };
            format!("Every rule is kept on {allowed}; due on {day}{late}.")
        }
        (Some(allowed), _) => match due.gap_days {
            Some(gap) if gap > 0 => {
                format!(
                    "The first day that keeps every rule is {allowed}: {gap} days pass without protection."
                )
            }
            _ => format!("The first day that keeps every rule is {allowed}."),
        },
        (None, _) => {
            format!("No day up to {} keeps every rule.", add_months(book.facts.today, HORIZON_MONTHS))
        }
    }
}
