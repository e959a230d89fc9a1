//! What it costs to bring a table of customers in, beside one COPY of finished rows into the same indexed table:
//! `cargo bench --bench import -- 100000 1000000`.
//!
//! It starts a PostgreSQL of its own in a temporary folder and takes every figure in the same run, three times in turn:
//!
//! - *floor*: COPY of rows that are finished, ids and all, into `customer` with all its indexes, committed;
//! - *check*: every line read, judged, faults kept, nothing written;
//! - *bring in*: the same again and the rows written, committed.
//!
//! One line in a thousand has a fault in a further round, whose report is counted.

use anyhow::ensure;
use plantward::{
    actions::{Doer, import},
    clock::Clock,
    db,
    domain::import::{Kind, guess},
    private_postgres::{Durability, PrivatePostgres},
};
use sqlx::{Connection, PgConnection, PgPool, postgres::PgPoolOptions};
use std::{fmt::Write, time::Instant};
use uuid::Uuid;

const ROUNDS: usize = 3;
const HEADS: &str = "number,name,email,phone,street,city,state,zip,note\n";

fn main() -> anyhow::Result<()> {
    let sizes: Vec<u32> = std::env::args().filter_map(|text| text.parse().ok()).collect();
    let sizes = if sizes.is_empty() { vec![100_000] } else { sizes };
    let temp = tempfile::tempdir()?;
    std::fs::set_permissions(temp.path(), std::os::unix::fs::PermissionsExt::from_mode(0o711))?;
    let server = PrivatePostgres::start(&temp.path().join("data"), Durability::Tests)?;
    let runtime = tokio::runtime::Runtime::new()?;
    for size in sizes {
        runtime.block_on(measure(&server, size))?;
    }
    Ok(())
}

async fn ground(server: &PrivatePostgres, name: &str) -> anyhow::Result<PgPool> {
    let mut admin = PgConnection::connect_with(&server.connect_options()).await?;
    sqlx::query(sqlx::AssertSqlSafe(format!("create database {name}"))).execute(&mut admin).await?;
    let pool =
        PgPoolOptions::new().max_connections(6).connect_with(server.connect_options().database(name)).await?;
    db::migration::run(&pool).await?;
    Ok(pool)
}

const NAMES: [&str; 12] = [
    "Farrant", "Quist", "Tarrant", "Osgood", "Dale", "Brandt", "Oakes", "Mercer", "Halden", "Linnet",
    "Caldera", "Vane",
];

/// The cells of a line, save its number.
fn line(n: u32) -> [String; 8] {
    let name = |step: u32| NAMES[usize::try_from((n / step) % 12).unwrap_or_default()];
    [
        format!("{} {} {n}", name(1), name(12)),
        format!("{}.{n}@customer.test", name(1).to_lowercase()),
        format!("805-555-{:04}", n % 10_000),
        format!("{} {} Lane", n % 9_000 + 1, name(144)),
        "Quillan Springs".to_owned(),
        "CA".to_owned(),
        "93499".to_owned(),
        String::new(),
    ]
}

fn table(size: u32, bad_each: u32) -> String {
    let mut text = String::from(HEADS);
    for n in 0..size {
        let mut cells = line(n);
        if bad_each > 0 && n % bad_each == 0 {
            "9".clone_into(&mut cells[6]);
        }
        let _ = writeln!(text, "K-{n},{}", cells.join(","));
    }
    text
}

async fn floor(pool: &PgPool, size: u32) -> anyhow::Result<f64> {
    let mut text = String::new();
    for n in 0..size {
        let id = Uuid::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0000 | u128::from(n));
        let _ = writeln!(text, "{id}\t{}\t2026-11-25T00:00:00Z", line(n).join("\t"));
    }
    let mut tx = pool.begin().await?;
    let start = Instant::now();
    let mut copy = tx
        .copy_in_raw(
            "copy customer (id, name, email, phone, street, city, state, zip, note, created_at) from stdin",
        )
        .await?;
    for piece in text.as_bytes().chunks(1 << 18) {
        copy.send(piece).await?;
    }
    copy.finish().await?;
    tx.commit().await?;
    Ok(start.elapsed().as_secs_f64())
}

/// Seconds of keeping the file, of the check and of bringing it in; how many lines had faults.
async fn brought(pool: &PgPool, text: &str) -> anyhow::Result<([f64; 3], i32)> {
    let person = Uuid::now_v7();
    sqlx::query(
        "insert into person (id, name, email, role, created_at) values ($1, 'P', $2, 'office', now())",
    )
    .bind(person)
    .bind(format!("{person}@x.test"))
    .execute(pool)
    .await?;
    let doer = Doer::program(pool, &Clock::system()).acting(person);
    let id = Uuid::now_v7();
    let start = Instant::now();
    let mut upload = import::Upload::begin(&doer, id, Kind::Customers, "bench.csv").await?;
    for piece in text.as_bytes().chunks(1 << 16) {
        upload.piece(piece).await?;
    }
    let found = upload.finish(&doer).await?;
    let kept = start.elapsed().as_secs_f64();
    import::name_columns(&doer, id, &guess(Kind::Customers, &found.heads)).await?;
    let start = Instant::now();
    ensure!(import::work_one(&doer).await?, "nothing waited");
    let checked = start.elapsed().as_secs_f64();
    let now =
        db::import::find(&mut *pool.acquire().await?, id).await?.ok_or_else(|| anyhow::anyhow!("gone"))?;
    ensure!(now.state == "checked", "{}: {}", now.state, now.words);
    if now.bad > 0 {
        return Ok(([kept, checked, 0.0], now.bad));
    }
    import::ask_for_rows(&doer, id).await?;
    let start = Instant::now();
    ensure!(import::work_one(&doer).await?, "nothing waited");
    let written = start.elapsed().as_secs_f64();
    let now =
        db::import::find(&mut *pool.acquire().await?, id).await?.ok_or_else(|| anyhow::anyhow!("gone"))?;
    ensure!(now.state == "done", "{}: {}", now.state, now.words);
    Ok(([kept, checked, written], 0))
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

async fn measure(server: &PrivatePostgres, size: u32) -> anyhow::Result<()> {
    let text = table(size, 0);
    let mut floors = vec![];
    let mut of = [vec![], vec![], vec![]];
    for round in 0..ROUNDS {
        let plain = ground(server, &format!("floor_{size}_{round}")).await?;
        floors.push(floor(&plain, size).await?);
        plain.close().await;
        let pool = ground(server, &format!("import_{size}_{round}")).await?;
        let (times, _) = brought(&pool, &text).await?;
        times.iter().zip(&mut of).for_each(|(time, all)| all.push(*time));
        let rows: i64 = sqlx::query_scalar("select count(*) from customer").fetch_one(&pool).await?;
        ensure!(rows == i64::from(size), "{rows} rows");
        pool.close().await;
    }
    let floor = median(floors);
    println!("{size}: floor, one COPY       {floor:8.2} s");
    let names = ["keep the file", "check", "bring in"];
    for (name, times) in names.iter().zip(of) {
        let time = median(times);
        println!("{size}: {name:<20} {time:8.2} s = {:.2} x the floor", time / floor);
    }
    let pool = ground(server, &format!("faults_{size}")).await?;
    let (times, bad) = brought(&pool, &table(size, 1000)).await?;
    println!("{size}: check, {bad} faults reported {:8.2} s = {:.2} x the floor", times[1], times[1] / floor);
    pool.close().await;
    Ok(())
}
