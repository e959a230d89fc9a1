//! What it costs to compute every due day and every cap of a whole company anew, beside the plainest
//! SQL sum over the same applications: `cargo bench --bench recompute -- 1000000 10000000`.
//!
//! It starts a PostgreSQL of its own in a temporary folder (`PLANTWARD_BENCH_DIR` names a folder that
//! is kept and used again), fills it by `ground.sql`, and takes every figure in the same run:
//!
//! - *floor*: one GROUP BY over all applications, grams by parcel, ingredient and calendar year;
//! - *recompute*: every parcel's facts read, every due day and cap worked out, with all its words;
//! - *write*: the same, and every answer kept, as on the first night;
//! - *verify*: the same, compared with what is kept, as `plantward verify --due` does;
//! - *one change*: one application is entered, and its parcel alone is computed and kept.
//!
//! Sums and last applications are compared with plain SQL; a difference ends the run.

mod oracle;

use anyhow::{Context, ensure};
use plantward::{
    actions::{Doer, due},
    clock::Clock,
    db,
    private_postgres::{Durability, PrivatePostgres},
};
use sqlx::{AssertSqlSafe, Connection, PgConnection, PgPool, postgres::PgPoolOptions};
use std::{path::PathBuf, time::Instant};

/// The day on which everything is looked at.
const TODAY: &str = "2026-05-15";

fn main() -> anyhow::Result<()> {
    let sizes: Vec<u64> = std::env::args().filter_map(|text| text.parse().ok()).collect();
    let sizes = if sizes.is_empty() { vec![100_000, 1_000_000] } else { sizes };
    let temp = tempfile::tempdir()?;
    let folder = std::env::var_os("PLANTWARD_BENCH_DIR").map_or(temp.path().join("data"), PathBuf::from);
    // What a real home above a data folder allows: passing through.
    std::fs::set_permissions(temp.path(), std::os::unix::fs::PermissionsExt::from_mode(0o711))?;
    let server = PrivatePostgres::start(&folder, Durability::Tests)?;
    let runtime = tokio::runtime::Runtime::new()?;
    for size in sizes {
        runtime.block_on(measure(&server, size))?;
    }
    Ok(())
}

async fn ground(server: &PrivatePostgres, size: u64) -> anyhow::Result<PgPool> {
    let name = format!("ground_{size}");
    let mut admin = PgConnection::connect_with(&server.connect_options()).await?;
    let there: bool = sqlx::query_scalar("select exists (select 1 from pg_database where datname = $1)")
        .bind(&name)
        .fetch_one(&mut admin)
        .await?;
    if !there {
        sqlx::query(AssertSqlSafe(format!("create database {name}"))).execute(&mut admin).await?;
    }
    let pool = PgPoolOptions::new()
        .max_connections(8)
        .connect_with(server.connect_options().database(&name))
        .await?;
    if !there {
        db::migration::run(&pool).await?;
        let text = include_str!("ground.sql")
            .replace("@N@", &size.to_string())
            .replace("@PARCELS@", &(size / 250).to_string())
            .replace("@TODAY@", TODAY);
        let start = Instant::now();
        sqlx::raw_sql(AssertSqlSafe(text)).execute(&pool).await.context("ground.sql")?;
        sqlx::raw_sql("vacuum analyze").execute(&pool).await?;
        println!("{size}: made in {:.1} s", start.elapsed().as_secs_f64());
    }
    Ok(pool)
}

async fn measure(server: &PrivatePostgres, size: u64) -> anyhow::Result<()> {
    let pool = ground(server, size).await?;
    let noon = format!("{TODAY}T19:00:00Z").parse()?;
    let doer = Doer::program(&pool, &Clock::fixed(noon));
    // Twice: the first reads from the disk what the later ones find in memory.
    oracle::floor(&pool).await?;
    let floor = timed(oracle::floor(&pool)).await?;
    println!("{size}: floor, one GROUP BY            {floor:8.2} s");
    let seconds = timed(due::compute_all(&doer)).await?;
    println!("{size}: recompute                      {seconds:8.2} s = {:.2} x the floor", seconds / floor);
    sqlx::raw_sql("truncate due").execute(&pool).await?;
    let seconds = timed(due::recompute_all(&doer)).await?;
    println!("{size}: recompute and write all        {seconds:8.2} s = {:.2} x the floor", seconds / floor);
    sqlx::raw_sql("vacuum analyze due").execute(&pool).await?;
    let start = Instant::now();
    let compared = due::compare(&doer).await?;
    let seconds = start.elapsed().as_secs_f64();
    ensure!(compared.differences.is_empty(), "{:?}", &compared.differences[..1]);
    println!(
        "{size}: verify, {} plants        {seconds:8.2} s = {:.2} x the floor",
        compared.plants,
        seconds / floor
    );
    oracle::check(&pool, TODAY.parse()?).await?;
    one_change(&doer, size).await
}

async fn timed<T>(work: impl Future<Output = Result<T, impl Into<anyhow::Error>>>) -> anyhow::Result<f64> {
    let start = Instant::now();
    work.await.map_err(Into::into)?;
    Ok(start.elapsed().as_secs_f64())
}

/// One application more on each of some parcels, entered beforehand by somebody else; the parcel alone is computed
/// and kept. Entering passes by the triggers, and doing so throws away every statement that the connection has
/// planned: hence the other connection.
async fn one_change(doer: &Doer, size: u64) -> anyhow::Result<()> {
    let parcels = oracle::some_parcels(&doer.pool, 201).await?;
    let mut times = Vec::new();
    let mut aside = doer.pool.acquire().await?.detach();
    for (number, parcel) in (1..).zip(&parcels) {
        oracle::one_more(&mut aside, *parcel, TODAY.parse()?, -number).await?;
    }
    for parcel in parcels {
        let mut tx = doer.pool.begin().await?;
        let start = Instant::now();
        due::recompute_parcel(&mut tx, doer, parcel).await?;
        times.push(start.elapsed().as_secs_f64() * 1000.0);
        tx.rollback().await?;
    }
    oracle::none_more(&mut aside).await?;
    times.sort_by(f64::total_cmp);
    println!(
        "{size}: one change, its parcel alone   {:8.2} ms median, {:.2} ms at most in 95 of 100",
        times[times.len() / 2],
        times[times.len() * 95 / 100]
    );
    Ok(())
}
