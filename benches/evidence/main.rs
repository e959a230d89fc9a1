//! What it costs to take records out and to check them, beside the plainest way to move the same bytes:
//! `cargo bench --bench evidence -- 100000 1000000`.
//!
//! It starts a PostgreSQL of its own, fills it with so many records that are linked as the program links them, and
//! takes every figure in the same run, the sides in turns, as medians:
//!
//! - *csv*: the application log as the service gives it, beside `COPY` of the same query to standard output; when
//!   the first byte comes, and how much the process grows;
//! - *workbook*: the same as a workbook, and the workbook's writer alone, beside a bare loop of the library's calls;
//! - *verify*: the chain checked beside `COPY` of the same columns with SHA-256 over the bytes;
//! - *paper*: a sheet of ten pages, and whether a thousand of them leave memory as it was.

mod ground;

use anyhow::{Context, ensure};
use axum::{body::Body, http::Request};
use clap::Parser;
use futures_util::TryStreamExt;
use http_body_util::BodyExt;
use plantward::{
    clock::Clock,
    config::{Command, CommandLine},
    db::{chain, report},
    domain::cell::Cell,
    output::table::{About, File, Format},
    private_postgres::{Durability, PrivatePostgres},
    web::{self, AppState, reports::cells},
};
use rust_xlsxwriter::Workbook;
use sha2::{Digest, Sha256};
use sqlx::PgPool;
use std::{sync::Arc, time::Instant};
use tower::ServiceExt;

const ROUNDS: usize = 3;
const LOG: &str = "from=2000-01-01&until=2099-12-31";
/// A workbook is measured on so many records at most.
const BOOK: usize = 100_000;

