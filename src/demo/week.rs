//! What the demo's weeks are planned with: the yard, hours, vehicles, and a day of the past on which it rained.
use super::{
    days::{ago, at},
    people::People,
    rows::deed,
    world::{QUILLAN, TAMSIN, Town, World},
};
use crate::db::{
    Conn,
    day_hold::{self, New},
    demo::{Table, fill},
    vehicle::{self, Vehicle},
    working::{self, Day, Terms, Way, Working},
};
use chrono::NaiveTime;
use rust_decimal::Decimal;
use serde_json::json;

/// Name of each technician's vehicle and what it carries, gal.
const VEHICLES: [(&str, u32); 3] = [("White pickup", 60), ("Green van", 40), ("Flatbed with trailer", 100)];

fn centre(town: Town) -> (Option<f64>, Option<f64>) {
    (Some(f64::from(town.north) / 100.0), Some(-f64::from(town.west) / 100.0))
}

fn time(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).unwrap_or_default()
}

/// Enters it all.
pub async fn enter(conn: &mut Conn, w: &mut World, people: &People) -> anyhow::Result<()> {
    let (latitude, longitude) = centre(QUILLAN);
    let terms = Terms {
        latitude,
        longitude,
        stop_minutes: 12,
        plant_minutes: Decimal::new(15, 1),
        load_reserve_percent: 10,
    };
    working::save_terms(conn, &terms).await?;
    for (number, ((name, tank), person)) in VEHICLES.iter().zip(&people.technicians).enumerate() {
        let vehicle = Vehicle {
            id: w.chance.id(),
            name: (*name).to_owned(),
            tank_gal: Decimal::from(*tank),
            retired_at: None,
        };
        vehicle::insert(conn, &vehicle).await?;
        // The third lives in the other county and begins there, four long days a week.
        let far = number == 2;
        let (start_latitude, start_longitude) = if far { centre(TAMSIN) } else { (None, None) };
        let days = (1..=if far { 4 } else { 5 }).map(|weekday| Day {
            weekday,
            starts: time(7, if far { 0 } else { 30 }),
            ends: time(if far { 17 } else { 16 }, 0),
            break_minutes: 30,
            break_from: Some(time(11, 30)),
            break_until: Some(time(13, 0)),
        });
        let way = Way { vehicle_id: Some(vehicle.id), start_latitude, start_longitude };
        working::save(conn, person.id, &Working { way, days: days.collect() }).await?;
    }
    rained_out(conn, w, people).await
}

async fn rained_out(conn: &mut Conn, w: &mut World, people: &People) -> anyhow::Result<()> {
    let hold = New {
        id: w.chance.id(),
        on_date: ago(w.today, 9),
        place: Some(("CA".to_owned(), QUILLAN.county.to_owned())),
        reason: "soil saturated after two days of rain".to_owned(),
    };
    day_hold::insert(conn, &hold, people.office, at(ago(w.today, 10), 16, 20)).await?;
    let detail = json!({ "on": hold.on_date, "place": hold.place, "reason": hold.reason, "visits": 0 });
    let line = deed(ago(w.today, 10), people.office, "placed", "day hold", hold.id, &detail);
    Ok(fill(conn, Table::Audit, &[line]).await?)
}

/// Hours of notice, its reason and the priority of a site, by its number.
pub fn wishes(number: usize) -> (Option<i32>, &'static str, i16) {
    match number % 11 {
        4 => (Some(24), "the school next door, by its wish", 1),
        7 => (Some(48), "the beekeeper across the road, by agreement", 1),
        9 => (None, "", 2),
        _ => (None, "", 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_notice_always_says_why() {
        assert!((0..22).map(wishes).all(|(hours, why, _)| hours.is_none() == why.is_empty()));
        assert_eq!(centre(QUILLAN), (Some(35.48), Some(-120.68)));
    }
}
