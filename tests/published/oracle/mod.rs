//! A slow and plain second opinion on caps and due dates.
//!
//! The core sweeps over spans of exact fractions; this adds up whole numbers of
//! a fine unit, window by window. They share no code but the facts that both
//! are given. More cases:
//! `PLANTWARD_CASES=1000000 cargo test --release --test published oracle -- --nocapture`.

mod opinion;
mod properties;
mod random;
mod said;
mod wide;
mod world;

use num_bigint::BigInt;
use opinion::{Opinion, Scan, second_ledger, second_opinion};
use plantward::domain::book::Book;
use plantward::domain::due::{Allocation, Due, days};
use plantward::domain::quantity::Exact;
pub use random::Dice;
use random::{shrunk, world};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Mutex;
use world::{PER_GRAM, World};

/// The scenario text of a seed.
pub fn random_text(seed: u64) -> String {
    world(seed).text()
}

/// So many histories are checked in every run.
const CASES: u64 = 100_000;
/// Of those so many by looking at every single day.
const EVERY_DAY: u64 = 400;
/// Of those so many over the text of the command line.
const AS_TEXT: u64 = 400;

fn cases() -> u64 {
    std::env::var("PLANTWARD_CASES").ok().and_then(|text| text.parse().ok()).unwrap_or(CASES)
}

fn first_opinion(due: &[Due]) -> Vec<Opinion> {
    let one = |due: &Due| Opinion {
        plant: due.plant.clone(),
        protected_until: due.protected_until,
        wanted_on: due.wanted_on,
        allowed_on: due.allowed_on,
        due_on: due.due_on,
        held_by: due.held_by.iter().map(|rule| rule.code()).collect(),
        gap_days: due.gap_days,
    };
    due.iter().map(one).collect()
}

/// Is so many grams exactly so many parts?
fn same(grams: &Exact, parts: i128) -> bool {
    grams.numer() * BigInt::from(PER_GRAM) == grams.denom() * BigInt::from(parts)
}

/// What the two disagree on; none: nothing.
fn disagreement(world: &World) -> Option<String> {
    let facts = world.facts();
    let book = Book::new(&facts).unwrap();
    let (first, second) =
        (first_opinion(&days(&book, Allocation::InOrder)), second_opinion(world, Scan::DaysOfChange));
    if first != second {
        return Some(format!("first {first:#?}\nsecond {second:#?}"));
    }
    let ledger = second_ledger(world);
    let standings = book.standings();
    if standings.len() != ledger.len() {
        return Some("not the same ingredients have a cap".to_owned());
    }
    for (name, used, left) in ledger {
        let cap = standings.iter().find(|cap| cap.ingredient == name)?;
        let known = used.iter().any(|used| same(&cap.used, *used));
        let agreed = match (&cap.remaining, left) {
            (Some(first), Some(second)) => same(first, second),
            (first, second) => first.is_none() && second.is_none(),
        };
        if !agreed || !known {
            return Some(format!("{name}: used {used:?}, left {left:?}, shown {:?}", cap.remaining));
        }
    }
    None
}

#[derive(Default)]
struct Tally {
    plants: usize,
    rows: usize,
    never: usize,
    held: BTreeMap<&'static str, usize>,
}

impl Tally {
    fn count(&mut self, world: &World, opinions: &[Opinion]) {
        self.plants += opinions.len();
        self.rows += world.history.len();
        self.never += opinions.iter().filter(|one| one.allowed_on.is_none()).count();
        opinions
            .iter()
            .flat_map(|one| &one.held_by)
            .for_each(|rule| *self.held.entry(rule).or_default() += 1);
    }
}

#[test]
fn both_opinions_agree() {
    let (cases, start) = (cases(), std::time::Instant::now());
    let tally = Mutex::new(Tally::default());
    let threads = std::thread::available_parallelism().map_or(1, |n| n.get() as u64);
    std::thread::scope(|scope| {
        for thread in 0..threads {
            let tally = &tally;
            scope.spawn(move || {
                for seed in (thread..cases).step_by(usize::try_from(threads).unwrap()) {
                    let world = world(seed);
                    if disagreement(&world).is_some() {
                        let least = shrunk(world, |world| disagreement(world).is_some());
                        panic!("seed {seed}: {}\n{}", disagreement(&least).unwrap(), least.text());
                    }
                    if seed.is_multiple_of(16) {
                        tally.lock().unwrap().count(&world, &second_opinion(&world, Scan::DaysOfChange));
                    }
                }
            });
        }
    });
    let tally = tally.into_inner().unwrap();
    eprintln!(
        "oracle: {cases} random histories agree in {:.1} s; of every sixteenth: {} plants, {} rows, {} never allowed, held by {:?}",
        start.elapsed().as_secs_f64(),
        tally.plants,
        tally.rows,
        tally.never,
        tally.held
    );
    // Cases that hold nothing back would agree on nothing.
    for rule in
        ["cap", "min-interval", "max-per-year", "season", "label-unsigned", "area-unknown", "group-repeat"]
    {
        assert!(tally.held.get(rule).is_some_and(|times| *times > 20), "{rule} was hardly met");
    }
}

/// The days of change are enough: looking at every day finds no earlier one.
#[test]
fn every_single_day_gives_the_same() {
    for seed in 0..EVERY_DAY {
        let world = world(seed);
        assert_eq!(
            second_opinion(&world, Scan::EveryDay),
            second_opinion(&world, Scan::DaysOfChange),
            "seed {seed}: {}",
            world.text()
        );
    }
}

/// The command line gives the same as the functions behind it.
#[test]
fn the_command_line_agrees_too() {
    for seed in 0..AS_TEXT {
        let world = world(seed);
        let text = world.text();
        let answer = plantward::calc::run(&text).unwrap_or_else(|errors| panic!("{errors}\n{text}"));
        let mut answer: Value = serde_json::from_str(&answer).unwrap();
        let due = answer["due"].as_array_mut().unwrap();
        due.iter_mut().for_each(|due| drop(due.as_object_mut().unwrap().remove("why")));
        let expected: Value = second_opinion(&world, Scan::DaysOfChange).iter().map(as_json).collect();
        assert_eq!(answer["due"], expected, "seed {seed}: {text}");
    }
}

fn as_json(one: &Opinion) -> Value {
    json!({
        "plant": one.plant, "protected_until": one.protected_until, "wanted_on": one.wanted_on,
        "allowed_on": one.allowed_on, "due_on": one.due_on, "held_by": one.held_by, "gap_days": one.gap_days
    })
}
