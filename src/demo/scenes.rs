//! The sites that show one case each, told apart by street and customer. Nothing here is left to
//! chance: whatever the day, the case is there.
use super::{
    days::{ago, ahead, late_last_month, months_before, year_before},
    product::key,
    world::{LANTERN, Plant, QUILLAN, Quirk, World},
};

const SCALE: &str = "Tea scale";
const PSYLLID: &str = "Eugenia psyllid";
const APHIDS: &str = "Aphids";

/// Adds every scene.
pub fn add(w: &mut World) {
    blocked_hedge(w);
    area_unknown(w);
    earlier_use_open(w);
    chosen_areas(w);
    over_cap(w);
    amended(w);
    lawn_company(w);
    gaps(w);
    refused(w);
    nothing_to_compute(w);
    replaced_hedge(w);
    shared_parcel(w);
    overdue_and_soon(w);
    unsigned_label(w);
    held_by_last_year(w);
}

/// Forty plants of six feet take 720 mL at the lowest rate; this lot may get about 130 in a year.
fn blocked_hedge(w: &mut World) {
    let who = w.customer("Alder Prewitt", "12 Lantern Row", QUILLAN);
    let site = w.place(who, "12 Lantern Row", QUILLAN, Some(7_500));
    let wanted = ago(w.today, 20);
    w.plant(site, Plant::tall("Boundary hedge", "Eugenia", PSYLLID, 40, 6).wanted(wanted));
    w.plant(site, Plant::tall("By the gate", "Camellia", SCALE, 1, 5).wanted(ago(w.today, 4)));
}

fn area_unknown(w: &mut World) {
    let who = w.customer("Beatrix Holloway", "4 Millstone Lane", QUILLAN);
    let site = w.place(who, "4 Millstone Lane", QUILLAN, None);
    let wanted = ago(w.today, 2);
    w.plant(site, Plant::tall("Drive, left", "Podocarpus", APHIDS, 12, 5).wanted(wanted));
    w.plant(site, Plant::tall("Porch", "Hibiscus", "Giant whitefly", 1, 6).wanted(wanted));
    w.plant(
        site,
        Plant::tall("Kitchen wall", "Camellia", SCALE, 1, 4).with(key::OIL, "spray").wanted(wanted),
    );
}

fn earlier_use_open(w: &mut World) {
    let who = w.customer("Corwin Tagg", "31 Wren Street", QUILLAN);
    let site = w.place(who, "31 Wren Street", QUILLAN, Some(16_000));
    w.land_of(site).known_from = None;
    w.places[site].since = ago(w.today, 30);
    let wanted = ahead(w.today, 6);
    w.plant(site, Plant::tall("Front bed", "Crape myrtle", "Crape myrtle bark scale", 1, 9).wanted(wanted));
    w.plant(site, Plant::tall("Side yard", "Eugenia", PSYLLID, 9, 5).wanted(wanted));
    w.plant(site, Plant::tree("Street side", "Ash", "Ash whitefly", &[11]).wanted(ahead(w.today, 12)));
}

fn chosen_areas(w: &mut World) {
    let who = w.customer("Delphine Marsh", "8 Harrow Court", QUILLAN);
    let site = w.place(who, "8 Harrow Court", QUILLAN, Some(40_000));
    let land = w.land_of(site);
    (land.landscaped, land.bed) = (Some(9_000), Some(2_400));
    land.choice = Some((
        "lot",
        "The label speaks of an acre of the property; the whole lot is fenced and ours to treat.",
    ));
    let hedge = w.plant(site, Plant::tall("Pool hedge", "Podocarpus", APHIDS, 20, 5));
    let bush = w.plant(site, Plant::tall("Terrace", "Camellia", SCALE, 1, 6));
    let last = ago(w.today, 150);
    w.call(site, year_before(last, 5), &[hedge, bush], Quirk::Plain);
    w.call(site, last, &[hedge, bush], Quirk::Plain);

    let who = w.customer("Emory Slate", "17 Harrow Court", QUILLAN);
    let site = w.place(who, "17 Harrow Court", QUILLAN, Some(22_000));
    let land = w.land_of(site);
    land.landscaped = Some(11_000);
    land.choice =
        Some(("landscaped", "Half of the lot is paved; the careful reading until the county answers."));
    let bush = w.plant(site, Plant::tall("Entrance", "Hibiscus", "Giant whitefly", 1, 7));
    w.call(site, ago(w.today, 200), &[bush], Quirk::Plain);
}

/// The hedge alone keeps the cap; with the two shrubs the lot is over it.
fn over_cap(w: &mut World) {
    let who = w.customer("Edmund Sarrow", "27 Thistle Way", QUILLAN);
    let site = w.place(who, "27 Thistle Way", QUILLAN, Some(6_000));
    let plants = full_lot(w, site);
    let last = ago(w.today, 12);
    w.call(site, year_before(last, 9), &plants[..1], Quirk::Plain);
    w.call(site, last, &plants, Quirk::Unanswered);

    let who = w.customer("Fern Calloway", "9 Quarry Bend", LANTERN);
    let site = w.place(who, "9 Quarry Bend", LANTERN, Some(6_500));
    let plants = full_lot(w, site);
    w.call(site, ago(w.today, 240), &plants, Quirk::Answered);
}

