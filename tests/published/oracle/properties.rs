//! What must hold on any property, whatever its history.

use super::first_opinion;
use super::random::{Dice, world};
use super::world::World;
use chrono::{Datelike, NaiveDate};
use plantward::domain::book::{Book, post, unpost};
use plantward::domain::cap::{Basis, Poured};
use plantward::domain::dose::ingredients;
use plantward::domain::due::{Allocation, Burden, days, outlook, outlook_by, outlook_of};
use plantward::domain::facts::{Application, Facts};
use plantward::domain::plan::{Ask, may_plan};
use plantward::domain::quantity::Exact;

const CASES: u64 = 1500;

fn worlds() -> impl Iterator<Item = (u64, World)> {
    // Not the seeds that the opinions are compared on.
    (0..CASES).map(|seed| (seed, world(seed + 1_000_000_000)))
}

fn answers(facts: &Facts) -> Vec<super::Opinion> {
    first_opinion(&days(&Book::new(facts).unwrap(), Allocation::InOrder))
}

fn year_later(day: NaiveDate) -> NaiveDate {
    day.with_year(day.year() + 1).unwrap_or_else(|| NaiveDate::from_ymd_opt(day.year() + 1, 3, 1).unwrap())
}

/// Grams in the fullest window with that day, added up one by one.
fn fullest(entries: &[(NaiveDate, Exact)], basis: Basis, day: NaiveDate) -> Exact {
    let sum = |within: &dyn Fn(NaiveDate) -> bool| -> Exact {
        entries.iter().filter(|(on, _)| within(*on)).map(|(_, grams)| grams).sum()
    };
    if basis == Basis::Calendar {
        return sum(&|on| on.year() == day.year());
    }
    let starts = entries.iter().map(|(on, _)| *on).filter(|on| *on <= day && day < year_later(*on));
    starts.map(|start| sum(&|on| start <= on && on < year_later(start))).max().unwrap_or_default()
}

/// Every dose that is allowed, and all others that were reserved before it,
/// stay within every cap in every window that holds its day.
#[test]
fn no_plan_makes_a_window_exceed_a_cap() {
    let mut planned = 0;
    for (seed, world) in worlds() {
        let facts = world.facts();
        let book = Book::new(&facts).unwrap();
        let outlook = outlook_of(&book);
        for substance in &book.substances {
            let name = &substance.name;
            let mut entries: Vec<(NaiveDate, Exact)> = book
                .applied
                .iter()
                .chain(&book.booked)
                .filter_map(|entry| Some((entry.fact.on, entry.grams_of(name)?.clone())))
                .collect();
            // A plant that is booked already is not planned again.
            let own = outlook.due.iter().filter(|due| due.booked_on.is_none());
            let doses: Vec<(NaiveDate, Exact)> =
                own.filter_map(|due| Some((due.allowed_on?, due.dose.grams_of(name)))).collect();
            entries.extend(doses.iter().cloned());
            for (day, grams) in doses.iter().filter(|(_, grams)| *grams > Exact::default()) {
                planned += 1;
                for cap in &substance.caps {
                    let Some(allowed) = &cap.allowed else { panic!("seed {seed}: planned without an area") };
                    for basis in cap.bases() {
                        assert!(fullest(&entries, *basis, *day) <= *allowed, "seed {seed}: {grams} on {day}");
                    }
                }
            }
        }
    }
    assert!(planned > 1000, "only {planned} doses were planned");
}

/// For one plant. Where several compete a larger area may let an earlier one
/// have what a later one had, so the site as a whole promises no such thing.
#[test]
fn more_area_is_never_later_for_a_plant_alone() {
    let mut earlier = 0;
    for (seed, mut world) in worlds() {
        let Some(area) = world.area else { continue };
        world.plants.iter_mut().skip(1).for_each(|plant| plant.active = false);
        world.plants[0].active = true;
        let before = answers(&world.facts());
        world.area = Some(area + 1 + i128::from(seed % 7) * area / 3);
        let after = answers(&world.facts());
        let day = |found: &[super::Opinion]| found[0].allowed_on.unwrap_or(NaiveDate::MAX);
        assert!(day(&after) <= day(&before), "seed {seed}: {}", world.text());
        earlier += u32::from(day(&after) < day(&before));
    }
    assert!(earlier > 20, "the area hardly ever mattered: {earlier}");
}

