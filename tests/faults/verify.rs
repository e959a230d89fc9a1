//! `verify` on sound, tampered and missing databases.

use crate::support::{Home, Program};

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
fn a_head_from_outside_is_compared_and_a_wrong_file_is_said_so() {
    let home = Home::new();
    assert_eq!(home.run(&["migrate"]).status.code(), Some(0));
    let file = home.path().join("head.txt");
    let path = file.to_str().unwrap();
    // Of no entry at all the root is the hash of nothing (RFC 9162, section 2.1.1).
    let nothing = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
    let zeros = "0".repeat(64);
    let head = |records: u64| {
        format!(
            "plantward-head-1\ncompany: Bellwether Plant Care\ntaken: 2026-11-25T18:00:00Z\nrecords: {records}
records-root: {nothing}\nrecords-last: {zeros}\naudit: 0\naudit-root: {nothing}\naudit-last: {zeros}\n"
        )
    };
    for (text, status, said) in [
        (
            head(0),
            0,
            "ok     every version of every record is as the head says (0 versions, 0 of them under the head)",
        ),
        (head(3), 1, "places 1 to 3 are gone: the head was taken over 3 entries"),
        ("hello".to_owned(), 1, "this is no head"),
    ] {
        std::fs::write(&file, text).unwrap();
        let output = home.run(&["verify", "--against", path]);
        let all = [output.stdout, output.stderr].concat();
        let all = String::from_utf8(all).unwrap();
        assert_eq!(output.status.code(), Some(status), "{all}");
        assert!(all.contains(said), "{said} is not in\n{all}");
    }
    let second = home.path().join("second.txt");
    for (records, status, said) in [
        (0, 0, "ok     the records only grew between the two heads (0 of 0)"),
        (3, 1, "the records do not lead from the older head to the newer"),
    ] {
        std::fs::write(&file, head(0)).unwrap();
        std::fs::write(&second, head(records).replace("T18:", "T19:")).unwrap();
        let output = home.run(&["verify", "--against", path, "--against", second.to_str().unwrap()]);
        let all = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
        assert_eq!(output.status.code(), Some(status), "{all}");
        assert!(all.contains(said) && all.contains("plantward-growth-1"), "{said} is not in\n{all}");
    }
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

#[tokio::test]
async fn a_due_day_that_was_tampered_with_is_named_and_nothing_else() {
    let home = Home::new();
    let mut command = home.command(&["demo", "--listen", "127.0.0.1:0"]);
    command.stdin(std::process::Stdio::null());
    let _program = Program::start(command, &home.path().join("log"));
    let said =
        |output: std::process::Output| (String::from_utf8(output.stdout).unwrap(), output.status.code());
    let mut connection = home.connection().await;
    let (plants, parcels): (i64, i64) =
        sqlx::query_as("select (select count(*) from due), (select count(*) from parcel)")
            .fetch_one(&mut connection)
            .await
            .unwrap();
    let name = "every due day can be computed again and is the same";
    let clean = format!("ok     {name} ({plants} plants on {parcels} parcels of land)\n");
    assert_eq!(said(home.run(&["verify", "--due"])), (clean, Some(0)));

    // Whoever owns the database can write anything; one day moved, one taken away, one reason changed.
    let ids: Vec<String> = sqlx::query_scalar("select plant_id::text from due order by plant_id limit 3")
        .fetch_all(&mut connection)
        .await
        .unwrap();
    for change in [
        "update due set due_on = coalesce(due_on, wanted_on) + 1 where plant_id::text = $1",
        "delete from due where plant_id::text = $1",
        "update due set why = array['Because.'] where plant_id::text = $1",
    ]
    .iter()
    .zip(&ids)
    {
        sqlx::query(*change.0).bind(change.1).execute(&mut connection).await.unwrap();
    }
    let (text, status) = said(home.run(&["verify", "--due"]));
    assert_eq!(status, Some(1), "{text}");
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 4, "{text}");
    assert!(lines[0].starts_with(&format!("WRONG  {name}")), "{text}");
    let of = |n: usize| lines.iter().find(|line| line.contains(&ids[n])).unwrap();
    assert!(of(0).contains("kept due day ") && of(0).contains(", computed again "), "{text}");
    assert!(of(1).ends_with("no due day is kept"), "{text}");
    assert!(of(2).contains("is right, but not all that is kept about it"), "{text}");

    let (text, status) = said(home.run(&["verify", "--records"]));
    assert_eq!((status, text.lines().count()), (Some(0), 2), "the records are as they were: {text}");
    let (text, status) = said(home.run(&["verify"]));
    assert_eq!((status, text.lines().filter(|line| line.starts_with("ok ")).count()), (Some(1), 5), "{text}");
}
