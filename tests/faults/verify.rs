//! `verify` on sound, tampered and missing databases.

use crate::support::Home;

#[tokio::test]
async fn it_joins_a_running_database_and_names_what_was_tampered_with() {
    let home = Home::new();
    let program = home.serve();
    let sound = home.run(&["verify"]);
    assert_eq!(sound.status.code(), Some(0), "{}", String::from_utf8_lossy(&sound.stdout));

    let mut connection = home.connection().await;
    let taken: i64 = sqlx::query_scalar(
        "delete from _sqlx_migrations
          where version = (select max(version) from _sqlx_migrations) returning version",
    )
    .fetch_one(&mut connection)
    .await
    .unwrap();
    let changed: i64 = sqlx::query_scalar(
        "update _sqlx_migrations set checksum = 'x'
          where version = (select min(version) from _sqlx_migrations) returning version",
    )
    .fetch_one(&mut connection)
    .await
    .unwrap();
    sqlx::query("create table fault_rule (n int)").execute(&mut connection).await.unwrap();
    sqlx::query("alter table fault_rule add constraint fault_positive check (n > 0) not valid")
        .execute(&mut connection)
        .await
        .unwrap();

    let output = home.run(&["verify"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    for (start, end) in
        [(format!("migration {taken} "), "is missing"), (format!("migration {changed} "), "differs")]
    {
        let named = said.lines().any(|line| line.contains(&start) && line.contains(end));
        assert!(named, "{start}{end} is not in\n{said}");
    }
    assert!(said.contains("constraint fault_positive of fault_rule is not validated"), "{said}");
    assert_eq!(program.status("/readyz"), Some(503));
    assert_eq!(program.status("/healthz"), Some(200));
}

#[test]
fn it_starts_a_database_that_does_not_run_and_leaves_none_running() {
    let home = Home::new();
    let program = home.serve();
    program.send(libc::SIGTERM);
    program.wait();
    let output = home.run(&["verify"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(home.postgres_processes().is_empty());
}

#[test]
fn a_missing_or_empty_folder_is_an_error_and_not_a_new_database() {
    let home = Home::new();
    let expected = format!("{} holds no plantward database", home.data().display());
    for arguments in [&["verify"][..], &["migrate", "--status"]] {
        for _ in ["missing", "empty"] {
            let output = home.run(arguments);
            let said = String::from_utf8(output.stderr).unwrap();
            assert_eq!(output.status.code(), Some(1), "{said}");
            assert!(said.contains(&expected), "{said}");
            std::fs::create_dir_all(home.data()).unwrap();
        }
        assert_eq!(std::fs::read_dir(home.data()).unwrap().count(), 0);
        std::fs::remove_dir(home.data()).unwrap();
    }
}

#[test]
fn migrations_can_be_taken_back_and_brought_in_again() {
    let home = Home::new();
    assert_eq!(home.run(&["migrate"]).status.code(), Some(0));
    let output = home.run(&["migrate", "--down-to", "0"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(said.contains("missing") && !said.contains("in   "), "{said}");
    assert_eq!(home.run(&["verify"]).status.code(), Some(1));
    assert_eq!(home.run(&["migrate"]).status.code(), Some(0));
    assert_eq!(home.run(&["verify"]).status.code(), Some(0));
}
