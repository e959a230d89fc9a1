//! What saving one completion from the field costs beside its statements alone: `cargo bench --bench field`.
//!
//! The same completions go through the whole service (session, JSON, rules, one transaction each) on one copy
//! of a database, and the statements that they led to, with the same values, through pgbench on another. Both
//! use prepared statements, one connection and a server that flushes every commit. Rounds take turns; the
//! ratio is that of the medians. Needs pgbench (Debian: postgresql-contrib or postgresql).

#[path = "../tests/faults/field/company.rs"]
mod company;

use axum::{Router, body::Body, http::Request};
use clap::Parser;
use http_body_util::BodyExt;
use plantward::{
    clock::Clock,
    config::{Command, CommandLine},
    private_postgres::{Durability, PrivatePostgres},
    web::{self, AppState},
};
use serde_json::json;
use sqlx::{AssertSqlSafe, Connection, PgConnection, PgPool, postgres::PgPoolOptions};
use std::{collections::HashMap, fmt::Write as _, path::Path, sync::Arc, time::Instant};
use tower::ServiceExt;

const COMPLETIONS: usize = 200;
const ROUNDS: usize = 5;

struct Bench {
    server: PrivatePostgres,
    technician: company::Technician,
}

impl Bench {
    async fn admin(&self) -> PgConnection {
        PgConnection::connect_with(&self.server.connect_options()).await.unwrap()
    }

    async fn copy(&self, name: &str) {
        let mut admin = self.admin().await;
        company::run(&mut admin, &format!("create database {name} template field_base")).await;
        admin.close().await.unwrap();
    }

    async fn pool(&self, name: &str) -> PgPool {
        let options = self.server.connect_options().database(name);
        PgPoolOptions::new().max_connections(1).connect_with(options).await.unwrap()
    }

    /// All completions through the service; seconds.
    async fn save_all(&self, pool: &PgPool) -> f64 {
        let line = CommandLine::try_parse_from(["plantward", "serve"]).unwrap();
        let Command::Serve(config) = line.command else { unreachable!("serve was asked for") };
        let state =
            AppState { pool: pool.clone(), clock: Clock::system(), config: Arc::new(config), travel: None };
        let app: Router = web::app(state);
        let begun = Instant::now();
        for (number, done) in self.technician.done.iter().enumerate() {
            let items = json!([{ "key": format!("key-{number}"), "completion": done }]);
            let body = json!({ "sent_at": Clock::system().now(), "items": items }).to_string();
            let request = Request::post("/api/completions")
                .header("host", "plants.test")
                .header("cookie", &self.technician.cookie)
                .header("x-plantward-token", company::TOKEN)
                .header("content-type", "application/json")
                .body(Body::from(body))
                .unwrap();
            let answer = app.clone().oneshot(request).await.unwrap();
            let status = answer.status();
            let said = answer.into_body().collect().await.unwrap().to_bytes();
            assert!(status.is_success(), "{}", String::from_utf8_lossy(&said));
        }
        begun.elapsed().as_secs_f64()
    }
}

/// The values of a statement as the log gives them, each a literal.
fn parameters(detail: &str) -> Vec<String> {
    let mut rest = detail.trim_start_matches("parameters: ");
    let mut values = vec![];
    while let Some(at) = rest.find(" = ") {
        rest = &rest[at + 3..];
        if rest.starts_with("NULL") {
            values.push("NULL".to_owned());
            rest = &rest[4..];
            continue;
        }
        let mut end = 1;
        let bytes = rest.as_bytes();
        while !(bytes[end] == b'\'' && bytes.get(end + 1) != Some(&b'\'')) {
            end += if bytes[end] == b'\'' { 2 } else { 1 };
        }
        values.push(rest[..=end].to_owned());
        rest = &rest[end + 1..];
    }
    values
}

/// Entries of the server's log: kind and text.
fn entries(log: &str) -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = vec![];
    for line in log.lines() {
        if let Some(more) = line.strip_prefix('\t') {
            if let Some((_, text)) = found.last_mut() {
                text.push('\n');
                text.push_str(more);
            }
            continue;
        }
        let after = line.split_once("] ").map_or("", |(_, rest)| rest);
        if let Some((kind, text)) = after.split_once(":  ") {
            found.push((kind.to_owned(), text.to_owned()));
        }
    }
    found
}

/// What was executed, as a script for pgbench.
fn script(log: &str, types: &HashMap<String, String>) -> (String, usize) {
    let (mut prepared, mut body) = (String::new(), String::new());
    let mut names: HashMap<String, String> = HashMap::new();
    let mut count = 0;
    let entries = entries(log);
    for (position, (kind, text)) in entries.iter().enumerate() {
        if kind != "LOG" {
            continue;
        }
        if let Some(plain) = text.strip_prefix("statement: ") {
            let _ = writeln!(body, "{plain};");
            count += 1;
        } else if let Some((_, statement)) = text.strip_prefix("execute ").and_then(|t| t.split_once(": ")) {
            let next =
                entries.get(position + 1).filter(|(k, t)| k == "DETAIL" && t.starts_with("parameters: "));
            let values = next.map(|(_, detail)| parameters(detail)).unwrap_or_default();
            let fresh = format!("p{}", names.len());
            let name = names.entry(statement.to_owned()).or_insert_with(|| {
                let of = types.get(statement).map_or("", String::as_str);
                let of = of.trim_matches(['{', '}']).replace('"', "");
                let of = if of.is_empty() { of } else { format!("({of})") };
                let _ = writeln!(prepared, "prepare {fresh}{of} as {statement};");
                fresh
            });
            let values = if values.is_empty() { String::new() } else { format!("({})", values.join(", ")) };
            let _ = writeln!(body, "execute {name}{values};");
            count += 1;
        }
    }
    (prepared + &body, count)
}

