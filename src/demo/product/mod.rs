//! The demo's products: invented names under a company number that cannot be, with label entries
//! that say so. `entries` holds the figures, this file puts them in.
mod breadth;
mod entries;

use super::{
    chance::Chance,
    days::{ago, at},
    people::{CATEGORY, People, end_of_next_year},
};
use crate::db::{
    Conn,
    label::{self, Cap, Ingredient, Use, Version},
    product::{self, Product, Registration},
};
use chrono::NaiveDate;
use entries::{Edition, Entry, UseEntry};
use rust_decimal::Decimal;
use uuid::Uuid;

/// The products' keys within the demo.
pub mod key {
    /// Imidacloprid, 2 lb/gal.
    pub const DRENCH: &str = "drench";
    /// Imidacloprid, 75 percent powder.
    pub const POWDER: &str = "powder";
    /// Dinotefuran granules that dissolve.
    pub const GRANULES: &str = "granules";
    /// Emamectin benzoate for the trunk.
    pub const INJECTION: &str = "injection";
    /// Horticultural oil.
    pub const OIL: &str = "oil";
    /// Flupyradifurone, whose entry nobody has signed.
    pub const UNSIGNED: &str = "unsigned";
    /// Lawn granules of another company.
    pub const LAWN: &str = "lawn";
    /// Imidacloprid in packets.
    pub const PACKETS: &str = "packets";
    /// Dinotefuran in tablets.
    pub const TABLETS: &str = "tablets";
    /// Lawn granules of our own, by treated ground.
    pub const TURF: &str = "turf";
    /// For the trunk, by its girth.
    pub const GIRTH: &str = "girth";
    /// Soap whose registration has expired.
    pub const SOAP: &str = "soap";
}

/// Invented prices, in cents for one unit.
const PRICES: [(&str, i64, &str); 5] = [
    (key::DRENCH, 9, "mL"),
    (key::POWDER, 85, "g"),
    (key::GRANULES, 62, "g"),
    (key::INJECTION, 48, "mL"),
    (key::PACKETS, 1_450, "packet"),
];

/// Where the ids of the wider shelf start.
const WIDER: u64 = 0x0b2e_ad7f;

/// A label version of the demo.
#[derive(Debug, Clone)]
pub struct Edited {
    pub id: Uuid,
    /// None: a draft.
    pub signed_on: Option<NaiveDate>,
    pub uses: Vec<Use>,
}

/// A product of the demo with its versions, oldest first.
#[derive(Debug, Clone)]
pub struct Held {
    pub key: &'static str,
    pub product: Product,
    pub versions: Vec<Edited>,
}

impl Held {
    /// The version that counted on that day.
    pub fn in_force(&self, day: NaiveDate) -> Option<&Edited> {
        self.versions.iter().rev().find(|v| v.signed_on.is_some_and(|signed| signed <= day))
    }
}

/// Every product of the demo.
#[derive(Debug, Clone)]
pub struct Shelf(Vec<Held>);

impl Shelf {
    /// The product of that key.
    ///
    /// # Errors
    /// When the demo names a product that it does not have.
    pub fn get(&self, key: &str) -> anyhow::Result<&Held> {
        self.0
            .iter()
            .find(|held| held.key == key)
            .ok_or_else(|| anyhow::anyhow!("no product {key} in the demo"))
    }

    /// Every product.
    pub fn all(&self) -> &[Held] {
        &self.0
    }
}

/// Enters products, registrations and label versions, and signs those that are to be signed.
pub async fn enter(
    conn: &mut Conn,
    chance: &mut Chance,
    people: &People,
    today: NaiveDate,
) -> anyhow::Result<Shelf> {
    let mut shelf = vec![];
    // The wider shelf draws its own ids, so that everything else falls as it fell without it.
    let mut wider = Chance::new(WIDER);
    let plain = entries::ENTRIES.iter().map(|entry| (entry, false));
    for (entry, wide) in plain.chain(breadth::BREADTH.iter().map(|entry| (entry, true))) {
        let chance = if wide { &mut wider } else { &mut *chance };
        let price = PRICES.iter().find(|(key, ..)| *key == entry.key).map(|(_, cents, unit)| (*cents, *unit));
        let product = Product {
            id: chance.id(),
            name: entry.name.to_owned(),
            registration_number: entry.registration.to_owned(),
            form: entry.form.to_owned(),
            price: price.map(|(cents, _)| Decimal::new(cents, 2)),
            price_unit: price.map(|(_, unit)| unit.to_owned()),
            retired_at: None,
        };
        product::insert(conn, &product, at(ago(today, 4 * 365), 10, 0)).await?;
        register(conn, entry, product.id, today).await?;
        let mut versions = vec![];
        for (number, edition) in (1_i32..).zip(entry.editions) {
            versions.push(version(conn, chance, people, (entry, product.id, number), edition, today).await?);
        }
        shelf.push(Held { key: entry.key, product, versions });
    }
    Ok(Shelf(shelf))
}

fn registration(product_id: Uuid, state: &str, expires_on: NaiveDate) -> Registration {
    Registration { product_id, state: state.to_owned(), valid_from: None, expires_on }
}

async fn register(conn: &mut Conn, entry: &Entry, product_id: Uuid, today: NaiveDate) -> sqlx::Result<()> {
    for state in entry.states {
        let registration = registration(product_id, state, end_of_next_year(today));
        product::set_registration(conn, &registration).await?;
    }
    for (state, days) in entry.expired {
        let registration = registration(product_id, state, ago(today, *days));
        product::set_registration(conn, &registration).await?;
    }
    Ok(())
}

