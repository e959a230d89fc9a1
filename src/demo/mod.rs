//! The demo: an invented company with three years behind it, whose every screen shows something
//! true. The same day gives the same rows, and all days are told from today.
mod booked;
mod chance;
mod crowd;
mod days;
mod documents;
mod evidence;
mod filings;
mod flagged;
mod history;
mod imports;
mod kit;
mod looks;
mod mail;
mod neighbours;
mod papers;
mod people;
mod prices;
mod product;
mod renewals;
mod rows;
mod scenes;
mod week;
mod world;

use crate::{
    actions::{Doer, due},
    clock::Clock,
    db::{
        Conn,
        company::{self, Company},
        person, sync,
    },
};
use chance::Chance;
use chrono::NaiveDate;
use sqlx::PgPool;
use world::World;

/// The demo company's time zone.
pub const ZONE: chrono_tz::Tz = chrono_tz::America::Los_Angeles;

const NAME: &str = "Bellwether Plant Care";

/// Any number; the rows hang on it.
const SEED: u64 = 0x6265_6c6c_7765_7468;

/// A way to sign in to the demo.
#[derive(Debug, Clone)]
pub struct SignIn {
    pub name: String,
    pub role: String,
    pub email: String,
    pub password: String,
}

/// Fills an empty database with the demo company; one that holds it already is left as it is.
///
/// # Errors
/// When the database belongs to another company, or does not answer.
pub async fn fill(pool: &PgPool, today: NaiveDate) -> anyhow::Result<Vec<SignIn>> {
    let mut tx = pool.begin().await?;
    match company::find(&mut tx).await? {
        Some(held) if held.name == NAME => return Ok(people::sign_ins()),
        Some(held) => anyhow::bail!("this database belongs to {}; the demo needs one of its own", held.name),
        None if person::anyone(&mut tx).await? => {
            anyhow::bail!("this database is in use already; the demo needs one of its own")
        }
        None => {}
    }
    everything(&mut tx, pool, today).await?;
    tx.commit().await?;
    Ok(people::sign_ins())
}

async fn everything(tx: &mut Conn, pool: &PgPool, today: NaiveDate) -> anyhow::Result<()> {
    company::save(tx, &itself()).await?;
    sync::save_help(tx, &help()).await?;
    kit::enter(tx, today).await?;
    let mut chance = Chance::new(SEED);
    let people = people::enter(tx, &mut chance, today).await?;
    let shelf = product::enter(tx, &mut chance, &people, today).await?;
    let mut world = World::new(today, chance);
    scenes::add(&mut world);
    crowd::add(&mut world);
    scenes::add_pieces(&mut world);
    rows::counties(tx, &mut world).await?;
    rows::land(tx, &world, &people, &shelf).await?;
    neighbours::enter(tx, &world, &people).await?;
    imports::enter(tx, &world, &people).await?;
    let past = world.calls.clone();
    let calls = history::enter(tx, &mut world, &people, &shelf).await?;
    flagged::raise(tx, &mut world, &people, &calls).await?;
    looks::enter(tx, &world, &past, &people).await?;
    papers::enter(tx, &people, &shelf, today).await?;
    documents::enter(tx, &people, &shelf, today).await?;
    prices::enter(tx, &world, &people).await?;
    rows::audit(tx, &world, &people, &shelf, &calls).await?;
    booked::enter(tx, &mut world, &people).await?;
    week::enter(tx, &mut world, &people).await?;
    filings::enter(tx, &mut world, &people).await?;
    evidence::enter(tx, &mut world, &people, &calls).await?;
    // Midday of that day: what is due must not hang on the hour at which the demo was started.
    let doer = Doer::program(pool, &Clock::fixed(days::at(today, 12, 0)));
    for land in &world.lands {
        due::recompute_parcel(tx, &doer, land.id).await?;
    }
    renewals::enter(tx, &world, &people, &doer).await?;
    prices::estimates(tx, &world, &people, &doer).await?;
    mail::enter(tx, pool, &mut world, &people).await
}

/// The telephone is the one national number of the poison centers; the place is invented.
fn help() -> sync::Help {
    sync::Help {
        poison_center_phone: "1-800-222-1222".to_owned(),
        emergency_place: "Quillan Springs Community Hospital, 120 Mill Road, 805-555-0190; call 911 first"
            .to_owned(),
    }
}

fn itself() -> Company {
    Company {
        name: NAME.to_owned(),
        street: "3 Orchard Row".to_owned(),
        city: world::QUILLAN.name.to_owned(),
        state: "CA".to_owned(),
        zip: world::QUILLAN.zip.to_owned(),
        phone: "805-555-0100".to_owned(),
        license_number: "MB-99000".to_owned(),
        time_zone: ZONE.name().to_owned(),
        emergency_phone: "805-555-0199".to_owned(),
    }
}