fn full_lot(w: &mut World, site: usize) -> Vec<usize> {
    vec![
        w.plant(site, Plant::tall("Back fence", "Eugenia", PSYLLID, 8, 4)),
        w.plant(site, Plant::tall("Left of the door", "Camellia", SCALE, 1, 5)),
        w.plant(site, Plant::tall("Right of the door", "Camellia", SCALE, 1, 5)),
    ]
}

fn amended(w: &mut World) {
    let who = w.customer("Gideon Lusk", "45 Saddle Street", QUILLAN);
    let site = w.place(who, "45 Saddle Street", QUILLAN, Some(18_000));
    let one = w.plant(site, Plant::tall("Front window", "Hibiscus", "Giant whitefly", 1, 6));
    let other = w.plant(site, Plant::tall("Garage", "Camellia", SCALE, 1, 5));
    let last = ago(w.today, 35);
    w.call(site, year_before(last, 3), &[one, other], Quirk::Plain);
    w.call(site, last, &[one, other], Quirk::Amended);
}

/// Half an acre may get 0.2 lb; the lawn took 0.075 lb, the hedge alone takes 0.190 lb.
fn lawn_company(w: &mut World) {
    let who = w.customer("Hester Voss", "60 Meadow End", QUILLAN);
    let site = w.place(who, "60 Meadow End", QUILLAN, Some(21_780));
    let hedge = w.plant(site, Plant::tall("Meadow side", "Podocarpus", APHIDS, 20, 6));
    let bush = w.plant(site, Plant::tall("Arbour", "Camellia", SCALE, 1, 5));
    let last = ago(w.today, 400);
    w.call(site, year_before(last, 4), &[hedge], Quirk::Plain);
    w.call(site, last, &[hedge], Quirk::Plain);
    w.call(site, ago(w.today, 20), &[bush], Quirk::Plain);
    w.call(site, ago(w.today, 30), &[], Quirk::Lawn);
}

fn gaps(w: &mut World) {
    let who = w.customer("Ivo Renner", "18 Juniper Walk", QUILLAN);
    let site = w.place(who, "18 Juniper Walk", QUILLAN, Some(20_000));
    let one = w.plant(site, Plant::tall("Mailbox", "Crape myrtle", APHIDS, 1, 8));
    let other = w.plant(site, Plant::tree("Back corner", "Tulip tree", "Tuliptree scale", &[9]));
    w.call(site, late_last_month(w.today), &[one], Quirk::Gaps);
    w.call(site, ago(w.today, 4), &[other], Quirk::Gaps);
}

fn refused(w: &mut World) {
    let who = w.customer("Jocasta Pell", "2 Orchard Terrace", QUILLAN);
    let site = w.place(who, "2 Orchard Terrace", QUILLAN, Some(24_000));
    let wanted = ago(w.today, 8);
    let olive = Plant::tree("Courtyard", "Olive", "Olive scale", &[8]).wanted(wanted);
    w.plant(site, Plant { eaten: "yes", ..olive });
    w.plant(site, Plant::tree("Avenue", "Linden", APHIDS, &[12]).wanted(wanted));
    w.plant(site, Plant::tall("Arch", "Rose", APHIDS, 1, 5).wanted(wanted).blooming(w.today));
    let unasked = Plant::tall("Herb bed edge", "Hibiscus", "Giant whitefly", 1, 4).wanted(wanted);
    w.plant(site, Plant { eaten: "unknown", food: "yes", ..unasked });
    let bush = w.plant(site, Plant::tall("Doorway", "Camellia", SCALE, 1, 6));
    w.call(site, ago(w.today, 100), &[bush], Quirk::Plain);
}

fn nothing_to_compute(w: &mut World) {
    let who = w.customer("Kit Barrowby", "71 Bell Lane", QUILLAN);
    let site = w.place(who, "71 Bell Lane", QUILLAN, Some(15_000));
    w.plant(
        site,
        Plant { treatment: None, pest: "", ..Plant::tall("Front lawn edge", "Camellia", "", 1, 4) },
    );
    w.plant(site, Plant::tree("Behind the shed", "Ash", "Ash whitefly", &[]));
    let bush = w.plant(site, Plant::tall("Steps", "Hibiscus", "Giant whitefly", 1, 5));
    w.call(site, ago(w.today, 60), &[bush], Quirk::Plain);
}

