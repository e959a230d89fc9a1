//! A company with technicians who are signed in on their phones, and as many visits as are asked for.
use plantward::{actions::secret, clock::Clock, db};
use serde_json::{Value, json};
use sqlx::{AssertSqlSafe, PgConnection, Row};
use uuid::Uuid;

/// Somebody with a phone.
#[derive(Debug, Clone)]
pub struct Technician {
    pub cookie: String,
    /// Completions of all their visits, as they were done.
    pub done: Vec<Value>,
}

pub const TOKEN: &str = "token-of-the-phones";

pub async fn run(conn: &mut PgConnection, sql: &str) {
    for statement in sql.split(";\n").filter(|s| !s.trim().is_empty()) {
        sqlx::query(AssertSqlSafe(statement.to_owned())).execute(&mut *conn).await.unwrap();
    }
}

/// The company, its label and its owner, who is certified; everything invented.
pub async fn found(conn: &mut PgConnection) {
    run(
        conn,
        "insert into company (name, street, city, state, zip, phone) values ('Bellwether Plant Care', '3 Orchard Row',
            'Quillan Springs', 'CA', '93499', '805-555-0100');
         insert into person (id, name, email, role, created_at) values ('00000000-0000-7000-8000-000000000001',
            'Maren Quist', 'maren@bellwether.test', 'owner', now());
         insert into customer (id, name, created_at) values ('00000000-0000-7000-8000-000000000002', 'Odile Farrant', now());
         insert into product (id, name, registration_number, form, created_at)
            values ('00000000-0000-7000-8000-000000000003', 'Rootward 2F', '99999-12', 'liquid', now());
         insert into product_registration select id, 'CA', current_date + 400 from product;
         insert into label_version (id, product_id, number, label_date, category, entered_by, entered_at)
            select '00000000-0000-7000-8000-000000000004', product.id, 1, '2026-01-01', 'landscape maintenance',
                person.id, now() from product, person;
         insert into label_ingredient select id, 1, 'imidacloprid', '4A', 2, 'lb/gal' from label_version;
         insert into label_use (id, label_version_id, code, name, method, measure, rate_low, rate_high, rate_unit,
            protection_value, protection_unit) select '00000000-0000-7000-8000-000000000005', id, 'shrub-drench',
            'Shrubs, basal drench', 'basal-drench', 'height-ft', 3, 6, 'mL', 12, 'month' from label_version;
         insert into label_cap select id, 1, 'imidacloprid', 0.4, 'lb/acre', 'calendar' from label_version;
         insert into certification select '00000000-0000-7000-8000-000000000006', id, 'CA', 'landscape maintenance',
            'QA-00001', '2020-01-01', current_date + 400 from person;
         update label_version set signed_by = entered_by, signed_at = '2026-01-02', signed_certification_id =
            '00000000-0000-7000-8000-000000000006'",
    )
    .await;
}

/// So many technicians with so many visits each; ten visits lie on one parcel, each with a hedge of its own.
pub async fn staff(conn: &mut PgConnection, technicians: usize, visits: usize) -> Vec<Technician> {
    let mut all = vec![];
    for number in 0..technicians {
        let person = Uuid::now_v7();
        run(
            conn,
            &format!(
                "insert into person (id, name, email, role, created_at) values ('{person}', 'Technician {number}',
                    'technician{number}@bellwether.test', 'technician', now());
                 insert into certification values (gen_random_uuid(), '{person}', 'CA', 'landscape maintenance',
                    'QA-1{number:04}', '2020-01-01', current_date + 400);
                 create temporary table made as select n, gen_random_uuid() as visit, gen_random_uuid() as plant,
                    md5('{person}' || n / 10)::uuid as land from generate_series(0, {last}) n;
                 insert into parcel (id, lot_sqft, history_known_from, history_answered_by)
                    select distinct land, 43560, '2020-01-01'::date, '{person}'::uuid from made;
                 insert into site (id, customer_id, parcel_id, street, city, state, zip, county, created_at)
                    select distinct land, '00000000-0000-7000-8000-000000000002'::uuid, land, 'Tamber Lane', 'Quillan Springs',
                    'CA', '93499', 'San Luis Obispo', now() from made;
                 insert into plant (id, site_id, place, host_plant, kind, count, height_ft, eaten, food_in_root_zone,
                    target_pest, product_id, use_code, created_at) select plant, land, 'bed ' || n, 'Podocarpus', 'hedge', 1,
                    1, 'no', 'no', 'aphids', '00000000-0000-7000-8000-000000000003', 'shrub-drench', now() from made;
                 insert into visit (id, site_id, technician_id, on_date, booked_by, booked_at) select visit, land,
                    '{person}', (now() at time zone 'America/Los_Angeles')::date, '{person}', now() from made;
                 insert into planned_dose (visit_id, plant_id, label_use_id, measure, count, rate, amount, unit)
                    select visit, plant, '00000000-0000-7000-8000-000000000005', 1, 1, 3, 3, 'mL' from made",
                last = visits - 1
            ),
        )
        .await;
        let made =
            sqlx::query("select visit, plant from made order by n").fetch_all(&mut *conn).await.unwrap();
        run(conn, "drop table made").await;
        let secret = secret::fresh().unwrap();
        let (hash, now) = (secret::hash(&secret), Clock::system().now());
        db::session::insert(conn, &hash, person, TOKEN, "phone", now).await.unwrap();
        let done = made.iter().map(|row| done(row.get("visit"), row.get("plant"))).collect();
        all.push(Technician { cookie: format!("plantward={secret}"), done });
    }
    all
}

fn done(visit: Uuid, plant: Uuid) -> Value {
    json!({
        "id": Uuid::now_v7(), "visit": visit, "completed_at": Clock::system().now(),
        "plants": [{ "plant": plant, "label_use": "00000000-0000-7000-8000-000000000005", "did": "planned", "lot": "L-4471" }],
        "stop": { "started_at": "09:10:00", "finished_at": "09:40:00" },
        "site": { "soil": "moist" },
        "signature": { "name": "Technician", "at": Clock::system().now() },
    })
}