/// Seconds that pgbench needs for the script.
fn pgbench(bench: &Bench, name: &str, file: &Path) -> f64 {
    let options = bench.server.connect_options();
    let host = options.get_socket().map_or_else(|| options.get_host().into(), |p| p.display().to_string());
    let output = std::process::Command::new("pgbench")
        .args(["-n", "-c", "1", "-t", "1", "-h", &host, "-p", &options.get_port().to_string()])
        .args(["-U", options.get_username(), "-f"])
        .arg(file)
        .arg(name)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let milliseconds = said
        .lines()
        .find_map(|l| l.strip_prefix("latency average = ")?.split(' ').next()?.parse::<f64>().ok());
    milliseconds.unwrap_or_else(|| panic!("{said}{}", String::from_utf8_lossy(&output.stderr))) / 1000.0
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

async fn records(bench: &Bench, name: &str) -> i64 {
    let pool = bench.pool(name).await;
    let count = sqlx::query_scalar("select count(*) from application_record").fetch_one(&pool).await.unwrap();
    pool.close().await;
    count
}

/// The statements of all completions, taken from the server's log on a copy of their own.
async fn captured(bench: &Bench, log: &Path) -> (String, usize) {
    bench.copy("field_log").await;
    let mut admin = bench.admin().await;
    for setting in ["log_statement = 'all'", "log_error_verbosity = 'default'"] {
        let statement = format!("alter database field_log set {setting}");
        sqlx::query(AssertSqlSafe(statement)).execute(&mut admin).await.unwrap();
    }
    let pool = bench.pool("field_log").await;
    let before = std::fs::read_to_string(log).unwrap().len();
    bench.save_all(&pool).await;
    let text = std::fs::read_to_string(log).unwrap()[before..].to_owned();
    let types: Vec<(String, String)> =
        sqlx::query_as("select statement, parameter_types::text from pg_prepared_statements")
            .fetch_all(&pool)
            .await
            .unwrap();
    pool.close().await;
    script(&text, &types.into_iter().collect())
}

async fn run() {
    let folder = tempfile::tempdir().unwrap();
    let open = std::os::unix::fs::PermissionsExt::from_mode(0o711);
    std::fs::set_permissions(folder.path(), open).unwrap();
    let data = folder.path().join("data");
    let log = data.join("postgres.log");
    let server =
        tokio::task::spawn_blocking(move || PrivatePostgres::start(&data, Durability::Full)).await.unwrap();
    let nobody = company::Technician { cookie: String::new(), done: vec![] };
    let mut bench = Bench { server: server.unwrap(), technician: nobody };
    let mut admin = bench.admin().await;
    company::run(&mut admin, "create database field_base").await;
    let pool = bench.pool("field_base").await;
    plantward::db::migration::run(&pool).await.unwrap();
    let mut conn = pool.acquire().await.unwrap();
    company::found(&mut conn).await;
    bench.technician = company::staff(&mut conn, 1, COMPLETIONS).await.remove(0);
    company::run(&mut conn, "analyze").await;
    drop(conn);
    pool.close().await;
    let (text, statements) = captured(&bench, &log).await;
    let file = folder.path().join("statements.sql");
    std::fs::write(&file, text).unwrap();
    let (mut ours, mut floor) = (vec![], vec![]);
    for round in 0..ROUNDS {
        let (a, b) = (format!("field_a{round}"), format!("field_b{round}"));
        bench.copy(&a).await;
        let pool = bench.pool(&a).await;
        ours.push(bench.save_all(&pool).await);
        pool.close().await;
        bench.copy(&b).await;
        floor.push(pgbench(&bench, &b, &file));
        let wanted = i64::try_from(COMPLETIONS).unwrap();
        assert_eq!((records(&bench, &a).await, records(&bench, &b).await), (wanted, wanted));
    }
    let per = |seconds: f64| seconds * 1000.0 / COMPLETIONS as f64;
    let (ours, floor) = (median(ours), median(floor));
    println!(
        "{COMPLETIONS} completions, {:.1} statements each, median of {ROUNDS} rounds",
        statements as f64 / COMPLETIONS as f64
    );
    println!("service  {:.2} ms each, {:.0} a second", per(ours), 1000.0 / per(ours));
    println!("pgbench  {:.2} ms each, {:.0} a second", per(floor), 1000.0 / per(floor));
    println!("ratio    {:.2} of pgbench's rate", floor / ours);
    tokio::task::spawn_blocking(move || bench.server.stop()).await.unwrap();
}

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(run());
}
