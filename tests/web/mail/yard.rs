//! A yard whose plants were treated a while ago, a customer with an address, and a company that reminds.
use crate::{
    support::{Visitor, World},
    yard::Yard,
};
use chrono::NaiveDate;
use clap::Parser;
use plantward::{
    actions::message::{self, Delivery},
    config::MailConfig,
    mail::Mailer,
};
use uuid::Uuid;

pub struct Mailed {
    pub world: World,
    pub owner: Visitor,
    pub office: Visitor,
    pub yard: Yard,
    pub customer: Uuid,
}

/// The way to a server on this machine, with these settings besides.
pub fn mailer(port: u16, more: &[&str]) -> Mailer {
    #[derive(Parser)]
    struct Line {
        #[command(flatten)]
        mail: MailConfig,
    }
    let port = port.to_string();
    let mut arguments = vec!["x", "--smtp-host", "localhost", "--smtp-port", &port];
    arguments.extend(["--mail-from", "office@bellwether.test"]);
    if !more.contains(&"--smtp-tls") {
        arguments.extend(["--smtp-tls", "none"]);
    }
    arguments.extend(more);
    let line = Line::try_parse_from(arguments).unwrap();
    Mailer::new(&line.mail).unwrap().unwrap()
}

impl Mailed {
    pub async fn new() -> Self {
        let world = World::new().await;
        let owner = world.owner().await;
        let office = world.office().await;
        let yard = Yard::new(&world, &owner).await;
        let customer: Uuid =
            sqlx::query_scalar("update customer set email = 'odile@farrant.test' returning id")
                .fetch_one(&world.pool)
                .await
                .unwrap();
        let mailed = Self { world, owner, office, yard, customer };
        mailed.dates("45, 21, 7", "14").await;
        mailed
    }

    /// Sets the company's dates and lets reminders go out.
    pub async fn dates(&self, before: &str, after: &str) {
        let fields = [
            ("running", "yes"),
            ("days_before", before),
            ("days_after", after),
            ("quiet_weekdays", "6"),
            ("quiet_weekdays", "7"),
            ("quiet_dates", "2026-12-24"),
            ("link_days", "90"),
        ];
        self.owner.post("/reminders/terms", &fields).await.went_to("/reminders");
    }

    /// A hedge that was drenched on this day and is protected for a year.
    pub async fn treated(&self, place: &str, on: &str) -> Uuid {
        let plant = self.yard.hedge(&self.world, place, 2).await;
        treat(&self.world, &self.yard, plant, on.parse().unwrap()).await;
        plant
    }

    /// A site of another customer.
    pub async fn another_site(&self) -> Uuid {
        sqlx::query_scalar(
            "with c as (insert into customer (id, name, created_at) values (gen_random_uuid(), 'Ida Marrow', now()) returning id),
                p as (insert into parcel (id) values (gen_random_uuid()) returning id)
             insert into site (id, customer_id, parcel_id, street, city, state, zip, county, created_at)
             select gen_random_uuid(), c.id, p.id, '9 Elm', 'Quillan Springs', 'CA', '93499', 'San Luis Obispo', now()
             from c, p returning id",
        )
        .fetch_one(&self.world.pool)
        .await
        .unwrap()
    }

    pub async fn text(&self, sql: &'static str) -> String {
        sqlx::query_scalar(sql).fetch_one(&self.world.pool).await.unwrap()
    }

    pub async fn count(&self, sql: &'static str) -> i64 {
        sqlx::query_scalar(sql).fetch_one(&self.world.pool).await.unwrap()
    }

    /// Hands everything to the server whose time has come.
    pub async fn deliver(&self, mailer: &Mailer) -> Vec<Delivery> {
        let mut all = vec![];
        loop {
            match message::deliver_one(&self.world.doer(), mailer).await.unwrap() {
                Delivery::Nothing => return all,
                other => all.push(other),
            }
        }
    }
}

/// Records a treatment of the plant on that day, as the office enters what was done before.
pub async fn treat(world: &World, yard: &Yard, plant: Uuid, on: NaiveDate) {
    let owner: Uuid = sqlx::query_scalar("select id from person where role = 'owner'")
        .fetch_one(&world.pool)
        .await
        .unwrap();
    let record = Uuid::now_v7();
    sqlx::query(
        "insert into application_record (id, version, seq, site_id, parcel_id, origin, applied_on, customer_name,
            customer_address, site_address, site_state, site_county, applicator_name, recorded_by, recorded_at, body,
            previous_hash, hash)
         select $1, 1, coalesce((select max(seq) from application_record), 0) + 1, $2, $3, 'own', $4, 'Odile Farrant',
            '', '14 Tamber Lane', 'CA', 'San Luis Obispo', 'Ines Okoro', $5, now(), '', '', ''",
    )
    .bind(record)
    .bind(yard.site)
    .bind(yard.parcel)
    .bind(on)
    .bind(owner)
    .execute(&world.pool)
    .await
    .unwrap();
    sqlx::query(
        "insert into application_item (record_id, version, position, plant_id, plant_words, host_plant, target_pest,
            product_id, label_version_id, label_use_id, product_name, registration_number, method, measure,
            measure_basis, count, rate, amount, unit)
         select $1, 1, 1, p.id, p.place, p.host_plant, p.target_pest, p.product_id, u.label_version_id, u.id,
            'Rootward 2F', '99999-12', u.method, 8, 'height-ft', 1, 3, 24, 'mL'
         from plant p join label_use u on u.id = $3 where p.id = $2",
    )
    .bind(record)
    .bind(plant)
    .bind(yard.label_use)
    .execute(&world.pool)
    .await
    .unwrap();
    let mut tx = world.pool.begin().await.unwrap();
    plantward::actions::due::recompute_parcel(&mut tx, &world.doer(), yard.parcel).await.unwrap();
    tx.commit().await.unwrap();
}
