//! The second opinion: days are numbers, amounts are whole parts, every window
//! is added up anew on every day that is asked about.

use super::world::{Applied, GROUPS, Plant, World, a_year_later, date, product_of, protected};
use chrono::{Datelike, Days, Months, NaiveDate};

/// Which days are tried for the first one that keeps every rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scan {
    /// All of them, one by one.
    EveryDay,
    /// Those on which something that forbade may have ended: a year after an
    /// entry, a new year, an interval over, a season beginning.
    DaysOfChange,
}

/// What is thought about one plant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opinion {
    pub plant: String,
    pub protected_until: Option<NaiveDate>,
    pub wanted_on: NaiveDate,
    pub allowed_on: Option<NaiveDate>,
    pub due_on: Option<NaiveDate>,
    pub held_by: Vec<&'static str>,
    pub gap_days: Option<i64>,
}

/// An entry of the ledger, with parts of x and of y.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Post {
    day: i32,
    /// The first day that shares no twelve months with it.
    end: i32,
    year: i32,
    parts: [i128; 2],
}

fn post(on: NaiveDate, parts: [i128; 2]) -> Post {
    Post { day: on.num_days_from_ce(), end: a_year_later(on).num_days_from_ce(), year: on.year(), parts }
}

/// The most of one ingredient that any twelve months with this day hold.
fn fullest_twelve_months(posts: &[Post], which: usize, day: &Post) -> i128 {
    // A window that begins on a day without an entry holds no more than the
    // one that begins with the next entry or with the day itself.
    let starts = posts.iter().filter(|one| one.day <= day.day && day.day < one.end).chain([day]);
    let sum = |start: &Post| {
        posts
            .iter()
            .filter(|one| start.day <= one.day && one.day < start.end)
            .map(|one| one.parts[which])
            .sum()
    };
    starts.map(sum).max().unwrap_or(0)
}

fn calendar_year(posts: &[Post], which: usize, day: &Post) -> i128 {
    posts.iter().filter(|one| one.year == day.year).map(|one| one.parts[which]).sum()
}

/// Does the dose keep every cap on that day?
fn caps_kept(world: &World, posts: &[Post], dose: [i128; 2], day: &Post) -> bool {
    world.caps.iter().all(|cap| {
        let which = usize::from(cap.second);
        let Some(allowed) = world.allowed(cap) else { return true };
        let room = allowed - dose[which];
        let calendar = || calendar_year(posts, which, day) <= room;
        let rolling = || fullest_twelve_months(posts, which, day) <= room;
        dose[which] == 0
            || match cap.year {
                0 => calendar(),
                1 => rolling(),
                _ => calendar() && rolling(),
            }
    })
}

fn season_kept(season: Option<(u32, u32)>, day: NaiveDate) -> bool {
    let Some((from, to)) = season else { return true };
    let at = (day.month(), day.day());
    let (from, to) = ((from, 1), (to, 28));
    if from <= to { from <= at && at <= to } else { at >= from || at <= to }
}

/// What is asked about a plant.
struct Ask<'a> {
    world: &'a World,
    plant: &'a Plant,
    dose: [i128; 2],
    /// Days on which it got the product, each counting one.
    past: Vec<Post>,
    /// Every use of the plant, made or booked: day, product, use.
    uses: Vec<(NaiveDate, usize, usize)>,
}

