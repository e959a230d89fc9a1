//! A new day begins: every due day is computed anew in the background, once each, whatever ends.

use std::{process::Stdio, time::Duration};

use sqlx::PgConnection;

use crate::support::{Home, Program, until};

/// From now on each answer that is written takes a while and leaves a line, which stays only if the
/// transaction that wrote it does.
const YESTERDAY: &[&str] = &[
    "update due set computed_for = computed_for - 1",
    "create table written (plant_id uuid, worker int)",
    "create function watch() returns trigger language plpgsql as $$ begin
        perform pg_sleep(0.004);
        insert into written values (new.plant_id, pg_backend_pid());
        return new; end $$",
    "create trigger watch after insert or update or delete on due for each row execute function watch()",
];

/// Fills the folder with the demo, as it stood yesterday; how many plants have a due day.
async fn as_of_yesterday(home: &Home) -> i64 {
    let mut command = home.command(&["demo", "--listen", "127.0.0.1:0"]);
    command.stdin(Stdio::null());
    let program = Program::start(command, &home.path().join("log"));
    let mut connection = home.connection().await;
    for text in YESTERDAY {
        sqlx::query(*text).execute(&mut connection).await.unwrap();
    }
    let plants = count(&mut connection, "select count(*) from due").await;
    program.kill();
    until("the database has noticed", || home.postgres_processes().is_empty());
    plants
}

async fn count(connection: &mut PgConnection, text: &'static str) -> i64 {
    sqlx::query_scalar(text).fetch_one(connection).await.unwrap()
}

const WRITTEN: &str = "select count(*) from written";
const STALE: &str = "select count(*) from due where computed_for <> (select max(computed_for) from due)";

#[tokio::test]
async fn a_kill_half_way_loses_nothing_and_nothing_is_done_twice() {
    let home = Home::new();
    let plants = as_of_yesterday(&home).await;
    assert!(plants > 500, "{plants}");

    let program = home.serve();
    let mut connection = home.connection().await;
    while count(&mut connection, WRITTEN).await < 100 {
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    program.kill();
    until("the database has noticed", || home.postgres_processes().is_empty());

    let program = home.serve();
    let mut connection = home.connection().await;
    let before = count(&mut connection, WRITTEN).await;
    assert!((100..plants).contains(&before), "the kill came half way: {before} of {plants}");
    for _ in 0..3000 {
        if count(&mut connection, WRITTEN).await == plants && count(&mut connection, STALE).await == 0 {
            break;
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    assert_eq!(count(&mut connection, STALE).await, 0, "{}", home.log());
    assert_eq!(count(&mut connection, WRITTEN).await, plants, "nothing is written that was written before");
    assert_eq!(count(&mut connection, "select count(distinct plant_id) from written").await, plants);
    let workers = "select count(distinct worker) from written";
    assert!(count(&mut connection, workers).await >= 3, "two workers before the kill and others after it");
    let verified = home.run(&["verify", "--due"]);
    assert_eq!(verified.status.code(), Some(0), "{}", String::from_utf8_lossy(&verified.stdout));
    program.send(libc::SIGTERM);
    program.wait();
}
