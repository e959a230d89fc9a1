//! The rule of reminders against a slow simulation that shares nothing with it, over random histories: days before a
//! treatment is due and after protection ran out, quiet days, a pause, due days that move, a yes, a no, a new season.
//!
//! What a reminder must do is the company's own wish and published nowhere; the simulation is these sentences, one
//! by one: A step's day is so many days before the due day, or after the later of lapse and due day. If nothing goes
//! out on that day, it is the first day after it on which something does. Of the steps whose day has come the last one
//! counts. It is said if it is at most thirty days late, and neither it nor a later one was said this season. What is
//! said goes into one message a site and day, under the step of the plant that is due first, and takes along what is
//! due within thirty days after that plant and has not heard of that step. In a pause nothing is said or noted.
use chrono::{Datelike, NaiveDate, TimeDelta};
use plantward::domain::reminder::{Plant, Terms};
use std::collections::BTreeSet;

/// Every history's numbers hang on its own.
struct Dice(u64);

impl Dice {
    fn below(&mut self, end: u64) -> u64 {
        // splitmix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014.
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % end
    }

    fn some(&mut self, most: u64, within: u64) -> Vec<u32> {
        (0..self.below(most + 1)).map(|_| u32::try_from(self.below(within)).unwrap()).collect()
    }
}

/// A step as the simulation thinks of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Step {
    /// Minus the days before.
    Ahead(i64),
    Behind(i64),
}

/// A plant of a history.
#[derive(Debug, Clone)]
struct Grown {
    due: NaiveDate,
    lapse: NaiveDate,
    /// Nobody has decided.
    open: bool,
    /// For the simulation: every step said this season.
    heard: BTreeSet<Step>,
    /// For the rule: the mark that it is told.
    said: Option<i32>,
}

/// What a day said: the step, and each plant with the step that it has heard by now.
type Message = (Step, Vec<(usize, Step)>);

fn mute(terms: &Terms, day: NaiveDate) -> bool {
    let weekday = [1, 2, 3, 4, 5, 6, 7][usize::try_from(day.weekday().num_days_from_monday()).unwrap()];
    terms.quiet_weekdays.contains(&weekday) || terms.quiet_dates.contains(&day)
}

/// All steps, the first one first.
fn steps(terms: &Terms) -> BTreeSet<Step> {
    let ahead = terms.before.iter().map(|n| Step::Ahead(-i64::from(*n)));
    ahead.chain(terms.after.iter().map(|n| Step::Behind(i64::from(*n)))).collect()
}

fn day_of(terms: &Terms, step: Step, plant: &Grown) -> NaiveDate {
    let mut day = match step {
        Step::Ahead(n) => plant.due + TimeDelta::days(n),
        Step::Behind(n) if plant.lapse > plant.due => plant.lapse + TimeDelta::days(n),
        Step::Behind(n) => plant.due + TimeDelta::days(n),
    };
    while mute(terms, day) {
        day = day.succ_opt().unwrap();
    }
    day
}

/// The step that is to be said of this plant today, were it alone.
fn wanted(terms: &Terms, plant: &Grown, today: NaiveDate) -> Option<Step> {
    let mut last = None;
    for step in steps(terms) {
        if day_of(terms, step, plant) <= today {
            last = Some(step);
        }
    }
    let step = last?;
    let late = today - day_of(terms, step, plant);
    let heard = plant.heard.iter().any(|one| *one >= step);
    (late <= TimeDelta::days(30) && !heard).then_some(step)
}

