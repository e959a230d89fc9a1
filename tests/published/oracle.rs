//! A slow and plain second opinion on caps and due dates.
//!
//! The core sweeps over spans; this walks day by day and adds up whole numbers
//! of a fine unit. They share no code but the scenario text. More cases:
//! `PLANTWARD_CASES=20000 cargo test --test published oracle`.

use chrono::{Datelike, Days, Months, NaiveDate};
use proptest::prelude::*;
use serde_json::{Value, json};

/// Grams are counted in parts so fine that all amounts below are whole numbers.
const PER_GRAM: i128 = 3_785_411_784 * 43_560 * 1_000_000;

#[derive(Debug, Clone)]
struct Item {
    protection: (u32, usize),
    uptake: u32,
    interval: u32,
    max: Option<u32>,
    season: Option<(u32, u32)>,
    band: (i128, i128),
}

#[derive(Debug, Clone)]
struct Plant {
    item: usize,
    measure: i128,
    count: i128,
    high: bool,
    wanted: Option<i64>,
}

#[derive(Debug, Clone)]
struct Applied {
    plant: Option<usize>,
    product: usize,
    item: Option<usize>,
    day: i64,
    amount: i128,
}

#[derive(Debug, Clone)]
struct Cap {
    product: usize,
    second: bool,
    tenths: i128,
    year: usize,
}

#[derive(Debug, Clone)]
struct World {
    metric: bool,
    area: Option<i128>,
    today: i64,
    unsigned: bool,
    strengths: [i128; 3],
    items: Vec<Item>,
    plants: Vec<Plant>,
    history: Vec<Applied>,
    booked: Vec<Applied>,
    caps: Vec<Cap>,
}

const YEARS: [&str; 3] = ["calendar", "rolling-12-months", "unstated"];
const UNITS: [&str; 4] = ["day", "week", "month", "year"];

fn date(offset: i64) -> NaiveDate {
    // Around a leap day, so that it is met often.
    NaiveDate::from_ymd_opt(2024, 2, 29).unwrap() + chrono::Duration::days(offset)
}

fn a_year_later(day: NaiveDate) -> NaiveDate {
    NaiveDate::from_ymd_opt(day.year() + 1, day.month(), day.day())
        .unwrap_or_else(|| NaiveDate::from_ymd_opt(day.year() + 1, 3, 1).unwrap())
}

fn protected(day: NaiveDate, (value, unit): (u32, usize)) -> NaiveDate {
    match unit {
        0 => day + Days::new(value.into()),
        1 => day + Days::new(u64::from(value) * 7),
        2 => day + Months::new(value),
        _ => day + Months::new(value * 12),
    }
}

/// Uses 0 and 1 are those of product 0, uses 2 and 3 those of product 1.
fn product_of(item: usize) -> usize {
    item / 2
}

impl World {
    /// Parts of ingredient x and y in so much product. Product 0 holds x,
    /// product 1 holds x and y.
    fn parts(&self, product: usize, amount: i128) -> [i128; 2] {
        // Metric: g/L and mL. Otherwise lb/gal and mL.
        let per = if self.metric { PER_GRAM / 1000 } else { PER_GRAM / 3_785_411_784 * 453_592_370 };
        let [a, b, c] = self.strengths.map(|strength| strength * amount * per);
        if product == 0 { [a, 0] } else { [b, c] }
    }

    /// Parts that a cap allows.
    fn allowed(&self, cap: &Cap) -> Option<i128> {
        // Metric: tenths of g/ha on hectares. Otherwise tenths of lb/acre on square feet.
        let area = self.area?;
        let per = if self.metric { PER_GRAM / 10 } else { PER_GRAM / 43_560 / 1_000_000 * 45_359_237 };
        Some(cap.tenths * area * per)
    }

    fn dose(&self, plant: &Plant) -> i128 {
        let (low, high) = self.items[plant.item].band;
        plant.measure * plant.count * if plant.high { high } else { low }
    }