fn main() -> anyhow::Result<()> {
    let sizes: Vec<usize> = std::env::args().filter_map(|text| text.parse().ok()).collect();
    let sizes = if sizes.is_empty() { vec![100_000] } else { sizes };
    let temp = tempfile::tempdir()?;
    // What a real home above a data folder allows: passing through.
    std::fs::set_permissions(temp.path(), std::os::unix::fs::PermissionsExt::from_mode(0o711))?;
    let server = PrivatePostgres::start(&temp.path().join("data"), Durability::Tests)?;
    let runtime = tokio::runtime::Runtime::new()?;
    paper()?;
    for size in sizes {
        runtime.block_on(measure(&server, size))?;
    }
    Ok(())
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// Megabytes from a line of the process's status.
fn megabytes(line: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let found = status.lines().find_map(|l| l.strip_prefix(line));
    let kilobytes = found.and_then(|l| l.split_whitespace().next()?.parse::<f64>().ok());
    kilobytes.unwrap_or(f64::NAN) / 1024.0
}

/// How much the process grew at most while the work ran.
async fn grown<T>(work: impl Future<Output = anyhow::Result<T>>) -> anyhow::Result<(T, f64)> {
    std::fs::write("/proc/self/clear_refs", "5").context("cannot forget the peak of memory")?;
    let before = megabytes("VmRSS:");
    let done = work.await?;
    Ok((done, megabytes("VmHWM:") - before))
}

async fn measure(server: &PrivatePostgres, size: usize) -> anyhow::Result<()> {
    let (pool, cookie) = ground::lay(server, size).await?;
    println!("{size} records:");
    let line = CommandLine::try_parse_from(["plantward", "serve"])?;
    let Command::Serve(config) = line.command else { unreachable!("serve was asked for") };
    let state =
        AppState { pool: pool.clone(), clock: Clock::system(), config: Arc::new(config), travel: None };
    let app = web::app(state);
    csv(&app, &pool, &cookie).await?;
    if size <= BOOK {
        workbook(&app, &pool, &cookie).await?;
    }
    verify(&pool, size).await
}

/// A download: seconds to the first byte and to the last, and how many bytes.
async fn download(app: &axum::Router, path: &str, cookie: &str) -> anyhow::Result<(f64, f64, usize)> {
    let request = Request::get(path).header("cookie", cookie).body(Body::empty())?;
    let begun = Instant::now();
    let answer = app.clone().oneshot(request).await?;
    ensure!(answer.status().is_success(), "{}", answer.status());
    let (mut body, mut first, mut bytes) = (answer.into_body(), None, 0);
    while let Some(frame) = body.frame().await {
        first.get_or_insert(begun.elapsed().as_secs_f64());
        bytes += frame?.data_ref().map_or(0, bytes::Bytes::len);
    }
    Ok((first.unwrap_or_default(), begun.elapsed().as_secs_f64(), bytes))
}

/// Everything that `COPY` gives, and a use for each piece.
async fn copy(pool: &PgPool, query: &str, mut each: impl FnMut(&[u8])) -> anyhow::Result<f64> {
    let mut conn = pool.acquire().await?;
    let begun = Instant::now();
    let mut pieces = conn.copy_out_raw(query).await?;
    while let Some(piece) = pieces.try_next().await? {
        each(&piece);
    }
    Ok(begun.elapsed().as_secs_f64())
}

/// The log's own statement with its arguments written in.
fn log_statement() -> String {
    let arguments = ["'2000-01-01'::date", "'2099-12-31'::date", "''", "''", "null", "null", "null", "null"];
    let mut text = report::LINES.to_owned();
    for (number, argument) in (1..).zip(arguments) {
        text = text.replace(&format!("${number}"), argument);
    }
    text
}

async fn csv(app: &axum::Router, pool: &PgPool, cookie: &str) -> anyhow::Result<()> {
    let path = format!("/reports/log.csv?{LOG}");
    let statement = format!("copy ({}) to stdout with csv", log_statement());
    let (mut ours, mut floor, mut firsts, mut peak, mut bytes) = (vec![], vec![], vec![], 0.0_f64, 0);
    download(app, &path, cookie).await?;
    for _ in 0..ROUNDS {
        let mut copied = 0;
        floor.push(copy(pool, &statement, |piece| copied += piece.len()).await?);
        let ((first, all, count), more) = grown(download(app, &path, cookie)).await?;
        ours.push(all);
        firsts.push(first);
        peak = peak.max(more);
        bytes = count;
        ensure!(copied > 0 && count > 0, "nothing came");
    }
    let (ours, floor) = (median(ours), median(floor));
    println!(
        "  csv       {ours:.2} s, {:.1} MB; COPY of the same query {floor:.2} s; ratio {:.2}; first byte {:.1} ms; memory +{peak:.1} MB",
        bytes as f64 / 1e6,
        ours / floor,
        median(firsts) * 1000.0
    );
    Ok(())
}

fn about() -> About {
    About {
        title: "Application log".into(),
        company: "Bellwether Plant Care".into(),
        period: String::new(),
        prepared_by: "Tobias Fenn".into(),
        prepared_on: chrono::NaiveDate::default(),
        cautions: vec!["The label and local rules decide.".into()],
        columns: cells::COLUMNS.to_vec(),
        stem: "application-log".into(),
    }
}

/// The library's own calls and nothing else.
fn bare(rows: &[Vec<Cell>]) -> anyhow::Result<usize> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet_with_constant_memory()?;
    for (column, name) in (0..).zip(cells::COLUMNS) {
        sheet.write_string(0, column, name)?;
    }
    let day = rust_xlsxwriter::Format::new().set_num_format("yyyy-mm-dd");
    for (row, cells) in (1..).zip(rows) {
        for (column, cell) in (0..).zip(cells) {
            match cell {
                Cell::Empty => {}
                Cell::Text(words) => {
                    sheet.write_string(row, column, words)?;
                }
                Cell::Number(digits) => {
                    sheet.write_number(row, column, digits.parse::<f64>()?)?;
                }
                Cell::Day(on) => {
                    sheet.write_datetime_with_format(row, column, on, &day)?;
                }
            }
        }
    }
    Ok(book.save_to_buffer()?.len())
}

