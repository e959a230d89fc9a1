//! A dump brought back on another server: the same counts, sums and head, and the company works on.
use crate::database::database;
use plantward::{
    actions::{Doer, evidence},
    clock::Clock,
    db::{audit, chain, migration, record, role},
    demo,
    private_postgres::PrivatePostgres,
};
use sqlx::{AssertSqlSafe, Connection, PgConnection, PgPool, postgres::PgConnectOptions};
use std::process::Command;

/// A PostgreSQL program on that database.
fn program(name: &str, at: &PgConnectOptions) -> Command {
    let beside = std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten();
    let found =
        beside.map(|version| version.path().join("bin").join(name)).filter(|path| path.exists()).max();
    let mut command = Command::new(found.unwrap_or_else(|| name.into()));
    command
        .arg("--host")
        .arg(at.get_socket().expect("a socket"))
        .args(["--port", &at.get_port().to_string()]);
    command.args(["--username", at.get_username(), "--dbname", at.get_database().unwrap()]);
    command
}

/// Count and digest of every table, and what was applied by unit.
async fn told(pool: &PgPool) -> Vec<String> {
    let tables: Vec<String> = sqlx::query_scalar(
        "select table_name::text from information_schema.tables where table_schema = 'public'
            and table_type = 'BASE TABLE' order by 1",
    )
    .fetch_all(pool)
    .await
    .unwrap();
    let mut all = vec![];
    for table in tables {
        let text = format!(
            "select '{table} ' || count(*) || ' ' || coalesce(md5(string_agg(t::text, ';' order by t::text)), '') from {table} t"
        );
        all.push(sqlx::query_scalar(AssertSqlSafe(text)).fetch_one(pool).await.unwrap());
    }
    let sums: Vec<String> = sqlx::query_scalar(
        "select unit || ' ' || sum(amount) from application_item group by unit order by unit",
    )
    .fetch_all(pool)
    .await
    .unwrap();
    all.extend(sums);
    all
}

#[tokio::test]
async fn a_restored_company_is_the_same_to_the_last_hash_and_works_on() {
    let first = database().await;
    demo::fill(&first, "2026-11-25".parse().unwrap()).await.unwrap();
    let clock = Clock::fixed("2026-11-25T20:00:00Z".parse().unwrap());
    let id = evidence::take_head(&Doer::program(&first, &clock)).await.unwrap();
    evidence::link_audit(&Doer::program(&first, &clock)).await.unwrap();
    let head = evidence::head(&mut first.acquire().await.unwrap(), id).await.unwrap();
    assert!(head.records.size > 200 && head.audit.size > 300, "{} {}", head.records.size, head.audit.size);

    let file = tempfile::NamedTempFile::new().unwrap();
    let dump = program("pg_dump", &first.connect_options())
        .args(["--format", "custom", "--file"])
        .arg(file.path())
        .output()
        .unwrap();
    assert!(dump.status.success(), "{}", String::from_utf8_lossy(&dump.stderr));
    let server = PrivatePostgres::for_tests().unwrap();
    let mut admin = PgConnection::connect_with(&server.connect_options()).await.unwrap();
    sqlx::query("create database restored").execute(&mut admin).await.unwrap();
    let options = server.connect_options().database("restored");
    let restore = program("pg_restore", &options)
        .args(["--no-owner", "--no-privileges", "--exit-on-error"])
        .arg(file.path())
        .output()
        .unwrap();
    assert!(restore.status.success(), "{}", String::from_utf8_lossy(&restore.stderr));

    let second = PgPool::connect_with(options).await.unwrap();
    let (told_first, told_second) = (told(&first).await, told(&second).await);
    assert_eq!(told_first, told_second);
    println!(
        "restored elsewhere: {} counts with digests and sums are equal, {} records and {} audit rows up to the head",
        told_first.len(),
        head.records.size,
        head.audit.size
    );
    assert_eq!(migration::faults(&second).await.unwrap(), Vec::<String>::new());
    let records = chain::verify(&second, Some(&head.records)).await.unwrap();
    assert_eq!((records.rows, records.faults), (head.records.size, vec![]));
    assert_eq!(audit::verify(&second, Some(&head.audit)).await.unwrap().faults, Vec::<String>::new());

    // The service's role is made there, and the lists go on where they were.
    assert_eq!(role::set_up(&second, true).await.unwrap(), role::Standing::Confined);
    let served =
        PgPool::connect_with(second.connect_options().as_ref().clone().username(role::NAME)).await.unwrap();
    let mut conn = served.acquire().await.unwrap();
    let some: uuid::Uuid =
        sqlx::query_scalar("select id from application_record limit 1").fetch_one(&mut *conn).await.unwrap();
    let mut more = record::newest(&mut conn, some).await.unwrap().unwrap();
    (more.head.id, more.head.version, more.head.amend_reason) = (uuid::Uuid::now_v7(), 1, String::new());
    record::insert(&mut conn, &more).await.unwrap();
    drop(conn);
    evidence::take_head(&Doer::program(&served, &clock)).await.unwrap();
    let records = chain::verify(&second, Some(&head.records)).await.unwrap();
    assert_eq!((records.rows, records.faults), (head.records.size + 1, vec![]));
    assert_eq!(audit::verify(&second, Some(&head.audit)).await.unwrap().faults, Vec::<String>::new());
    for pool in [served, second] {
        pool.close().await;
    }
}