    fn item_of(&self, fact: &Applied) -> usize {
        let day = date(fact.day);
        let own = fact.plant.map(|plant| self.plants[plant].item);
        match (fact.item, own) {
            (Some(item), _) => fact.product * 2 + item,
            (None, Some(item)) if product_of(item) == fact.product => item,
            _ => {
                let (first, second) = (fact.product * 2, fact.product * 2 + 1);
                let end = |item: usize| protected(day, self.items[item].protection);
                if end(second) > end(first) { second } else { first }
            }
        }
    }

    fn text(&self) -> String {
        let (strength, cap, area) =
            if self.metric { ("g/L", "g/ha", "ha") } else { ("lb/gal", "lb/acre", "sqft") };
        let ingredient = |name: &str, value: i128| json!({ "name": name, "strength": { "value": value.to_string(), "unit": strength } });
        let uses = |product: usize| -> Value {
            [product * 2, product * 2 + 1].into_iter().map(|n| self.use_text(n)).collect()
        };
        let caps = |product: usize| -> Value {
            let own = self.caps.iter().filter(|cap| cap.product == product);
            own.map(|one| {
                let amount = format!("{}.{}", one.tenths / 10, one.tenths % 10);
                json!({ "ingredient": if one.second { "y" } else { "x" }, "amount": { "value": amount, "unit": cap }, "year": YEARS[one.year] })
            })
            .collect()
        };
        let [a, b, c] = self.strengths;
        let mut scenario = json!({
            "today": date(self.today),
            "site": {},
            "products": [
                { "id": "p0", "form": "liquid", "ingredients": [ingredient("x", a)], "caps": caps(0), "uses": uses(0), "signed": !self.unsigned },
                { "id": "p1", "form": "liquid", "ingredients": [ingredient("x", b), ingredient("y", c)], "caps": caps(1), "uses": uses(1) }
            ],
            "plants": self.plants.iter().enumerate().map(|(n, one)| self.plant_text(n, one)).collect::<Value>(),
            "history": self.history.iter().map(Self::applied_text).collect::<Value>(),
            "reservations": self.booked.iter().map(Self::applied_text).collect::<Value>(),
        });
        if let Some(value) = self.area {
            scenario["site"]["cap_area"] = json!({ "value": value.to_string(), "unit": area });
        }
        scenario.to_string()
    }

    fn use_text(&self, n: usize) -> Value {
        let item = &self.items[n];
        let mut text = json!({
            "id": format!("u{n}"), "method": "basal-drench", "measure": "height-ft",
            "rate": { "low": item.band.0.to_string(), "high": item.band.1.to_string(), "unit": "mL" },
            "protection": { "value": item.protection.0, "unit": UNITS[item.protection.1] },
            "uptake_days": item.uptake, "min_interval_days": item.interval, "max_per_year": item.max
        });
        if let Some((from, to)) = item.season {
            text["season"] = json!({ "from": format!("{from:02}-01"), "to": format!("{to:02}-28") });
        }
        text
    }

    fn plant_text(&self, n: usize, plant: &Plant) -> Value {
        let mut text = json!({
            "id": format!("a{n}"), "use": format!("u{}", plant.item),
            "measure": plant.measure.to_string(), "count": plant.count
        });
        if plant.high {
            text["rate"] = json!(self.items[plant.item].band.1.to_string());
        }
        if let Some(wanted) = plant.wanted {
            text["first_wanted"] = json!(date(wanted));
        }
        text
    }

    fn applied_text(fact: &Applied) -> Value {
        json!({
            "plant": fact.plant.map(|n| format!("a{n}")),
            "product": format!("p{}", fact.product),
            "use": fact.item.map(|n| format!("u{}", fact.product * 2 + n)),
            "on": date(fact.day),
            "amount": { "value": fact.amount.to_string(), "unit": "mL" }
        })
    }
}

/// What is in the ledger: day, parts of x and of y.
type Posted = Vec<(NaiveDate, [i128; 2])>;

