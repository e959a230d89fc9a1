//! What was seen at the demo's plants between their treatments. How long a treatment lasted is drawn by lot, so that
//! the curves show something; it is no finding about any product.
use super::{
    chance::Chance,
    days::{ahead, at},
    people::People,
    world::{Call, Quirk, World},
};
use crate::db::{
    Conn,
    look::{self, PlantLook},
};
use chrono::NaiveDate;
use uuid::Uuid;

/// Where its ids start.
const OWN: u64 = 0x6c6f_6f6b_2121_2121;

/// Days after a treatment on which somebody looks, and by how many they may be off.
const LOOKS: [(u32, u32); 4] = [(70, 30), (160, 40), (250, 40), (335, 25)];

/// Enters them, with ids of their own.
pub async fn enter(tx: &mut Conn, w: &World, calls: &[Call], people: &People) -> sqlx::Result<()> {
    let mut chance = Chance::new(OWN);
    for call in calls.iter().filter(|call| call.quirk != Quirk::Lawn) {
        let by = people.technicians[call.technician].id;
        for number in &call.plants {
            let plant = &w.plants[*number];
            let lasted = chance.between(200, 620);
            let watched = chance.between(0, 2) == 0;
            if !watched || plant.pest.is_empty() || plant.retired.is_some() {
                continue;
            }
            let next =
                calls.iter().filter(|c| c.on > call.on && c.plants.contains(number)).map(|c| c.on).min();
            let until = next.unwrap_or(w.today);
            looks(tx, &mut chance, (plant.id, plant.pest), (call.on, until.min(w.today)), lasted, by).await?;
        }
    }
    Ok(())
}

async fn looks(
    tx: &mut Conn,
    chance: &mut Chance,
    (plant_id, pest): (Uuid, &str),
    (from, until): (NaiveDate, NaiveDate),
    lasted: u32,
    by: Uuid,
) -> sqlx::Result<()> {
    for (days, off) in LOOKS {
        let days = days + chance.between(0, off);
        let on_date = ahead(from, days);
        if on_date > until {
            return Ok(());
        }
        let one = PlantLook {
            id: chance.id(),
            plant_id,
            on_date,
            pest: pest.to_owned(),
            seen: days > lasted,
            words: String::new(),
        };
        look::insert(tx, &one, by, at(on_date, 15, 0)).await?;
        if one.seen {
            return Ok(());
        }
    }
    Ok(())
}
