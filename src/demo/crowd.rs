//! The other customers: seventy sites with their plants and three years of lawful treatments.
use super::{
    days::{ago, ahead, months_before, year_before},
    product::key,
    world::{LANTERN, Plant, QUILLAN, Quirk, TAMSIN, Town, Wish, World},
};
use chrono::NaiveDate;
use rust_decimal::Decimal;

const SITES: usize = 70;

/// Three that own several sites, then people.
const GROUPS: [(&str, usize); 3] = [
    ("Copper Vale Owners' Association", 12),
    ("Lark Rise Townhomes", 10),
    ("Quillan Springs Library Fund", 8),
];
const FIRST: [&str; 10] =
    ["Una", "Victor", "Wilhelmina", "Xander", "Yolanda", "Zeb", "Amity", "Barnaby", "Clementine", "Dorian"];
const LAST: [&str; 37] = [
    "Abernoth",
    "Brackley",
    "Corvane",
    "Dunmore",
    "Elsworth",
    "Farrowby",
    "Gadsend",
    "Hollin",
    "Inglesant",
    "Jessop",
    "Kestrel",
    "Lumley",
    "Marchbank",
    "Netherby",
    "Ollard",
    "Pomfret",
    "Quorndon",
    "Rushmere",
    "Sallowfield",
    "Trevane",
    "Underhay",
    "Venning",
    "Wexcombe",
    "Yarrowby",
    "Zennor",
    "Applegarth",
    "Birchall",
    "Copplestone",
    "Dallimore",
    "Everdene",
    "Fenwold",
    "Greystoke",
    "Harkaway",
    "Illing",
    "Jollif",
    "Kirkbride",
    "Lanyon",
];
const STREETS: [&str; 14] = [
    "Acorn Hill",
    "Birdsong Lane",
    "Clover Street",
    "Dovecote Road",
    "Elderberry Way",
    "Foxglove Court",
    "Granary Road",
    "Heron Street",
    "Inkberry Lane",
    "Kiln Road",
    "Linnet Place",
    "Millrace Road",
    "Nutwood Drive",
    "Old Press Road",
];
const SPOTS: [&str; 12] = [
    "Front hedge",
    "Driveway",
    "Back fence",
    "Patio",
    "Entrance",
    "South wall",
    "Pool",
    "Side yard",
    "Street side",
    "Bedroom window",
    "Corner bed",
    "Along the walk",
];

/// Grams of ingredient that a square foot may get in a year, rounded down: 0.4 lb/acre of
/// imidacloprid, 0.54 lb/acre of dinotefuran.
const IMIDACLOPRID: (i64, u32) = (4_165, 6);
const DINOTEFURAN: (i64, u32) = (5_623, 6);

/// So many of a hundred parts of the cap a site uses in a year: two treatments that share a window
/// of twelve months, as uptake asks, then keep it still.
const SHARE: i64 = 45;

/// Sites whose next treatment is booked: which of the seventy, who goes, in how many days.
const BOOKED: [(usize, usize, u32); 8] =
    [(32, 0, 0), (34, 0, 0), (33, 1, 0), (35, 1, 0), (36, 0, 1), (37, 1, 2), (38, 0, 3), (39, 1, 5)];

/// Adds the seventy sites.
pub fn add(w: &mut World) {
    let customers = customers(w);
    for number in 0..SITES {
        let customer = customers[owner_of(number)];
        let town = town_of(number);
        let street = format!("{} {}", 3 + 7 * (number % 29), STREETS[number % STREETS.len()]);
        let lot = w.chance.between(36, 240) * 250;
        let site = w.place(customer, &street, town, Some(lot));
        describe(w, site, number);
        let plants = plants(w, site, lot);
        let last = last_visit(w.today, number);
        history(w, site, number, &plants, last);
        if let Some((_, technician, in_days)) = BOOKED.iter().find(|(booked, ..)| *booked == number) {
            w.wishes.push(Wish { place: site, technician: *technician, in_days: *in_days });
        }
    }
}

fn customers(w: &mut World) -> Vec<usize> {
    let mut all = vec![];
    for (number, (name, _)) in GROUPS.iter().enumerate() {
        let customer = w.customer(name, &format!("{} Weir Plaza", 10 + number), QUILLAN);
        w.customers[customer].note = "Send one list for all sites.".to_owned();
        all.push(customer);
    }
    for (number, last) in LAST.iter().enumerate() {
        let name = format!("{} {last}", FIRST[(number * 3) % FIRST.len()]);
        let street = format!("{} {}", 5 + 6 * number, STREETS[(number * 5) % STREETS.len()]);
        all.push(w.customer(&name, &street, QUILLAN));
    }
    all
}

fn owner_of(number: usize) -> usize {
    let mut first = 0;
    for (group, (_, sites)) in GROUPS.iter().enumerate() {
        first += sites;
        if number < first {
            return group;
        }
    }
    GROUPS.len() + (number - first) % LAST.len()
}

fn town_of(number: usize) -> Town {
    match number {
        n if n % 9 == 7 => TAMSIN,
        n if n % 4 == 3 => LANTERN,
        _ => QUILLAN,
    }
}

fn describe(w: &mut World, site: usize, number: usize) {
    let today = w.today;
    let place = &mut w.places[site];
    if number < 30 {
        place.name = format!("Building {}", number + 1);
    }
    place.access = match number % 6 {
        0 => "Side gate is latched, not locked.",
        1 => "Dog in the yard: ring first.",
        4 => "Key box at the meter, code from the office.",
        _ => "",
    }
    .to_owned();
    place.water_ft = match number % 7 {
        0 => Some(60),
        3 => Some(250),
        _ => None,
    };
    let land = w.land_of(site);
    if number % 5 == 2 {
        land.landscaped = land.lot.map(|lot| lot * 9 / 10);
    }
    match number % 11 {
        10 => land.known_from = None,
        5 => land.known_from = Some(ago(today, 1300)),
        _ => {}
    }
}

