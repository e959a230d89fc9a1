//! What the reports stand on: places, products and records, put in through the same queries as the service's.
use crate::support::World;
use chrono::{NaiveDate, NaiveTime};
use plantward::db::{
    record::{self, Head, Item, Version},
    registration::{self, Registration},
};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A company with one plant, three products and somebody who records.
pub struct Ground {
    pub recorder: Uuid,
    site: Uuid,
    parcel: Uuid,
    pub plant: Uuid,
    products: Vec<Product>,
}

struct Product {
    id: Uuid,
    label: Uuid,
    label_use: Uuid,
    name: &'static str,
    number: &'static str,
}

/// Trade names and numbers are invented; no company has the number 99999.
const PRODUCTS: [(&str, &str, &str); 3] =
    [("Rootward 21", "99999-1", "mL"), ("Leafward 5", "99999-2", "floz"), ("Groundward G", "99999-3", "oz")];

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn number(text: &str) -> Decimal {
    Decimal::from_str_exact(text).unwrap()
}

impl Ground {
    pub async fn lay(world: &World, recorder: Uuid) -> Self {
        let [customer, parcel, site, plant] = [(); 4].map(|()| Uuid::now_v7());
        let run = async |text: &'static str, ids: &[Uuid]| {
            let mut query = sqlx::query(text);
            for id in ids {
                query = query.bind(*id);
            }
            query.execute(&world.pool).await.unwrap();
        };
        run(
            "insert into customer (id, name, created_at) values ($1, 'Odile Farrant', '2026-01-01Z')",
            &[customer],
        )
        .await;
        run("insert into parcel (id) values ($1)", &[parcel]).await;
        run(
            "insert into site (id, customer_id, parcel_id, street, city, state, zip, county, created_at)
             values ($1, $2, $3, '14 Tamber Lane', 'Quillan Springs', 'CA', '93499', 'San Luis Obispo', '2026-01-01Z')",
            &[site, customer, parcel],
        )
        .await;
        run(
            "insert into plant (id, site_id, place, host_plant, kind, count, created_at)
             values ($1, $2, 'by the gate', 'camellia', 'shrub', 3, '2026-01-01Z')",
            &[plant, site],
        )
        .await;
        let mut products = vec![];
        for (name, registration, unit) in PRODUCTS {
            products.push(product(world, recorder, name, registration, unit).await);
        }
        Self { recorder, site, parcel, plant, products }
    }

    /// A whole record of that day: nothing that California asks for is missing.
    pub fn record(&self, on: &str, items: Vec<Item>) -> Version {
        let head = Head {
            id: Uuid::now_v7(),
            version: 1,
            visit_id: None,
            site_id: self.site,
            parcel_id: self.parcel,
            origin: "own".into(),
            withdrawn: false,
            applied_on: day(on),
            started_at: NaiveTime::from_hms_opt(9, 30, 0),
            finished_at: None,
            customer_name: "Odile Farrant".into(),
            customer_address: "14 Tamber Lane, Quillan Springs, CA 93499".into(),
            site_address: "14 Tamber Lane, Quillan Springs, CA 93499".into(),
            site_state: "CA".into(),
            site_county: "San Luis Obispo".into(),
            applicator_id: Some(self.recorder),
            applicator_name: "Ines Okoro".into(),
            applicator_certification: "QA-00017".into(),
            supervisor_id: None,
            supervisor_name: String::new(),
            supervisor_certification: String::new(),
            wind_direction: "NW".into(),
            wind_mph: Some(number("4.50")),
            temperature_f: Some(number("-4")),
            area_treated_sqft: None,
            note: String::new(),
            recorded_by: self.recorder,
            recorded_at: "2026-11-25T18:00:00Z".parse().unwrap(),
            amend_reason: String::new(),
            conditions: None,
        };
        Version { head, items }
    }

    /// An item of one of the products, by its place in the list.
    pub fn item(&self, position: i32, product: usize, amount: &str, unit: &str) -> Item {
        let product = &self.products[product];
        Item {
            position,
            plant_id: Some(self.plant),
            plant_words: "by the gate".into(),
            host_plant: "camellia".into(),
            target_pest: "tea scale".into(),
            product_id: product.id,
            label_version_id: product.label,
            label_use_id: Some(product.label_use),
            product_name: product.name.into(),
            registration_number: product.number.into(),
            method: "basal-drench".into(),
            measure: Some(number("6.0")),
            measure_basis: "height-ft".into(),
            count: 3,
            rate: Some(number("2")),
            amount: number(amount),
            unit: unit.into(),
            water: Some(number("1.5")),
            water_unit: Some("gal".into()),
            lot: String::new(),
        }
    }

    /// Enough rows to fill a long file: one record each, from these days on, put in at once.
    pub async fn many(&self, world: &World, rows: i32) {
        let product = &self.products[0];
        sqlx::query(
            "insert into application_record (id, version, seq, site_id, parcel_id, origin, applied_on, customer_name,
                customer_address, site_address, site_state, site_county, applicator_name, note, recorded_by,
                recorded_at, body, previous_hash, hash)
             select md5('record ' || n)::uuid, 1, n, $1, $2, 'own', date '2026-10-01' + n % 31, 'customer ' || n,
                repeat('long address ', 8), repeat('long address ', 8), 'CA', 'San Luis Obispo', 'Ines Okoro', '',
                $3, '2026-11-25Z', '', '', '' from generate_series(1, $4) n",
        )
        .bind(self.site)
        .bind(self.parcel)
        .bind(self.recorder)
        .bind(rows)
        .execute(&world.pool)
        .await
        .unwrap();
        sqlx::query(
            "insert into application_item (record_id, version, position, product_id, label_version_id, product_name,
                registration_number, method, amount, unit)
             select md5('record ' || n)::uuid, 1, 1, $1, $2, 'Rootward 21', '99999-1', 'basal-drench', n, 'mL'
             from generate_series(1, $3) n",
        )
        .bind(product.id)
        .bind(product.label)
        .bind(rows)
        .execute(&world.pool)
        .await
        .unwrap();
    }
}

