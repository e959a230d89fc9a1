//! A long file is read from the database as fast as it is taken, and no faster.
use super::{ground::Ground, reading::agreed};
use crate::support::{Visitor, World};
use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use http_body_util::BodyExt;
use tower::ServiceExt;

const ROWS: i32 = 20_000;
const PATH: &str = "/reports/log.csv?from=2026-10-01&until=2026-10-31";

async fn open(world: &World, visitor: &Visitor) -> Body {
    let request = Request::get(PATH).header(header::COOKIE, visitor.cookie.as_deref().unwrap());
    let answer = world.app.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
    assert_eq!(answer.status(), StatusCode::OK);
    answer.into_body()
}

/// Statements of the service that the database is still working on, or waits to hand over.
async fn at_work(world: &World) -> i64 {
    sqlx::query_scalar(
        "select count(*) from pg_stat_activity where datname = current_database() and state = 'active'
            and backend_type = 'client backend' and pid <> pg_backend_pid()",
    )
    .fetch_one(&world.pool)
    .await
    .unwrap()
}

#[tokio::test]
async fn the_first_bytes_come_before_the_last_row_is_read() {
    let world = World::new().await;
    let office = world.office().await;
    Ground::lay(&world, office.id).await.many(&world, ROWS).await;
    let mut body = open(&world, &office).await;
    // The names of the columns go ahead by themselves; with the first rows the database is at work.
    let mut bytes = body.frame().await.unwrap().unwrap().into_data().unwrap().to_vec();
    assert!(bytes.starts_with(b"Date,Time,Customer") && bytes.ends_with(b"\r\n") && bytes.len() < 1024);
    let first = body.frame().await.unwrap().unwrap().into_data().unwrap();
    assert!(first.len() < 256 * 1024, "{}", first.len());
    bytes.extend_from_slice(&first);
    // Nobody takes the rest. The whole file is far larger than what may wait here and in the sockets, so the
    // database cannot be done with it.
    assert_eq!(at_work(&world).await, 1);

    while let Some(frame) = body.frame().await {
        bytes.extend_from_slice(&frame.unwrap().into_data().unwrap());
    }
    assert!(bytes.len() > 4 * 1024 * 1024, "{}", bytes.len());
    let rows = agreed(std::str::from_utf8(&bytes).unwrap());
    assert_eq!(rows.len(), 1 + usize::try_from(ROWS).unwrap());
    assert!(rows[1..].is_sorted_by_key(|row| &row[0]), "by day");
    assert_eq!(at_work(&world).await, 0);
}

#[tokio::test]
async fn a_reader_that_goes_away_gives_the_connection_back() {
    let world = World::new().await;
    let office = world.office().await;
    Ground::lay(&world, office.id).await.many(&world, ROWS / 4).await;
    // More readers than the pool has connections: each leaves after its first rows.
    for _ in 0..6 {
        let mut body = open(&world, &office).await;
        for _ in 0..2 {
            body.frame().await.unwrap().unwrap();
        }
    }
    office.get("/filings").await.page();
}

/// Every browser asks for compression, which reads a stream in its own way.
#[tokio::test]
async fn a_compressed_file_comes_whole() {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    ground.many(&world, 50).await;
    let answer = office.get_compressed("/reports/log.csv?from=2026-01-01&until=2026-12-31").await;
    assert_eq!(answer.status, axum::http::StatusCode::OK);
    assert_eq!(answer.headers["content-encoding"], "gzip");
    assert!(answer.body.len() > 100, "something came");
}
