//! Random properties, each from one number.

use super::world::{Applied, Cap, Item, Plant, World};

/// A small generator (splitmix64), so that a case is named by its seed alone.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5851_F42D_4C95_7F2D)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// From `low` to below `high`.
    pub fn range(&mut self, low: i64, high: i64) -> i64 {
        low + i64::try_from(self.next() % u64::try_from(high - low).unwrap()).unwrap()
    }

    pub fn index(&mut self, below: usize) -> usize {
        usize::try_from(self.range(0, i64::try_from(below).unwrap())).unwrap()
    }

    /// Yes in so many of a hundred cases.
    pub fn percent(&mut self, yes: i64) -> bool {
        self.range(0, 100) < yes
    }

    fn small(&mut self, low: i64, high: i64) -> u32 {
        u32::try_from(self.range(low, high)).unwrap()
    }

    fn maybe<T>(&mut self, yes: i64, make: impl Fn(&mut Self) -> T) -> Option<T> {
        self.percent(yes).then(|| make(self))
    }

    /// Days of the range, and often the ones around leap days and a year later.
    fn day(&mut self, low: i64, high: i64) -> i64 {
        const NEAR: [i64; 9] = [-366, -365, -1, 0, 1, 365, 366, 730, 731];
        if self.percent(25) { NEAR[self.index(NEAR.len())] } else { self.range(low, high) }
    }
}

fn item(dice: &mut Dice) -> Item {
    let unit = dice.index(4);
    let low = dice.range(1, 4);
    let more = dice.range(0, 4);
    Item {
        protection: (dice.small(1, [400, 40, 25, 3][unit]), unit),
        uptake: dice.maybe(50, |dice| dice.small(1, 60)).unwrap_or(0),
        interval: dice.maybe(50, |dice| dice.small(1, 500)).unwrap_or(0),
        max: dice.maybe(40, |dice| dice.small(1, 4)),
        season: dice.maybe(25, |dice| (dice.small(1, 13), dice.small(1, 13))),
        band: (i128::from(low) * 10, i128::from(low + more) * 10),
        foliar: dice.percent(40),
        rest: dice.maybe(40, |dice| dice.small(1, 700)),
        refuses: dice.percent(15),
    }
}

fn plant(dice: &mut Dice) -> Plant {
    Plant {
        item: dice.index(4),
        measure: dice.range(1, 9).into(),
        count: dice.range(1, 3).into(),
        high: dice.percent(50),
        wanted: dice.maybe(50, |dice| if dice.percent(50) { 100 } else { dice.day(-400, 900) }),
        active: dice.percent(90),
    }
}

fn applied(dice: &mut Dice, plants: usize, days: (i64, i64)) -> Applied {
    Applied {
        plant: dice.maybe(70, |dice| dice.index(plants)),
        product: dice.index(2),
        item: dice.maybe(50, |dice| dice.index(2)),
        day: dice.day(days.0, days.1),
        amount: i128::from(dice.range(1, 30)) * 10,
    }
}

/// The property of a seed.
pub fn world(seed: u64) -> World {
    let dice = &mut Dice::new(seed);
    let metric = dice.percent(50);
    let plants = dice.index(5) + 1;
    let area = match (metric, dice.percent(50)) {
        (true, _) => dice.range(1, 4),
        (false, true) => 43_560,
        (false, false) => dice.range(500, 20_000),
    };
    let strength = |dice: &mut Dice| i128::from(dice.range(1, 4)) * if metric { 50 } else { 1 };
    let cap = |dice: &mut Dice| Cap {
        product: dice.index(2),
        second: dice.percent(50),
        tenths: i128::from(dice.range(1, 80)) * if metric { 5 } else { 1 },
        year: dice.index(3),
    };
    let (rows, bookings, caps) = (dice.index(14), dice.index(3), dice.index(4));
    World {
        metric,
        area: dice.percent(95).then_some(area.into()),
        today: dice.day(-10, 1200),
        unsigned: dice.percent(5),
        strengths: [strength(dice), strength(dice), strength(dice)],
        groups: [dice.index(4), dice.index(4)],
        items: (0..4).map(|_| item(dice)).collect(),
        plants: (0..plants).map(|_| plant(dice)).collect(),
        history: (0..rows).map(|_| applied(dice, plants, (-400, 1500))).collect(),
        booked: (0..bookings).map(|_| applied(dice, plants, (0, 1700))).collect(),
        caps: (0..caps).map(|_| cap(dice)).collect(),
    }
}

/// Leaves out the thing at a place.
type Removal = fn(&mut World, usize);

/// The smallest property that still fails, by leaving out one thing at a time.
pub fn shrunk(mut world: World, fails: impl Fn(&World) -> bool) -> World {
    loop {
        let mut tries: Vec<(usize, Removal)> = Vec::new();
        let mut all = |n: usize, remove: Removal| tries.extend((0..n).map(|at| (at, remove)));
        all(world.history.len(), |world, at| {
            world.history.remove(at);
        });
        all(world.booked.len(), |world, at| {
            world.booked.remove(at);
        });
        all(world.caps.len(), |world, at| {
            world.caps.remove(at);
        });
        all(world.plants.len(), |world, at| world.plants[at].active = false);
        let size = |world: &World| {
            world.history.len()
                + world.booked.len()
                + world.caps.len()
                + world.plants.iter().filter(|plant| plant.active).count()
        };
        let found = tries.into_iter().find_map(|(at, remove)| {
            let mut less = world.clone();
            remove(&mut less, at);
            (size(&less) < size(&world) && fails(&less)).then_some(less)
        });
        match found {
            Some(less) => world = less,
            None => return world,
        }
    }
}