/// Does the dose keep every cap on that day?
fn caps_kept(world: &World, posted: &Posted, dose: [i128; 2], day: NaiveDate) -> bool {
    world.caps.iter().all(|cap| {
        let which = usize::from(cap.second);
        let Some(allowed) = world.allowed(cap) else { return true };
        if dose[which] == 0 {
            return true;
        }
        let sum = |within: &dyn Fn(NaiveDate) -> bool| -> i128 {
            posted.iter().filter(|(on, _)| within(*on)).map(|(_, parts)| parts[which]).sum::<i128>()
                + dose[which]
        };
        let calendar = || sum(&|on| on.year() == day.year()) <= allowed;
        let rolling = || {
            // A window that begins on a day without an entry holds no more than
            // the one that begins with the next entry or with the day itself.
            let holds = |start: NaiveDate| start <= day && day < a_year_later(start);
            let starts = posted.iter().map(|(on, _)| *on).filter(|on| holds(*on)).chain([day]);
            let mut starts = starts;
            starts.all(|start| sum(&|on| start <= on && on < a_year_later(start)) <= allowed)
        };
        match cap.year {
            0 => calendar(),
            1 => rolling(),
            _ => calendar() && rolling(),
        }
    })
}

fn season_kept(item: &Item, day: NaiveDate) -> bool {
    let Some((from, to)) = item.season else { return true };
    let at = (day.month(), day.day());
    let (from, to) = ((from, 1), (to, 28));
    if from <= to { from <= at && at <= to } else { at >= from || at <= to }
}

fn often_kept(max: Option<u32>, past: &[NaiveDate], day: NaiveDate) -> bool {
    let Some(max) = max else { return true };
    let starts = past.iter().copied().filter(|on| *on <= day && day < a_year_later(*on)).chain([day]);
    let mut starts = starts;
    starts.all(|start| {
        past.iter().filter(|on| start <= **on && **on < a_year_later(start)).count() < max as usize
    })
}

/// The rules that forbid the day, in the listed order.
fn broken(
    world: &World,
    posted: &Posted,
    plant: &Plant,
    past: &[NaiveDate],
    day: NaiveDate,
) -> Vec<&'static str> {
    let item = &world.items[plant.item];
    let product = product_of(plant.item);
    let dose = world.parts(product, world.dose(plant));
    let bound = world.caps.iter().any(|cap| dose[usize::from(cap.second)] > 0);
    let last = past.iter().max();
    let rules = [
        ("cap", caps_kept(world, posted, dose, day)),
        ("min-interval", last.is_none_or(|last| (day - *last).num_days() >= i64::from(item.interval))),
        ("max-per-year", often_kept(item.max, past, day)),
        ("season", season_kept(item, day)),
        ("label-unsigned", !(world.unsigned && product == 0)),
        ("area-unknown", world.area.is_some() || !bound),
    ];
    rules.into_iter().filter(|(_, kept)| !kept).map(|(rule, _)| rule).collect()
}