fn replaced_hedge(w: &mut World) {
    let who = w.customer("Lavinia Crewe", "16 Cedar Steps", QUILLAN);
    let site = w.place(who, "16 Cedar Steps", QUILLAN, Some(43_560));
    let old = Plant::tall("Road hedge", "Eugenia", PSYLLID, 24, 5);
    let reason = "Taken out after the drought; podocarpus planted in its place.";
    let old = w.plant(site, Plant { retired: Some((ago(w.today, 300), reason)), ..old });
    let new = w.plant(site, Plant::tall("Road hedge, replanted", "Podocarpus", APHIDS, 18, 3));
    let last = ago(w.today, 480);
    w.call(site, year_before(last, 2), &[old], Quirk::Plain);
    w.call(site, last, &[old], Quirk::Plain);
    w.call(site, ago(w.today, 55), &[new], Quirk::Plain);
}

/// Two houses, two customers, one parcel and one ledger.
fn shared_parcel(w: &mut World) {
    let front = w.customer("Marlow Finch", "101 Twin Gate", QUILLAN);
    let front = w.place(front, "101 Twin Gate", QUILLAN, Some(14_000));
    let back = w.customer("Nerys Finch", "101 Twin Gate, rear", QUILLAN);
    let back = w.place_on(w.places[front].land, back, "101 Twin Gate, rear", QUILLAN);
    w.places[front].name = "Front house".to_owned();
    w.places[back].name = "Back house".to_owned();
    let hedge = w.plant(front, Plant::tall("Sidewalk", "Eugenia", PSYLLID, 10, 4));
    let one = w.plant(back, Plant::tall("Carport", "Crape myrtle", APHIDS, 1, 8));
    let two = w.plant(back, Plant::tall("Laundry side", "Hibiscus", "Giant whitefly", 1, 6));
    let last = ago(w.today, 90);
    for on in [year_before(last, 6), last] {
        w.call(front, on, &[hedge], Quirk::Plain);
        w.call(back, on, &[one, two], Quirk::Plain);
    }
}

fn overdue_and_soon(w: &mut World) {
    let late = ago(w.today, 410);
    // Protection of twelve months less two weeks of uptake.
    let wanted_in = |days: u32| months_before(ahead(w.today, days + 14), 12);
    let (soon, later) = (wanted_in(3), wanted_in(25));
    for (name, street, last) in [
        ("Orla Tinsley", "22 Fountain Road", late),
        ("Percival Stroud", "5 Poplar Rise", soon),
        ("Quenby Archer", "39 Hollow Road", later),
    ] {
        let who = w.customer(name, street, QUILLAN);
        let site = w.place(who, street, QUILLAN, Some(30_000));
        let hedge = w.plant(site, Plant::tall("Street hedge", "Podocarpus", APHIDS, 10, 5));
        let one = w.plant(site, Plant::tall("Lawn", "Crape myrtle", "Crape myrtle bark scale", 1, 9));
        let two = w.plant(site, Plant::tall("North wall", "Camellia", SCALE, 1, 5));
        w.call(site, year_before(last, 8), &[hedge, one, two], Quirk::Plain);
        w.call(site, last, &[hedge, one, two], Quirk::Plain);
    }
}

fn unsigned_label(w: &mut World) {
    let who = w.customer("Rufus Penhale", "14 Sorrel Close", QUILLAN);
    let site = w.place(who, "14 Sorrel Close", QUILLAN, Some(26_000));
    let wanted = ago(w.today, 1);
    w.plant(
        site,
        Plant::tall("Greenhouse side", "Hibiscus", "Giant whitefly", 1, 7)
            .with(key::UNSIGNED, "shrubs")
            .wanted(wanted),
    );
    let bush = w.plant(site, Plant::tall("Well", "Camellia", SCALE, 1, 5).with(key::GRANULES, "shrubs"));
    w.call(site, ago(w.today, 70), &[bush], Quirk::Plain);
}

/// Last year's dose took most of the cap, so that the next must wait until its year is over.
fn held_by_last_year(w: &mut World) {
    let who = w.customer("Sabine Thorley", "7 Gable Street", QUILLAN);
    let site = w.place(who, "7 Gable Street", QUILLAN, Some(12_000));
    let hedge = w.plant(site, Plant::tall("Gable hedge", "Eugenia", PSYLLID, 15, 4));
    let last = ago(w.today, 355);
    w.call(site, year_before(last, 1), &[hedge], Quirk::Plain);
    w.call(site, last, &[hedge], Quirk::Plain);
}

/// What comes in pieces, on a site that is there: a tree that takes one packet, and shrubs in tubs.
pub fn add_pieces(w: &mut World) {
    let Some(site) = w.places.iter().position(|place| place.street == "14 Sorrel Close") else { return };
    let wanted = ahead(w.today, 9);
    w.plant(
        site,
        Plant::tree("Well house", "Tulip tree", "Tuliptree scale", &[20])
            .with(key::PACKETS, "trees")
            .wanted(wanted),
    );
    let tubs = Plant::tall("Terrace tubs", "Hibiscus", "Giant whitefly", 4, 4);
    w.plant(site, Plant { kind: "shrub", ..tubs.with(key::TABLETS, "containers") }.wanted(wanted));
}
