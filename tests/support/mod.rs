//! What the test binaries share: one throw-away Postgres a binary, one fresh database a test.
use plantward::private_postgres::PrivatePostgres;
use sqlx::{Connection, PgConnection, PgPool, postgres::PgPoolOptions};
use std::sync::{
    OnceLock,
    atomic::{AtomicUsize, Ordering},
};

const TEMPLATE: &str = "migrated";

struct Server(PrivatePostgres);

static SERVER: OnceLock<Server> = OnceLock::new();
static COUNT: AtomicUsize = AtomicUsize::new(0);

/// Starts the server and migrates the template once, on a thread with a runtime of its own:
/// the tests' runtimes come and go.
fn server() -> &'static PrivatePostgres {
    let start = || {
        let server = PrivatePostgres::for_tests().expect("Postgres for the tests");
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("runtime");
        runtime.block_on(async {
            let mut admin = PgConnection::connect_with(&server.connect_options()).await.expect("connect");
            sqlx::query("create database migrated").execute(&mut admin).await.expect("template");
            let pool = PgPool::connect_with(server.connect_options().database(TEMPLATE)).await.expect("pool");
            plantward::db::migration::run(&pool).await.expect("migrations");
            plantward::db::role::set_up(&pool, true).await.expect("the service's role");
            pool.close().await;
        });
        Server(server)
    };
    &SERVER.get_or_init(|| std::thread::spawn(start).join().expect("the server's thread")).0
}

/// A fresh database with every migration in and nothing else.
pub async fn database() -> PgPool {
    let server = server();
    let name = format!("test_{}", COUNT.fetch_add(1, Ordering::SeqCst));
    let mut admin = PgConnection::connect_with(&server.connect_options()).await.expect("connect");
    let create = format!("create database {name} template {TEMPLATE} strategy wal_log");
    sqlx::query(sqlx::AssertSqlSafe(create)).execute(&mut admin).await.expect("database");
    PgPoolOptions::new()
        .max_connections(4)
        .connect_with(server.connect_options().database(&name))
        .await
        .expect("pool")
}

/// The same database as the service sees it: as the role that can change nothing that was recorded.
#[allow(dead_code)] // Some suites have no service.
pub async fn served(owner: &PgPool) -> PgPool {
    let options = owner.connect_options().as_ref().clone().username(plantward::db::role::NAME);
    PgPoolOptions::new().max_connections(4).connect_with(options).await.expect("pool of the service")
}
