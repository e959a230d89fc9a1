//! Neighbours of the demo company's sites who want to hear of the work before it is done.
use super::{chance::Chance, days::at, people::People, world::World};
use crate::db::{
    Conn,
    demo::{Table, fill},
};
use serde_json::json;

/// Where their ids start, so that everything else falls as it fell without them.
const OWN: u64 = 0x6e65_6967_6862;

/// Name, where, the last two digits of the telephone (none: at the door), note.
const TOLD: [(&str, &str, Option<u8>, &str); 5] = [
    ("Halden School, office", "next door", Some(77), "Before any spraying on a school day."),
    ("Wilma Tarrant", "across the lane", Some(61), "Two hives of bees behind the house."),
    ("Household Osgood", "behind the hedge", None, "Washing and a dog in the yard."),
    ("Perrin Dale", "left side", Some(42), "Keeps a list of what is applied near his well."),
    ("Nursery school Linnet", "at the corner", Some(83), "Children are out from ten to noon."),
];

/// Every seventh site has one, every second of those two.
pub async fn enter(conn: &mut Conn, w: &World, people: &People) -> sqlx::Result<()> {
    let mut chance = Chance::new(OWN);
    let mut rows = vec![];
    for (number, place) in w.places.iter().enumerate().filter(|(number, _)| number % 7 == 2) {
        for more in 0..=number % 2 {
            let (name, side, digits, note) = TOLD[(number / 7 + more) % TOLD.len()];
            rows.push(json!({ "id": chance.id(), "site_id": place.id, "name": name,
                "address": format!("{side} of {}", place.street),
                "phone": digits.map_or_else(String::new, |n| format!("805-555-01{n:02}")), "note": note,
                "email": "", "entered_by": people.office, "entered_at": at(place.since, 12, 30) }));
        }
    }
    fill(conn, Table::SiteNeighbour, &rows).await
}
