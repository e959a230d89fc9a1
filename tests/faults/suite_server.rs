//! The server that test suites use: quick, empty, and gone with its suite.

use plantward::private_postgres::PrivatePostgres;
use sqlx::{Connection, PgConnection};

async fn start() -> PrivatePostgres {
    // The thread that starts it ends before the server does, which must not stop it.
    tokio::task::spawn_blocking(PrivatePostgres::for_tests).await.unwrap().unwrap()
}

async fn connect(server: &PrivatePostgres) -> PgConnection {
    PgConnection::connect_with(&server.connect_options()).await.unwrap()
}

#[tokio::test]
async fn suites_at_the_same_time_have_a_server_each_and_it_starts_empty() {
    let (first, second) = (start().await, start().await);
    let mut one = connect(&first).await;
    sqlx::query("create table mark (id int)").execute(&mut one).await.unwrap();
    assert!(!has_mark(&second).await);
    let fsync: String = sqlx::query_scalar("show fsync").fetch_one(&mut one).await.unwrap();
    assert_eq!(fsync, "off");
    drop(one);
    tokio::task::spawn_blocking(move || first.stop()).await.unwrap();
    // The place that has become free is taken again.
    let third = start().await;
    assert!(!has_mark(&third).await);
    tokio::task::spawn_blocking(move || drop((second, third))).await.unwrap();
}

async fn has_mark(server: &PrivatePostgres) -> bool {
    let mut connection = connect(server).await;
    sqlx::query_scalar("select to_regclass('mark') is not null").fetch_one(&mut connection).await.unwrap()
}