/// The simulation's day.
fn simulated(terms: &Terms, plants: &mut [Grown], today: NaiveDate) -> Option<Message> {
    if mute(terms, today) {
        return None;
    }
    let own: Vec<Option<Step>> =
        plants.iter().map(|p| if p.open { wanted(terms, p, today) } else { None }).collect();
    let mut first: Option<usize> = None;
    for at in 0..plants.len() {
        if own[at].is_some() && first.is_none_or(|f| plants[at].due < plants[f].due) {
            first = Some(at);
        }
    }
    let first = first?;
    let (step, due) = (own[first].unwrap(), plants[first].due);
    let mut named = vec![];
    for at in 0..plants.len() {
        let plant = &plants[at];
        if !plant.open {
            continue;
        }
        let near = plant.due >= due && plant.due <= due + TimeDelta::days(30);
        let along = near && plant.heard.iter().all(|one| *one < step);
        let hears = match own[at] {
            Some(mine) if along && step > mine => Some(step),
            Some(mine) => Some(mine),
            None if along => Some(step),
            None => None,
        };
        if let Some(hears) = hears {
            named.push((at, hears));
        }
    }
    for (at, hears) in &named {
        plants[*at].heard.insert(*hears);
    }
    Some((step, named))
}

/// A way to ask the rule: the terms, the plants that are open, the day. Told to be wrong in tests of the test.
type Rule = fn(&Terms, &[Plant], NaiveDate) -> Option<plantward::domain::reminder::Round>;

fn right(terms: &Terms, plants: &[Plant], today: NaiveDate) -> Option<plantward::domain::reminder::Round> {
    terms.round(plants, today)
}

fn step_of(mark: i32) -> Step {
    if mark <= 0 { Step::Ahead(mark.into()) } else { Step::Behind(i64::from(mark) - 1) }
}

/// The rule's day, with its notes written as the program writes them.
fn asked(rule: Rule, terms: &Terms, plants: &mut [Grown], today: NaiveDate) -> Vec<Message> {
    let mut all = vec![];
    loop {
        let open: Vec<usize> = (0..plants.len()).filter(|at| plants[*at].open).collect();
        let seen: Vec<Plant> = open
            .iter()
            .map(|at| &plants[*at])
            .map(|p| Plant { due_on: p.due, lapses_on: p.lapse, said: p.said })
            .collect();
        let Some(round) = rule(terms, &seen, today) else { return all };
        let mut named = vec![];
        for (place, mark) in round.plants.iter().zip(&round.marks) {
            plants[open[*place]].said = Some(*mark);
            named.push((open[*place], step_of(*mark)));
        }
        named.sort_unstable();
        all.push((step_of(round.step.mark()), named));
        if all.len() > 9 {
            return all;
        }
    }
}

/// What may happen to a site in a night.
fn night(dice: &mut Dice, plants: &mut Vec<Grown>, paused: &mut bool, today: NaiveDate) {
    if dice.below(70) == 0 {
        *paused = !*paused;
    }
    for plant in plants.iter_mut() {
        match dice.below(160) {
            // The cap, a label or another plant moves the due day; sometimes the lapse with it.
            0 => plant.due += TimeDelta::days(i64::try_from(dice.below(81)).unwrap() - 40),
            1 => plant.lapse = plant.due + TimeDelta::days(i64::try_from(dice.below(41)).unwrap() - 10),
            // A yes or a no.
            2 => plant.open = false,
            _ => {}
        }
        // Somebody comes: a new season.
        if plant.due + TimeDelta::days(70) < today || (!plant.open && dice.below(40) == 0) {
            let due = today + TimeDelta::days(330 + i64::try_from(dice.below(50)).unwrap());
            let lapse = due + TimeDelta::days(i64::try_from(dice.below(30)).unwrap());
            *plant = Grown { due, lapse, open: true, heard: BTreeSet::new(), said: None };
        }
    }
    if plants.len() < 5 && dice.below(200) == 0 {
        plants.push(grown(dice, today));
    }
}

fn grown(dice: &mut Dice, today: NaiveDate) -> Grown {
    let due = today + TimeDelta::days(i64::try_from(dice.below(300)).unwrap() - 60);
    let lapse = due + TimeDelta::days(i64::try_from(dice.below(30)).unwrap());
    Grown { due, lapse, open: true, heard: BTreeSet::new(), said: None }
}