/// One answer, without the words.
fn second_opinion(world: &World) -> Vec<Value> {
    let today = date(world.today);
    let mut posted: Posted = world
        .history
        .iter()
        .chain(&world.booked)
        .map(|fact| (date(fact.day), world.parts(fact.product, fact.amount)))
        .collect();
    let until = |n: usize| {
        let own = world.history.iter().filter(|fact| fact.plant == Some(n));
        own.map(|fact| protected(date(fact.day), world.items[world.item_of(fact)].protection)).max()
    };
    let wanted = |n: usize| match until(n) {
        Some(end) => end - Days::new(world.items[world.plants[n].item].uptake.into()),
        None => world.plants[n].wanted.map_or(today, date),
    };
    let mut order: Vec<usize> = (0..world.plants.len()).collect();
    order.sort_by_key(|n| {
        let plant = &world.plants[*n];
        let mass: i128 = world.parts(product_of(plant.item), world.dose(plant)).iter().sum();
        (wanted(*n), mass, format!("a{n}"))
    });
    let mut answers = vec![Value::Null; world.plants.len()];
    for n in order {
        let plant = &world.plants[n];
        let product = product_of(plant.item);
        let mine = |fact: &&Applied| fact.plant == Some(n) && fact.product == product;
        let past: Vec<NaiveDate> = world.history.iter().filter(mine).map(|fact| date(fact.day)).collect();
        let own: Posted = world
            .booked
            .iter()
            .filter(mine)
            .map(|fact| (date(fact.day), world.parts(fact.product, fact.amount)))
            .collect();
        for entry in &own {
            let at = posted.iter().position(|one| one == entry).unwrap();
            posted.remove(at);
        }
        let first = wanted(n).max(today);
        let held = broken(world, &posted, plant, &past, first);
        let horizon = today + Months::new(60);
        let never = held.contains(&"label-unsigned") || held.contains(&"area-unknown");
        let allowed = first
            .iter_days()
            .take_while(|day| *day <= horizon && !never)
            .find(|day| broken(world, &posted, plant, &past, *day).is_empty());
        let due = allowed.map(|day| if day == first { wanted(n) } else { day });
        let gap = allowed.map(|day| {
            let works = day + Days::new(world.items[plant.item].uptake.into());
            until(n).map_or(0, |end| (works - end).num_days().max(0))
        });
        answers[n] = json!({
            "plant": format!("a{n}"), "protected_until": until(n), "wanted_on": wanted(n), "allowed_on": allowed,
            "due_on": due, "held_by": held, "gap_days": gap
        });
        match (own.is_empty(), allowed) {
            (true, Some(day)) => posted.push((day, world.parts(product, world.dose(plant)))),
            (true, None) => {}
            (false, _) => posted.extend(own),
        }
    }
    answers
}

fn six_places(parts: i128) -> String {
    let twice = parts.abs() * 1_000_000 * 2 / PER_GRAM;
    let units = (twice + 1) / 2;
    let sign = if parts < 0 && units > 0 { "-" } else { "" };
    format!("{sign}{}.{:06}", units / 1_000_000, units % 1_000_000)
}

/// Used and left of x and y, by the tightest cap of each. Of several caps that
/// leave the same, any may be shown, so all of their sums used are given.
fn second_ledger(world: &World) -> Vec<(String, Vec<String>, Option<String>)> {
    let today = date(world.today);
    let mut found = Vec::new();
    for (which, name) in ["x", "y"].into_iter().enumerate() {
        let used = |rolling: bool| -> i128 {
            let shares =
                |on: NaiveDate| if rolling { today < a_year_later(on) } else { on.year() == today.year() };
            let facts = world.history.iter().filter(|fact| date(fact.day) <= today && shares(date(fact.day)));
            facts.map(|fact| world.parts(fact.product, fact.amount)[which]).sum()
        };
        let caps = world.caps.iter().filter(|cap| usize::from(cap.second) == which);
        let all: Vec<(Option<i128>, i128)> = caps
            .flat_map(|cap| match cap.year {
                0 => vec![(cap, false)],
                1 => vec![(cap, true)],
                _ => vec![(cap, false), (cap, true)],
            })
            .map(|(cap, rolling)| (world.allowed(cap).map(|most| most - used(rolling)), used(rolling)))
            .collect();
        let key = |(left, used): &(Option<i128>, i128)| (*left, if left.is_none() { -used } else { 0 });
        if let Some(tightest) = all.iter().map(key).min() {
            let tied = all.iter().filter(|one| key(one) == tightest).map(|(_, used)| six_places(*used));
            found.push((name.to_owned(), tied.collect(), tightest.0.map(six_places)));
        }
    }
    found.sort();
    found
}

prop_compose! {
    fn item()(
        protection in prop_oneof![(1..400_u32, Just(0_usize)), (1..40_u32, Just(1)), (1..25_u32, Just(2)), (1..3_u32, Just(3))],
        uptake in prop_oneof![Just(0_u32), 1..60_u32],
        interval in prop_oneof![Just(0_u32), 1..500_u32],
        max in prop::option::weighted(0.4, 1..4_u32),
        season in prop::option::weighted(0.25, (1..13_u32, 1..13_u32)),
        low in 1..4_i128,
        more in 0..4_i128,
    ) -> Item {
        Item { protection, uptake, interval, max, season, band: (low * 10, (low + more) * 10) }
    }
}