async fn workbook(app: &axum::Router, pool: &PgPool, cookie: &str) -> anyhow::Result<()> {
    let filter = report::Filter {
        from: "2000-01-01".parse()?,
        until: "2099-12-31".parse()?,
        state: String::new(),
        county: String::new(),
    };
    let lines = report::lines(&mut *pool.acquire().await?, &filter, None, None).await?;
    let rows: Vec<Vec<Cell>> = {
        let mut cells = cells::Rows::default();
        lines.into_iter().map(|line| cells.row(line)).collect()
    };
    let (mut service, mut writer, mut floor, mut peak) = (vec![], vec![], vec![], 0.0_f64);
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        ensure!(bare(&rows)? > 0, "nothing was written");
        floor.push(begun.elapsed().as_secs_f64());
        let copies = rows.clone();
        let begun = Instant::now();
        let mut file = File::begin(Format::Xlsx, about(), vec![])?;
        copies.into_iter().try_for_each(|row| file.row(row))?;
        ensure!(!file.end()?.is_empty(), "nothing was written");
        writer.push(begun.elapsed().as_secs_f64());
        let path = format!("/reports/log.xlsx?{LOG}");
        let ((_, all, _), more) = grown(download(app, &path, cookie)).await?;
        service.push(all);
        peak = peak.max(more);
    }
    let (service, writer, floor) = (median(service), median(writer), median(floor));
    println!(
        "  workbook  {service:.2} s through the service, {writer:.2} s its writer alone; a bare loop {floor:.2} s; \
         ratios {:.2} and {:.2}; memory +{peak:.1} MB",
        service / floor,
        writer / floor
    );
    Ok(())
}

async fn verify(pool: &PgPool, size: usize) -> anyhow::Result<()> {
    let (mut ours, mut floor) = (vec![], vec![]);
    for _ in 0..ROUNDS {
        let mut digest = Sha256::new();
        let mut all = copy(pool, "copy application_record to stdout", |piece| digest.update(piece)).await?;
        all += copy(pool, "copy application_item to stdout", |piece| digest.update(piece)).await?;
        ensure!(digest.finalize()[..] != [0; 32][..], "a digest of nothing");
        floor.push(all);
        let begun = Instant::now();
        let walked = chain::verify(pool, None).await?;
        ours.push(begun.elapsed().as_secs_f64());
        ensure!(walked.faults.is_empty() && walked.rows == size as u64, "{walked:?}");
    }
    let (ours, floor) = (median(ours), median(floor));
    println!("  verify    {ours:.2} s; COPY and SHA-256 {floor:.2} s; ratio {:.2}", ours / floor);
    Ok(())
}

fn paper() -> anyhow::Result<()> {
    let row: Vec<Cell> = (0..cells::COLUMNS.len())
        .map(|n| {
            if n % 3 == 0 { Cell::Number(format!("{n}.5")) } else { Cell::text(format!("words of cell {n}")) }
        })
        .collect();
    let write = |rows: usize| -> anyhow::Result<Vec<u8>> {
        let mut file = File::begin(Format::Pdf, about(), vec![])?;
        (0..rows).try_for_each(|_| file.row(row.clone()))?;
        file.end()
    };
    let pages =
        |bytes: &[u8]| -> anyhow::Result<usize> { Ok(lopdf::Document::load_mem(bytes)?.get_pages().len()) };
    let mut rows = 10;
    while pages(&write(rows)?)? < 10 {
        rows += 2;
    }
    let mut times = vec![];
    let mut memory = vec![];
    for round in 0..1_000 {
        let begun = Instant::now();
        ensure!(write(rows)?.len() > 1_000, "nothing was written");
        times.push(begun.elapsed().as_secs_f64() * 1000.0);
        if round % 100 == 99 {
            memory.push(megabytes("VmRSS:"));
        }
    }
    println!(
        "paper       {:.1} ms for 10 pages of {rows} rows; memory after 100 sheets {:.1} MB, after 1,000 {:.1} MB",
        median(times),
        memory[0],
        memory[memory.len() - 1]
    );
    Ok(())
}