/// How long ago the last visit was: spread over the year, some late, those to be booked about due.
fn last_visit(today: NaiveDate, number: usize) -> NaiveDate {
    if let Some((_, _, in_days)) = BOOKED.iter().find(|(booked, ..)| *booked == number) {
        return months_before(ahead(today, in_days + 12), 12);
    }
    let days = match number {
        n if n % 17 == 4 => 365 + n,
        n => 6 + (n * 37) % 335,
    };
    ago(today, u32::try_from(days).unwrap_or_default())
}

/// What stands on the site: seven to ten records, treated with what the lot's caps can take.
fn plants(w: &mut World, site: usize, lot: u32) -> Vec<usize> {
    let budget =
        |(mantissa, scale)| Decimal::new(mantissa, scale) * Decimal::from(lot) * Decimal::new(SHARE, 2);
    // A tenth is kept back, since the landscaped part alone may be what counts.
    let tenth = Decimal::new(9, 1);
    let mut left = [budget(IMIDACLOPRID) * tenth, budget(DINOTEFURAN) * tenth];
    let count = w.chance.between(7, 10);
    let mut all = vec![];
    for _ in 0..count {
        let plant = any_plant(w);
        let plant = treated(plant, &mut left);
        all.push(w.plant(site, plant));
    }
    all
}

fn any_plant(w: &mut World) -> Plant {
    let spot = w.chance.pick(&SPOTS);
    let feet = w.chance.between(3, 8);
    let inches = w.chance.between(5, 16);
    let row = w.chance.between(5, 16);
    let stem = |w: &mut World| w.chance.between(2, 4);
    match w.chance.between(0, 11) {
        0 | 1 => Plant::tall(spot, "Camellia", "Tea scale", 1, feet),
        2 => Plant::tall(spot, "Crape myrtle", "Crape myrtle bark scale", 1, feet + 3),
        3 => {
            let stems = [stem(w), stem(w), stem(w)];
            Plant::tree(spot, "Crape myrtle", "Aphids", &stems)
        }
        4 | 5 => Plant::tall(spot, "Eugenia", "Eugenia psyllid", row, feet.min(6)),
        6 | 7 => Plant::tall(spot, "Podocarpus", "Aphids", row, feet.min(6)),
        8 | 9 => Plant::tall(spot, "Hibiscus", "Giant whitefly", 1, feet),
        10 => Plant::tree(spot, "Tulip tree", "Tuliptree scale", &[inches]),
        _ => Plant::tree(spot, "Ash", "Ash whitefly", &[inches]),
    }
}

/// Gives the plant the first product whose cap has room for it: the drench, the packets or the
/// granules, else one without a cap.
fn treated(plant: Plant, left: &mut [Decimal; 2]) -> Plant {
    let tree = plant.kind == "tree";
    let sum: Decimal = plant.stems.iter().sum();
    let size = if tree { sum } else { plant.height.unwrap_or_default() * Decimal::from(plant.count) };
    // Grams of ingredient at the lowest rate: 3 mL of 2 lb/gal a foot, 0.1 fl oz of it an inch,
    // 1 g of 75 percent an inch, 1 g of 20 percent a foot; rounded up.
    let drench = size * if tree { Decimal::new(7_088, 4) } else { Decimal::new(7_190, 4) };
    let packet = size * Decimal::new(75, 2);
    let granules = size * Decimal::new(2, 1);
    let wide = sum > Decimal::from(11);
    if wide && packet <= left[0] {
        left[0] -= packet;
        return plant.with(key::POWDER, "trees");
    }
    if drench <= left[0] {
        left[0] -= drench;
        return plant;
    }
    if tree {
        return plant.with(key::INJECTION, "trunk");
    }
    if granules <= left[1] {
        left[1] -= granules;
        return plant.with(key::GRANULES, "shrubs");
    }
    plant.with(key::OIL, "spray")
}

/// Three yearly visits, fewer for the newer customers; a plant here and there came later.
fn history(w: &mut World, site: usize, number: usize, plants: &[usize], last: NaiveDate) {
    let mut days = vec![last];
    let visits = if number % 6 == 5 { 2 } else { 3 };
    while days.len() < visits {
        let more = w.chance.between(0, 9);
        days.insert(0, year_before(days[0], more));
    }
    for plant in plants {
        bloom(w, *plant, &days);
    }
    for (turn, day) in days.iter().enumerate() {
        let from_last = days.len() - 1 - turn;
        let mut treated = vec![];
        for plant in plants {
            let late = w.chance.between(0, 19) == 0;
            // An injection lasts two years, so it is made every other time.
            let injected = w.plants[*plant].treatment == Some((key::INJECTION, "trunk"));
            if !(late && from_last > 0 || injected && from_last == 1) {
                treated.push(*plant);
            }
        }
        w.call(site, *day, &treated, Quirk::Plain);
    }
}

/// Gives the plant its usual bloom, unless a treatment of the past would fall into it.
fn bloom(w: &mut World, plant: usize, days: &[NaiveDate]) {
    let span = match w.plants[plant].host {
        "Camellia" => ("11-15", "03-10"),
        "Crape myrtle" => ("06-20", "09-10"),
        "Hibiscus" => ("06-01", "10-15"),
        "Tulip tree" => ("04-15", "05-31"),
        _ => return,
    };
    let plant = &mut w.plants[plant];
    plant.bloom = Some((span.0.to_owned(), span.1.to_owned()));
    if days.iter().any(|day| plant.blooms_on(*day)) {
        plant.bloom = None;
    }
}