/// Days of the range, and often the ones around leap days and a year later.
fn days(range: std::ops::Range<i64>) -> impl Strategy<Value = i64> {
    let near = prop::sample::select(vec![-366_i64, -365, -1, 0, 1, 365, 366, 730, 731]);
    prop_oneof![3 => range, 1 => near]
}

fn applied(plants: usize, days: impl Strategy<Value = i64>) -> impl Strategy<Value = Applied> {
    let plant = prop::option::weighted(0.7, 0..plants);
    (plant, 0..2_usize, prop::option::of(0..2_usize), days, 1..30_i128).prop_map(
        |(plant, product, item, day, tens)| Applied { plant, product, item, day, amount: tens * 10 },
    )
}

fn cap() -> impl Strategy<Value = Cap> {
    (0..2_usize, any::<bool>(), 1..80_i128, 0..3_usize).prop_map(|(product, second, tenths, year)| Cap {
        product,
        second,
        tenths: tenths * 5,
        year,
    })
}

fn world() -> impl Strategy<Value = World> {
    let sizes = (1..6_usize, any::<bool>());
    sizes.prop_flat_map(|(plants, metric)| {
        let area = if metric {
            (1..4_i128).boxed()
        } else {
            prop_oneof![Just(43_560_i128), 500..20_000_i128].boxed()
        };
        let strengths = if metric { 50..200_i128 } else { 1..4_i128 };
        let strengths = prop::array::uniform3(
            strengths.prop_map(move |value| if metric { value / 50 * 50 } else { value }),
        );
        let plant = (
            0..4_usize,
            1..9_i128,
            1..3_i128,
            any::<bool>(),
            prop::option::of(prop_oneof![Just(100_i64), days(-400..900)]),
        )
            .prop_map(|(item, measure, count, high, wanted)| Plant {
                item,
                measure,
                count,
                high,
                wanted,
            });
        (
            prop::option::weighted(0.95, area),
            days(-10..1200),
            prop::bool::weighted(0.05),
            strengths,
            prop::collection::vec(item(), 4),
            prop::collection::vec(plant, plants),
            prop::collection::vec(applied(plants, days(-400..1500)), 0..14),
            prop::collection::vec(applied(plants, days(0..1700)), 0..3),
            prop::collection::vec(cap(), 0..4),
        )
            .prop_map(
                move |(area, today, unsigned, strengths, items, plants, history, booked, caps)| World {
                    metric,
                    area,
                    today,
                    unsigned,
                    strengths,
                    items,
                    plants,
                    history,
                    booked,
                    caps: if metric {
                        caps
                    } else {
                        caps.into_iter().map(|cap| Cap { tenths: cap.tenths / 5, ..cap }).collect()
                    },
                },
            )
    })
}

fn cases() -> u32 {
    std::env::var("PLANTWARD_CASES").ok().and_then(|text| text.parse().ok()).unwrap_or(300)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn both_opinions_agree(world in world()) {
        let text = world.text();
        let answer = plantward::calc::run(&text).unwrap_or_else(|errors| panic!("{errors}\n{text}"));
        let answer: Value = serde_json::from_str(&answer).unwrap();
        for (mut first, second) in answer["due"].as_array().unwrap().clone().into_iter().zip(second_opinion(&world)) {
            first.as_object_mut().unwrap().remove("why");
            prop_assert_eq!(&first, &second, "{}", text);
        }
        let second = second_ledger(&world);
        let caps = answer["caps"].as_array().unwrap();
        prop_assert_eq!(caps.len(), second.len());
        for (name, used, left) in second {
            let cap = caps.iter().find(|cap| cap["ingredient"] == json!(name)).unwrap();
            prop_assert_eq!(&cap["remaining_g"], &json!(left), "{}", text);
            prop_assert!(used.iter().any(|used| cap["used_g"] == json!(used)), "{}", text);
        }
    }
}