#[test]
fn the_order_of_the_facts_changes_nothing() {
    for (seed, world) in worlds() {
        let facts = world.facts();
        let mut shuffled = facts.clone();
        let mut dice = Dice::new(seed);
        for list in [&mut shuffled.history, &mut shuffled.reservations] {
            for n in (1..list.len()).rev() {
                list.swap(n, dice.index(n + 1));
            }
        }
        shuffled.plants.reverse();
        shuffled.products.reverse();
        let mut again = answers(&shuffled);
        again.reverse();
        assert_eq!(answers(&facts), again, "seed {seed}: {}", world.text());
    }
}

/// An amendment and the amendment that takes it back leave no trace; nor does
/// a booking that is made and cancelled in the ledger.
#[test]
fn amending_back_restores() {
    for (seed, world) in worlds().filter(|(_, world)| !world.history.is_empty()) {
        let mut facts = world.facts();
        let before = answers(&facts);
        let at = usize::try_from(seed).unwrap() % facts.history.len();
        let kept = facts.history[at].clone();
        facts.history[at].amount.value *= num_bigint::BigInt::from(7);
        facts.history[at].on = facts.today;
        let _amended = answers(&facts);
        facts.history[at] = kept;
        assert_eq!(before, answers(&facts), "seed {seed}");
        let book = Book::new(&facts).unwrap();
        let mut substances = book.substances.clone();
        let mut odd = facts.history[at].clone();
        odd.amount.value /= num_bigint::BigInt::from(7);
        let product = facts.products.iter().find(|product| product.id == odd.product).unwrap();
        let held = ingredients(product, &odd.amount).unwrap();
        let poured = Poured { product, amount: &odd.amount, ingredients: &held };
        post(&mut substances, facts.today, &poured);
        unpost(&mut substances, facts.today, &poured);
        for (one, other) in book.substances.iter().zip(&substances) {
            for basis in [Basis::Calendar, Basis::Rolling] {
                let fullest =
                    |of: &plantward::domain::cap::Substance| of.ledger.fullest_window(basis, facts.today);
                assert_eq!(fullest(one), fullest(other), "seed {seed}");
            }
        }
    }
}

/// Whether a plant is retired changes nothing in the ledger, and so nothing for
/// a plant that is looked at before it.
#[test]
fn the_past_of_a_retired_plant_still_counts() {
    for (seed, mut world) in worlds() {
        let count = world.plants.len();
        world.plants.iter_mut().for_each(|plant| plant.active = false);
        world.plants[0].active = true;
        let retired = world.facts();
        let book = Book::new(&retired).unwrap();
        let mut gone = retired.clone();
        gone.plants.truncate(1);
        let standings = |facts: &Facts| -> Vec<_> {
            outlook(facts)
                .unwrap()
                .caps
                .into_iter()
                .map(|cap| (cap.ingredient, cap.used, cap.remaining))
                .collect()
        };
        assert_eq!(standings(&retired).len(), book.substances.len(), "seed {seed}");
        // Also where the plant's record is not even among the facts any more, as
        // long as its applications name their use.
        for fact in retired.history.iter().zip(&mut gone.history) {
            assert_eq!(fact.0, fact.1);
        }
        assert_eq!(standings(&retired), standings(&gone), "seed {seed} of {count}");
        world.plants.iter_mut().for_each(|plant| plant.active = true);
        assert_eq!(standings(&world.facts()), standings(&retired), "seed {seed}");
    }
}

/// A plan for the day that the outlook names is taken; one day before, unless
/// that is too early for the outlook to look at, it is refused.
#[test]
fn plans_and_outlook_agree_for_a_plant_alone() {
    for (seed, mut world) in worlds() {
        world.plants.truncate(1);
        world.plants[0].active = true;
        for fact in world.history.iter_mut().chain(&mut world.booked) {
            fact.plant = fact.plant.filter(|n| *n == 0);
        }
        world.booked.retain(|fact| fact.plant.is_none());
        let facts = world.facts();
        let due = &outlook(&facts).unwrap().due[0];
        let plan = |on: NaiveDate| may_plan(&facts, &Ask { plant: "a0", use_id: None, rate: None, on });
        let Some(day) = due.allowed_on else { continue };
        assert!(plan(day).is_ok(), "seed {seed} on {day}: {}", world.text());
        let before = day.pred_opt().unwrap();
        if before >= due.wanted_on.max(facts.today) {
            assert!(plan(before).is_err(), "seed {seed} on {before}: {}", world.text());
        }
    }
}