async fn product(
    world: &World,
    person: Uuid,
    name: &'static str,
    number: &'static str,
    unit: &str,
) -> Product {
    let [id, label, label_use] = [(); 3].map(|()| Uuid::now_v7());
    let form = if unit == "oz" { "dry" } else { "liquid" };
    sqlx::query(
        "insert into product (id, name, registration_number, form, created_at) values ($1, $2, $3, $4, '2026-01-01Z')",
    )
    .bind(id)
    .bind(name)
    .bind(number)
    .bind(form)
    .execute(&world.pool)
    .await
    .unwrap();
    sqlx::query(
        "insert into label_version (id, product_id, number, label_date, category, entered_by, entered_at)
         values ($1, $2, 1, '2026-01-01', 'landscape maintenance', $3, '2026-01-01Z')",
    )
    .bind(label)
    .bind(id)
    .bind(person)
    .execute(&world.pool)
    .await
    .unwrap();
    sqlx::query(
        "insert into label_use (id, label_version_id, code, name, method, measure, rate_low, rate_high, rate_unit,
            protection_value, protection_unit)
         values ($1, $2, 'drench', 'Drench', 'basal-drench', 'height-ft', 1, 3, $3, 1, 'year')",
    )
    .bind(label_use)
    .bind(label)
    .bind(unit)
    .execute(&world.pool)
    .await
    .unwrap();
    Product { id, label, label_use, name, number }
}

/// Writes a version down; its record.
pub async fn write(world: &World, version: &Version) -> Uuid {
    let mut tx = world.pool.begin().await.unwrap();
    record::insert(&mut tx, version).await.unwrap();
    tx.commit().await.unwrap();
    version.head.id
}

/// The next version of a record, with its reason.
pub fn amended(version: &Version) -> Version {
    let mut next = version.clone();
    next.head.version += 1;
    next.head.amend_reason = "the day was wrong".into();
    next
}

pub async fn register(world: &World, county: &str, from: &str, until: &str) {
    register_in(world, ("CA", county, "SLO-0001"), from, until).await;
}

/// In any state; an empty county is the whole of it.
pub async fn register_in(
    world: &World,
    (state, county, number): (&str, &str, &str),
    from: &str,
    until: &str,
) {
    let new = Registration {
        id: Uuid::now_v7(),
        state: state.into(),
        county: county.into(),
        number: number.into(),
        valid_from: day(from),
        expires_on: day(until),
    };
    registration::insert(&mut world.pool.acquire().await.unwrap(), &new).await.unwrap();
}