impl Ask<'_> {
    /// The rules that forbid the day, in the listed order.
    fn broken(&self, posts: &[Post], on: NaiveDate) -> Vec<&'static str> {
        let (world, item) = (self.world, &self.world.items[self.plant.item]);
        let day = post(on, [0, 0]);
        let bound = world.caps.iter().any(|cap| self.dose[usize::from(cap.second)] > 0);
        let last = self.past.iter().map(|one| one.day).max();
        let often = item.max.is_none_or(|max| fullest_twelve_months(&self.past, 0, &day) < i128::from(max));
        let interval = i32::try_from(item.interval).unwrap();
        let rules = [
            ("cap", caps_kept(world, posts, self.dose, &day)),
            ("min-interval", last.is_none_or(|last| day.day - last >= interval)),
            ("max-per-year", often),
            ("season", season_kept(item.season, on)),
            ("label-unsigned", !(world.unsigned && product_of(self.plant.item) == 0)),
            ("area-unknown", world.area.is_some() || !bound),
            ("group-repeat", self.uses.iter().all(|one| self.group_kept(*one, on))),
        ];
        rules.into_iter().filter(|(_, kept)| !kept).map(|(rule, _)| rule).collect()
    }

    /// Until when a use of the plant asks for rest before this one, if it does.
    fn rest_after(&self, (on, product, used): (NaiveDate, usize, usize)) -> Option<NaiveDate> {
        let group = |product: usize| GROUPS[self.world.groups[product]];
        let meant = self.plant.item;
        let ruled = !self.world.items[used].foliar
            && self.world.items[meant].foliar
            && group(product) == Some("4A")
            && group(product_of(meant)).is_some_and(|group| group.starts_with('4'));
        self.world.items[used].rest.filter(|_| ruled).map(|days| on + Days::new(days.into()))
    }

    fn group_kept(&self, used: (NaiveDate, usize, usize), day: NaiveDate) -> bool {
        let (on, product, _) = used;
        let class = |product: usize| match GROUPS[self.world.groups[product]] {
            Some("4A" | "4C") => 4,
            Some(_) => 28,
            None => 0,
        };
        let meant = product_of(self.plant.item);
        let repeats = product != meant && class(product) == class(meant) && class(meant) != 0;
        let resting = self.rest_after(used).is_some_and(|until| day < until);
        day < on || !(resting || repeats && self.world.items[self.plant.item].refuses)
    }

    fn first_allowed(
        &self,
        posts: &[Post],
        first: NaiveDate,
        horizon: NaiveDate,
        scan: Scan,
    ) -> Option<NaiveDate> {
        let free = |day: &NaiveDate| self.broken(posts, *day).is_empty();
        match scan {
            Scan::EveryDay => first.iter_days().take_while(|day| *day <= horizon).find(free),
            Scan::DaysOfChange => {
                self.changes(posts, first).into_iter().take_while(|day| *day <= horizon).find(free)
            }
        }
    }

    fn changes(&self, posts: &[Post], first: NaiveDate) -> Vec<NaiveDate> {
        let item = &self.world.items[self.plant.item];
        let mut days = vec![first];
        let day = |number: i32| NaiveDate::from_num_days_from_ce_opt(number).unwrap();
        days.extend(posts.iter().chain(&self.past).map(|one| day(one.end)));
        days.extend(self.past.iter().map(|one| day(one.day) + Days::new(item.interval.into())));
        days.extend(self.uses.iter().filter_map(|one| self.rest_after(*one)));
        for year in first.year()..first.year() + 8 {
            let month = |month: u32| NaiveDate::from_ymd_opt(year, month, 1).unwrap();
            days.extend([month(1)].into_iter().chain(item.season.map(|(from, _)| month(from))));
        }
        days.retain(|day| *day >= first);
        days.sort_unstable();
        days.dedup();
        days
    }
}