async fn version(
    conn: &mut Conn,
    chance: &mut Chance,
    people: &People,
    (entry, product_id, number): (&Entry, Uuid, i32),
    edition: &Edition,
    today: NaiveDate,
) -> anyhow::Result<Edited> {
    let id = chance.id();
    let entered = ago(today, edition.entered_ago);
    let head = head(entry, edition, (id, product_id, number), people.office, entered)?;
    label::insert_version(conn, &head).await?;
    label::replace_parts(conn, id, &[ingredient(id, entry)?], &caps(id, entry)?).await?;
    let mut uses = vec![];
    for one in entry.uses {
        let row = usage(one, chance.id(), id)?;
        label::insert_use(conn, &row).await?;
        uses.push(row);
    }
    let signed_on = edition.signed_ago.map(|days| ago(today, days));
    if let Some(day) = signed_on {
        let owner = &people.owner;
        label::sign(conn, id, owner.id, owner.certification_id, at(day, 8, 30)).await?;
    }
    Ok(Edited { id, signed_on, uses })
}

fn head(
    entry: &Entry,
    edition: &Edition,
    (id, product_id, number): (Uuid, Uuid, i32),
    entered_by: Uuid,
    entered: NaiveDate,
) -> anyhow::Result<Version> {
    Ok(Version {
        id,
        product_id,
        number,
        label_date: ago(entered, 60),
        category: CATEGORY.to_owned(),
        restricted_use: false,
        signal_word: entry.signal.to_owned(),
        clothing: entry.clothing.to_owned(),
        precautions: format!("Invented entry of a demo product. {} {}", entry.precautions, edition.addition)
            .trim_end()
            .to_owned(),
        first_aid: "Invented entry: on skin or in eyes, rinse with plenty of water and call a doctor."
            .to_owned(),
        excluded_hosts: entry.excluded.iter().map(|host| (*host).to_owned()).collect(),
        density: None,
        density_unit: None,
        piece_mass: entry.piece.map(|(mass, _)| mass.parse()).transpose()?,
        piece_unit: entry.piece.map(|(_, unit)| unit.to_owned()),
        entered_by,
        entered_by_name: String::new(),
        entered_at: at(entered, 14, 0),
        signed_by: None,
        signed_by_name: None,
        signed_certification_id: None,
        signed_certification_number: None,
        signed_at: None,
        in_force: false,
    })
}

fn ingredient(version: Uuid, entry: &Entry) -> anyhow::Result<Ingredient> {
    let (name, group, strength, unit) = entry.ingredient;
    Ok(Ingredient {
        label_version_id: version,
        position: 1,
        name: name.to_owned(),
        irac_group: group.to_owned(),
        strength: strength.parse()?,
        strength_unit: unit.to_owned(),
    })
}

fn caps(version: Uuid, entry: &Entry) -> anyhow::Result<Vec<Cap>> {
    let cap = |of_product: bool, amount: &str, unit: &str, year: &str| -> anyhow::Result<Cap> {
        Ok(Cap {
            label_version_id: version,
            position: 1,
            counts: if of_product { "product" } else { "ingredient" }.to_owned(),
            ingredient: (!of_product).then(|| entry.ingredient.0.to_owned()),
            amount: amount.parse()?,
            unit: unit.to_owned(),
            year: year.to_owned(),
        })
    };
    let ingredient = entry.cap.map(|(amount, year)| cap(false, amount, "lb/acre", year));
    let own = entry.own_cap.map(|(amount, unit)| cap(true, amount, unit, "calendar"));
    ingredient.into_iter().chain(own).collect()
}

fn usage(entry: &UseEntry, id: Uuid, version: Uuid) -> anyhow::Result<Use> {
    let decimal = |text: &str| text.parse::<Decimal>();
    let (low, high, unit) = entry.rate;
    let (water_low, water_high, water_unit) = entry.water;
    Ok(Use {
        id,
        label_version_id: version,
        code: entry.code.to_owned(),
        name: entry.name.to_owned(),
        hosts: entry.hosts.to_owned(),
        pests: entry.pests.to_owned(),
        method: entry.method.to_owned(),
        measure: entry.measure.to_owned(),
        rate_low: decimal(low)?,
        rate_high: decimal(high)?,
        rate_unit: unit.to_owned(),
        rate_per: decimal(entry.per)?,
        water_low: (!water_unit.is_empty()).then(|| decimal(water_low)).transpose()?,
        water_high: (!water_unit.is_empty()).then(|| decimal(water_high)).transpose()?,
        water_unit: (!water_unit.is_empty()).then(|| water_unit.to_owned()),
        protection_value: entry.protection.0,
        protection_unit: entry.protection.1.to_owned(),
        uptake_days: entry.uptake,
        min_interval_days: entry.interval,
        max_per_year: entry.per_year,
        season_from: entry.season.map(|(from, _)| from.to_owned()),
        season_to: entry.season.map(|(_, to)| to.to_owned()),
        season2_from: entry.autumn.map(|(from, _)| from.to_owned()),
        season2_to: entry.autumn.map(|(_, to)| to.to_owned()),
        barred_in_bloom: entry.bloom,
        bloom_lead_days: entry.bloom_lead,
        foliar_rest_days: entry.foliar_rest,
        no_group_repeat: false,
        covers_food: entry.food.is_some(),
        preharvest_days: entry.food,
    })
}
