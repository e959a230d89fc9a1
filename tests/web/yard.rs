//! A yard to work in: one signed product, a lot with an annual cap, and hedges that compete for it.
//!
//! Figures: the product holds 2 lb of imidacloprid a gallon, the cap is 0.4 lb/acre in a calendar year (shape
//! of Purdue Extension's per-acre restrictions table), the lot a quarter acre: 0.1 lb, 45.359237 g or 189.2706 mL
//! of product. The rate band is 3 to 6 mL a foot.
use crate::support::{Answer, Visitor, World};
use sqlx::PgPool;
use uuid::Uuid;

pub struct Yard {
    pub parcel: Uuid,
    pub site: Uuid,
    pub product: Uuid,
    pub label_use: Uuid,
}

async fn run(pool: &PgPool, sql: &'static str, ids: &[Uuid]) {
    let mut query = sqlx::query(sql);
    for id in ids {
        query = query.bind(*id);
    }
    query.execute(pool).await.unwrap();
}

impl Yard {
    /// The yard, its label entered and signed by the owner.
    pub async fn new(world: &World, owner: &Visitor) -> Self {
        let [customer, parcel, site, product, label, label_use] = std::array::from_fn(|_| Uuid::now_v7());
        let p = &world.pool;
        run(
            p,
            "insert into customer (id, name, street, city, state, zip, phone, created_at)
             values ($1, 'Odile Farrant', '14 Tamber Lane', 'Quillan Springs', 'CA', '93499', '805-555-0123', now())",
            &[customer],
        )
        .await;
        run(
            p,
            "insert into parcel (id, lot_sqft, history_known_from, history_answered_by) values ($1, 10890, '2020-01-01', $2)",
            &[parcel, owner.id],
        )
        .await;
        run(
            p,
            "insert into site (id, customer_id, parcel_id, street, city, state, zip, county, access_note, created_at)
             values ($1, $2, $3, '14 Tamber Lane', 'Quillan Springs', 'CA', '93499', 'San Luis Obispo',
                'Gate on the left, dog indoors', now())",
            &[site, customer, parcel],
        )
        .await;
        run(
            p,
            "insert into product (id, name, registration_number, form, created_at)
             values ($1, 'Rootward 2F', '99999-12', 'liquid', now())",
            &[product],
        )
        .await;
        run(
            p,
            "insert into label_version (id, product_id, number, label_date, category, signal_word, clothing, precautions,
                first_aid, entered_by, entered_at)
             values ($1, $2, 1, '2026-01-01', 'landscape maintenance', 'CAUTION', 'Long sleeves, gloves, shoes and socks',
                'Keep people and pets out until dry. Not on saturated or frozen soil.', 'Rinse skin with water.', $3, now())",
            &[label, product, owner.id],
        )
        .await;
        run(
            p,
            "insert into label_ingredient (label_version_id, position, name, irac_group, strength, strength_unit)
             values ($1, 1, 'imidacloprid', '4A', 2, 'lb/gal')",
            &[label],
        )
        .await;
        run(
            p,
            "insert into label_use (id, label_version_id, code, name, hosts, pests, method, measure, rate_low, rate_high,
                rate_unit, water_low, water_high, water_unit, protection_value, protection_unit, uptake_days)
             values ($1, $2, 'shrub-drench', 'Shrubs, basal drench', 'shrubs', 'aphids', 'basal-drench', 'height-ft', 3, 6,
                'mL', 250, 500, 'mL', 12, 'month', 0)",
            &[label_use, label],
        )
        .await;
        run(
            p,
            "insert into label_cap (label_version_id, position, ingredient, amount, unit, year)
             values ($1, 1, 'imidacloprid', 0.4, 'lb/acre', 'calendar')",
            &[label],
        )
        .await;
        run(p, "insert into product_registration values ($1, 'CA', '2027-12-31')", &[product]).await;
        let certification = certify(world, owner.id).await;
        run(
            p,
            "update label_version set signed_by = $2, signed_certification_id = $3, signed_at = '2026-01-02T00:00:00Z'
             where id = $1",
            &[label, owner.id, certification],
        )
        .await;
        Self { parcel, site, product, label_use }
    }

    /// A hedge of so many plants, eight feet high.
    pub async fn hedge(&self, world: &World, place: &str, count: i32) -> Uuid {
        let id = Uuid::now_v7();
        sqlx::query(
            "insert into plant (id, site_id, place, host_plant, kind, count, height_ft, target_pest, eaten,
                food_in_root_zone, product_id, use_code, created_at)
             values ($1, $2, $3, 'Podocarpus', 'hedge', $4, 8, 'aphids', 'no', 'no', $5, 'shrub-drench', now())",
        )
        .bind(id)
        .bind(self.site)
        .bind(place)
        .bind(count)
        .bind(self.product)
        .execute(&world.pool)
        .await
        .unwrap();
        let mut tx = world.pool.begin().await.unwrap();
        plantward::actions::due::recompute_parcel(&mut tx, &world.doer(), self.parcel).await.unwrap();
        tx.commit().await.unwrap();
        id
    }

    /// The same yard in another state, where its product is registered.
    pub async fn moved_to(&self, world: &World, state: &'static str) {
        let changes = [
            "update site set state = $1 where id = $2",
            "insert into product_registration (state, product_id, expires_on)
             select $1, id, '2027-12-31' from product where $2::uuid is not null",
        ];
        for sql in changes {
            sqlx::query(sql).bind(state).bind(self.site).execute(&world.pool).await.unwrap();
        }
        let mut tx = world.pool.begin().await.unwrap();
        plantward::actions::due::recompute_parcel(&mut tx, &world.doer(), self.parcel).await.unwrap();
        tx.commit().await.unwrap();
    }

    /// The plant's due day as the list has it.
    pub async fn due_on(&self, world: &World, plant: Uuid) -> Option<chrono::NaiveDate> {
        sqlx::query_scalar("select due_on from due where plant_id = $1")
            .bind(plant)
            .fetch_one(&world.pool)
            .await
            .unwrap()
    }
}