fn terms(dice: &mut Dice, start: NaiveDate) -> Terms {
    let quiet_weekdays = (1..=7).filter(|_| dice.below(4) == 0).take(6).collect();
    let quiet_dates =
        (0..dice.below(40)).map(|_| start + TimeDelta::days(i64::try_from(dice.below(800)).unwrap()));
    let quiet_dates = quiet_dates.collect();
    Terms { before: dice.some(4, 60), after: dice.some(3, 40), quiet_weekdays, quiet_dates }
}

/// The first difference in a history, in words; and how many messages it had.
fn history(number: u64, rule: Rule) -> (Option<String>, usize) {
    let mut dice = Dice(number);
    let start: NaiveDate = "2027-09-20".parse().unwrap();
    let terms = terms(&mut dice, start);
    let mut plants: Vec<Grown> = (0..=dice.below(3)).map(|_| grown(&mut dice, start)).collect();
    let (mut paused, mut messages) = (false, 0);
    for today in start.iter_days().take(800) {
        night(&mut dice, &mut plants, &mut paused, today);
        if paused {
            continue;
        }
        let got = asked(rule, &terms, &mut plants, today);
        let expected: Vec<Message> = simulated(&terms, &mut plants, today).into_iter().collect();
        if got != expected {
            return (
                Some(format!("{number}, {today}: {got:?} instead of {expected:?}; {terms:?}")),
                messages,
            );
        }
        messages += got.len();
    }
    (None, messages)
}

#[test]
fn the_rule_says_what_the_simulation_says() {
    let cases = std::env::var("PLANTWARD_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(400);
    let mut messages = 0;
    for number in 0..cases {
        let (wrong, said) = history(number, right);
        assert_eq!(wrong, None);
        messages += said;
    }
    println!("{cases} histories of 800 days, {messages} messages, 0 differences");
    assert!(messages > usize::try_from(cases).unwrap() * 3, "{messages}: they had something to say");
}

/// The comparison must find what is wrong: each of these is a slip that somebody could make.
#[test]
fn slips_are_found() {
    fn no_single_days(
        terms: &Terms,
        plants: &[Plant],
        today: NaiveDate,
    ) -> Option<plantward::domain::reminder::Round> {
        Terms { quiet_dates: vec![], ..terms.clone() }.round(plants, today)
    }
    fn a_day_early(
        terms: &Terms,
        plants: &[Plant],
        today: NaiveDate,
    ) -> Option<plantward::domain::reminder::Round> {
        let later: Vec<Plant> =
            plants.iter().map(|p| Plant { due_on: p.due_on.pred_opt().unwrap(), ..p.clone() }).collect();
        terms.round(&later, today)
    }
    fn lapse_alone(
        terms: &Terms,
        plants: &[Plant],
        today: NaiveDate,
    ) -> Option<plantward::domain::reminder::Round> {
        // A plant whose due day lies after its lapse counts from the lapse.
        let own = plants.iter().map(|p| Plant { due_on: p.due_on.min(p.lapses_on), ..p.clone() });
        terms.round(&own.collect::<Vec<_>>(), today)
    }
    fn forgets_the_lapse(
        terms: &Terms,
        plants: &[Plant],
        today: NaiveDate,
    ) -> Option<plantward::domain::reminder::Round> {
        let own = plants.iter().map(|p| Plant { said: p.said.filter(|mark| *mark <= 0), ..p.clone() });
        terms.round(&own.collect::<Vec<_>>(), today)
    }
    fn each_alone(
        terms: &Terms,
        plants: &[Plant],
        today: NaiveDate,
    ) -> Option<plantward::domain::reminder::Round> {
        let mut round = terms.round(plants, today)?;
        round.plants.truncate(1);
        round.marks.truncate(1);
        Some(round)
    }
    let slips: [(&str, Rule); 5] = [
        ("single quiet days are passed over", no_single_days),
        ("a day early", a_day_early),
        ("the due day is left out after the lapse", lapse_alone),
        ("what was said after the lapse is forgotten", forgets_the_lapse),
        ("each plant in a message of its own", each_alone),
    ];
    for (name, slip) in slips {
        assert!((0..200).any(|number| history(number, slip).0.is_some()), "{name}: not found");
    }
}
