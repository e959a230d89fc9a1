//! A company with so many records, each linked to the one before as the program does it.
use anyhow::Context;
use chrono::{Days, NaiveDate};
use plantward::{
    actions::secret,
    clock::Clock,
    db::{
        self,
        record::{Head, Item, Version, body},
    },
    domain::chain::{hex, preimage},
    private_postgres::PrivatePostgres,
};
use sha2::{Digest, Sha256};
use sqlx::{AssertSqlSafe, Connection, PgConnection, PgPool, postgres::PgPoolOptions};
use std::fmt::Write;
use uuid::Uuid;

#[path = "../../tests/faults/field/company.rs"]
#[allow(dead_code)]
mod company;

const OWNER: u128 = 1;
/// Rows that are sent at once.
const PIECE: usize = 5_000;

fn known(n: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0000 + n)
}

/// The pool and the cookie of somebody who is signed in.
pub async fn lay(server: &PrivatePostgres, size: usize) -> anyhow::Result<(PgPool, String)> {
    let name = format!("ground_{size}");
    let mut admin = PgConnection::connect_with(&server.connect_options()).await?;
    sqlx::query(AssertSqlSafe(format!("create database {name}"))).execute(&mut admin).await?;
    let options = server.connect_options().database(&name);
    let pool = PgPoolOptions::new().max_connections(8).connect_with(options).await?;
    db::migration::run(&pool).await?;
    let mut conn = pool.acquire().await?;
    company::found(&mut conn).await;
    let (site, parcel) = (Uuid::now_v7(), Uuid::now_v7());
    company::run(
        &mut conn,
        &format!(
            "insert into parcel (id) values ('{parcel}');
             insert into site (id, customer_id, parcel_id, street, city, state, zip, county, created_at) values
                ('{site}', '{}', '{parcel}', 'Tamber Lane', 'Quillan Springs', 'CA', '93499', 'San Luis Obispo', now())",
            known(2)
        ),
    )
    .await;
    let (mut last, mut seq) = (vec![0; 32], 0);
    while seq < size {
        let (mut heads, mut items) = (String::new(), String::new());
        for _ in 0..PIECE.min(size - seq) {
            seq += 1;
            last = add(&mut heads, &mut items, seq, &last, site, parcel)?;
        }
        send(&mut conn, RECORD, heads).await?;
        send(&mut conn, ITEM, items).await?;
    }
    sqlx::raw_sql("vacuum analyze").execute(&mut *conn).await?;
    let fresh = secret::fresh()?;
    let (hash, now) = (secret::hash(&fresh), Clock::system().now());
    db::session::insert(&mut conn, &hash, known(OWNER), "token", "bench", now).await?;
    drop(conn);
    Ok((pool, format!("plantward={fresh}")))
}

const RECORD: &str = "copy application_record (id, version, seq, site_id, parcel_id, origin, applied_on, started_at,
    finished_at, customer_name, customer_address, site_address, site_state, site_county, applicator_id,
    applicator_name, applicator_certification, wind_direction, wind_mph, temperature_f, recorded_by, recorded_at,
    body, previous_hash, hash) from stdin with csv";
const ITEM: &str = "copy application_item (record_id, version, position, plant_words, host_plant, target_pest,
    product_id, label_version_id, label_use_id, product_name, registration_number, method, measure, measure_basis,
    count, rate, amount, unit, water, water_unit) from stdin with csv";

async fn send(conn: &mut PgConnection, statement: &'static str, text: String) -> anyhow::Result<()> {
    let mut copy = conn.copy_in_raw(statement).await?;
    copy.send(text.into_bytes()).await?;
    copy.finish().await?;
    Ok(())
}

/// Adds a record's rows to the text; its hash.
fn add(
    heads: &mut String,
    items: &mut String,
    seq: usize,
    last: &[u8],
    site: Uuid,
    parcel: Uuid,
) -> anyhow::Result<Vec<u8>> {
    let start: NaiveDate = "2015-01-01".parse()?;
    let on = start.checked_add_days(Days::new(seq as u64 % 4_000)).context("a day")?;
    let version = version(seq, on, site, parcel)?;
    let text = body(&version);
    let hash = Sha256::digest(preimage(last, i64::try_from(seq)?, &text)).to_vec();
    let h = &version.head;
    writeln!(
        heads,
        "{},1,{seq},{site},{parcel},own,{on},09:30:00,10:15:00,{},\"{}\",\"{}\",CA,{},{},{},{},NW,4.5,61,{},{},\"{}\",\\x{},\\x{}",
        h.id,
        h.customer_name,
        h.customer_address,
        h.site_address,
        h.site_county,
        known(OWNER),
        h.applicator_name,
        h.applicator_certification,
        known(OWNER),
        h.recorded_at.to_rfc3339(),
        text.replace('"', "\"\""),
        hex(last),
        hex(&hash)
    )?;
    let i = &version.items[0];
    writeln!(
        items,
        "{},1,1,{},{},{},{},{},{},{},{},{},6,height-ft,3,3,54,mL,1.5,gal",
        h.id,
        i.plant_words,
        i.host_plant,
        i.target_pest,
        i.product_id,
        i.label_version_id,
        known(5),
        i.product_name,
        i.registration_number,
        i.method
    )?;
    Ok(hash)
}

fn version(seq: usize, on: NaiveDate, site: Uuid, parcel: Uuid) -> anyhow::Result<Version> {
    let head = Head {
        id: Uuid::now_v7(),
        version: 1,
        visit_id: None,
        site_id: site,
        parcel_id: parcel,
        origin: "own".into(),
        withdrawn: false,
        applied_on: on,
        started_at: "09:30:00".parse().ok(),
        finished_at: "10:15:00".parse().ok(),
        customer_name: format!("Customer {}", seq % 5_000),
        customer_address: format!("{} Tamber Lane, Quillan Springs, CA 93499", seq % 5_000),
        site_address: format!("{} Tamber Lane, Quillan Springs, CA 93499", seq % 5_000),
        site_state: "CA".into(),
        site_county: "San Luis Obispo".into(),
        applicator_id: Some(known(OWNER)),
        applicator_name: "Ines Okoro".into(),
        applicator_certification: "QA-00017".into(),
        supervisor_id: None,
        supervisor_name: String::new(),
        supervisor_certification: String::new(),
        wind_direction: "NW".into(),
        wind_mph: "4.5".parse().ok(),
        temperature_f: "61".parse().ok(),
        area_treated_sqft: None,
        note: String::new(),
        recorded_by: known(OWNER),
        recorded_at: "2026-10-05T18:00:00Z".parse()?,
        amend_reason: String::new(),
        conditions: None,
    };
    let item = Item {
        position: 1,
        plant_id: None,
        plant_words: "front hedge".into(),
        host_plant: "podocarpus".into(),
        target_pest: "aphids".into(),
        product_id: known(3),
        label_version_id: known(4),
        label_use_id: Some(known(5)),
        product_name: "Rootward 2F".into(),
        registration_number: "99999-12".into(),
        method: "basal-drench".into(),
        measure: "6".parse().ok(),
        measure_basis: "height-ft".into(),
        count: 3,
        rate: "3".parse().ok(),
        amount: "54".parse()?,
        unit: "mL".into(),
        water: "1.5".parse().ok(),
        water_unit: Some("gal".into()),
        lot: String::new(),
    };
    Ok(Version { head, items: vec![item] })
}