/// Gives somebody a certification of California that is current; its id.
pub async fn certify(world: &World, person: Uuid) -> Uuid {
    certify_in(world, person, "CA").await
}

/// The same in another state.
pub async fn certify_in(world: &World, person: Uuid, state: &str) -> Uuid {
    let id = Uuid::now_v7();
    sqlx::query(
        "insert into certification (id, person_id, state, category, number, valid_from, expires_on)
         values ($1, $2, $4, 'landscape maintenance', $3, '2025-01-01', '2027-12-31')",
    )
    .bind(id)
    .bind(person)
    .bind(format!("QA-{}", &id.to_string()[24..30]))
    .bind(state)
    .execute(&world.pool)
    .await
    .unwrap();
    id
}

/// A booking of these plants at the lowest rate, as the form sends it; under nobody, or under a supervisor.
pub async fn book(
    office: &Visitor,
    yard: &Yard,
    (technician, supervisor): (Uuid, Option<Uuid>),
    on: &str,
    plant: Uuid,
) -> (String, Answer) {
    let id = Uuid::now_v7().to_string();
    let (site, plant, technician) = (yard.site.to_string(), plant.to_string(), technician.to_string());
    let (rate, supervisor) =
        (format!("rate-{plant}"), supervisor.map_or_else(String::new, |id| id.to_string()));
    let fields = [
        ("id", id.as_str()),
        ("site", &site),
        ("technician", &technician),
        ("supervisor", &supervisor),
        ("on", on),
        ("step", "book"),
        ("plant", &plant),
        (&rate, "3"),
    ];
    let answer = office.post("/visits", &fields).await;
    (format!("/visits/{id}"), answer)
}

/// The words of a refused booking.
pub fn refused(answer: &Answer) -> &str {
    assert_eq!(answer.status, axum::http::StatusCode::UNPROCESSABLE_ENTITY, "{}", answer.body);
    &answer.body
}