/// The order of the queue that the engine itself uses, and every other one, by
/// retiring plants and booking the ones before: here the plants are placed one
/// by one, each with those before it as reservations of another plant.
fn burden_in_order(facts: &Facts, order: &[usize]) -> Burden {
    let mut sum = Burden::default();
    let mut facts = facts.clone();
    for at in order {
        facts.plants.iter_mut().enumerate().for_each(|(n, plant)| plant.active = n == *at);
        let book = Book::new(&facts).unwrap();
        let due = days(&book, Allocation::InOrder).remove(0);
        let reservation = due.allowed_on.filter(|_| due.booked_on.is_none()).map(|on| Application {
            plant: None,
            product: book.plantings[*at].product.id.clone(),
            use_id: None,
            on,
            amount: due.dose.product.clone(),
        });
        facts.reservations.extend(reservation);
        sum.never += u32::from(due.allowed_on.is_none());
        sum.gap_days += due.gap_days.unwrap_or(0);
    }
    sum
}

fn permutations(items: &[usize]) -> Vec<Vec<usize>> {
    if items.is_empty() {
        return vec![Vec::new()];
    }
    let first = |at: usize| {
        let mut rest = items.to_vec();
        let one = rest.remove(at);
        permutations(&rest).into_iter().map(move |tail| [vec![one], tail].concat())
    };
    (0..items.len()).flat_map(first).collect()
}

fn burden(due: &[plantward::domain::due::Due]) -> (u32, i64) {
    let never = due.iter().filter(|one| one.allowed_on.is_none()).count();
    (u32::try_from(never).unwrap(), due.iter().filter_map(|one| one.gap_days).sum())
}

/// Of all orders in which up to five plants can be served, none leaves fewer
/// plants without a day or fewer days without protection than the option does.
#[test]
fn least_gap_is_the_best_of_all_orders() {
    let mut better = 0;
    for (seed, world) in worlds().filter(|(_, world)| world.caps.len() > 1).take(150) {
        let facts = world.facts();
        let book = Book::new(&facts).unwrap();
        let usual = burden(&days(&book, Allocation::InOrder));
        let outlook = outlook_by(&book, Allocation::LeastGap);
        let found = burden(&outlook.due);
        let active: Vec<usize> = (0..world.plants.len()).filter(|n| world.plants[*n].active).collect();
        let orders = permutations(&active);
        let best = orders.iter().map(|order| {
            let sum = burden_in_order(&facts, order);
            (sum.never, sum.gap_days)
        });
        assert_eq!(Some(found), best.min(), "seed {seed}: {}", world.text());
        assert!(outlook.exact && found <= usual, "seed {seed}");
        better += u32::from(found < usual);
    }
    assert!(better > 5, "the usual order was nearly always the best: {better}");
}

/// Twelve plants of different sizes that compete for one cap are still searched
/// to the end.
#[test]
fn least_gap_is_exact_for_twelve_plants() {
    for seed in 0..3 {
        let mut world =
            worlds().map(|(_, world)| world).filter(|world| world.area.is_some()).nth(seed).unwrap();
        world.unsigned = false;
        world.plants = (0..12)
            .map(|n| super::world::Plant {
                item: 0,
                measure: i128::from(n % 5 + 3),
                count: 1,
                high: false,
                wanted: None,
                active: true,
            })
            .collect();
        let facts = world.facts();
        let book = Book::new(&facts).unwrap();
        let outlook = outlook_by(&book, Allocation::LeastGap);
        assert!(outlook.exact, "seed {seed}");
        assert!(burden(&outlook.due) <= burden(&days(&book, Allocation::InOrder)));
    }
}