/// The whole answer, by plant in the order given.
pub fn second_opinion(world: &World, scan: Scan) -> Vec<Opinion> {
    let today = date(world.today);
    let posted = |fact: &Applied| post(date(fact.day), world.parts(fact.product, fact.amount));
    let mut posts: Vec<Post> = world.history.iter().chain(&world.booked).map(posted).collect();
    let until = |n: usize| {
        let own = world.history.iter().filter(|fact| fact.plant == Some(n));
        own.map(|fact| protected(date(fact.day), world.items[world.item_of(fact)].protection)).max()
    };
    let wanted = |n: usize| match until(n) {
        Some(end) => end - Days::new(world.items[world.plants[n].item].uptake.into()),
        None => world.plants[n].wanted.map_or(today, date),
    };
    let mut order: Vec<usize> = (0..world.plants.len()).filter(|n| world.plants[*n].active).collect();
    order.sort_by_cached_key(|n| {
        let plant = &world.plants[*n];
        let mass: i128 = world.parts(product_of(plant.item), world.dose(plant)).iter().sum();
        (wanted(*n), mass, format!("a{n}"))
    });
    let mut answers = Vec::new();
    for n in order {
        let plant = &world.plants[n];
        let product = product_of(plant.item);
        let mine = |fact: &&Applied| fact.plant == Some(n) && fact.product == product;
        let past = world.history.iter().filter(mine).map(|fact| post(date(fact.day), [1, 0])).collect();
        let own: Vec<Post> = world.booked.iter().filter(mine).map(posted).collect();
        for entry in &own {
            let at = posts.iter().position(|one| one == entry).unwrap();
            posts.remove(at);
        }
        let uses = world.history.iter().chain(&world.booked).filter(|fact| fact.plant == Some(n));
        let uses = uses.map(|fact| (date(fact.day), fact.product, world.item_of(fact))).collect();
        let ask = Ask { world, plant, dose: world.parts(product, world.dose(plant)), past, uses };
        let first = wanted(n).max(today);
        let held_by = ask.broken(&posts, first);
        let never = held_by.contains(&"label-unsigned") || held_by.contains(&"area-unknown");
        let allowed_on =
            (!never).then(|| ask.first_allowed(&posts, first, today + Months::new(60), scan)).flatten();
        let gap = |day: NaiveDate| {
            let works = day + Days::new(world.items[plant.item].uptake.into());
            until(n).map_or(0, |end| (works - end).num_days().max(0))
        };
        answers.push((
            n,
            Opinion {
                plant: format!("a{n}"),
                protected_until: until(n),
                wanted_on: wanted(n),
                allowed_on,
                due_on: allowed_on.map(|day| if day == first { wanted(n) } else { day }),
                held_by,
                gap_days: allowed_on.map(gap),
            },
        ));
        match (own.is_empty(), allowed_on) {
            (true, Some(day)) => posts.push(post(day, ask.dose)),
            (true, None) => {}
            (false, _) => posts.extend(own),
        }
    }
    answers.sort_by_key(|(n, _)| *n);
    answers.into_iter().map(|(_, opinion)| opinion).collect()
}

/// Of each ingredient with a cap what the tightest one leaves, none without an
/// area, and what was used; of several caps that leave the same any may be
/// shown, so all of their sums used are given.
pub fn second_ledger(world: &World) -> Vec<(&'static str, Vec<i128>, Option<i128>)> {
    let today = date(world.today);
    let mut found = Vec::new();
    for (which, name) in ["x", "y"].into_iter().enumerate() {
        let used = |rolling: bool| -> i128 {
            let shares =
                |on: NaiveDate| if rolling { today < a_year_later(on) } else { on.year() == today.year() };
            let facts = world.history.iter().filter(|fact| date(fact.day) <= today && shares(date(fact.day)));
            facts.map(|fact| world.parts(fact.product, fact.amount)[which]).sum()
        };
        let (calendar, rolling) = (used(false), used(true));
        let caps = world.caps.iter().filter(|cap| usize::from(cap.second) == which);
        let all: Vec<(Option<i128>, i128)> = caps
            .flat_map(|cap| match cap.year {
                0 => vec![(cap, calendar)],
                1 => vec![(cap, rolling)],
                _ => vec![(cap, calendar), (cap, rolling)],
            })
            .map(|(cap, used)| (world.allowed(cap).map(|most| most - used), used))
            .collect();
        let key = |(left, used): &(Option<i128>, i128)| (*left, if left.is_none() { -used } else { 0 });
        if let Some(tightest) = all.iter().map(key).min() {
            let tied = all.iter().filter(|one| key(one) == tightest).map(|(_, used)| *used);
            found.push((name, tied.collect(), tightest.0));
        }
    }
    found
}
