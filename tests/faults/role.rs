//! The running service has a role that can change nothing that was recorded, whoever commands it.
use crate::support::Home;
use plantward::{db::role, private_postgres};
use sqlx::{Connection, PgConnection};

async fn as_the_service(home: &Home) -> PgConnection {
    let options = private_postgres::join(home.data()).unwrap().username(role::NAME);
    PgConnection::connect_with(&options).await.unwrap()
}

/// The number that the database gives a refusal for want of rights.
const FORBIDDEN: &str = "42501";

async fn refused(conn: &mut PgConnection, statement: &'static str) {
    let error = sqlx::raw_sql(statement).execute(conn).await.expect_err(statement);
    let code = error.as_database_error().and_then(|e| e.code()).map(|c| c.into_owned());
    assert_eq!(code.as_deref(), Some(FORBIDDEN), "{statement}: {error}");
}

#[tokio::test]
async fn the_service_connects_as_a_role_that_can_only_add() {
    let home = Home::new();
    let program = home.serve();
    let mut owner = home.connection().await;
    let who: Vec<String> = sqlx::query_scalar(
        "select distinct usename::text from pg_stat_activity
         where backend_type = 'client backend' and pid <> pg_backend_pid()",
    )
    .fetch_all(&mut owner)
    .await
    .unwrap();
    assert_eq!(who, [role::NAME], "no connection of the program is the owner's any more");

    let mut conn = as_the_service(&home).await;
    for statement in [
        "update application_record set note = 'x'",
        "update application_record set note = 'x' where false",
        "delete from application_record",
        "truncate application_record cascade",
        "update application_item set amount = 1",
        "delete from application_item",
        "update audit set deed = 'x'",
        "delete from audit",
        "truncate audit cascade",
        "update filing set content = 'x'",
        "delete from filing_change",
        "delete from record_signature",
        "update record_signature set name = 'x'",
        "update incident set what = 'x'",
        "delete from incident",
        "delete from incident_entry",
        "update paper set title = 'x'",
        "update paper set struck_reason = 'x', title = 'x'",
        "delete from paper",
        "delete from paper_person",
        "update plant_look set words = 'x'",
        "delete from plant_look",
        "update estimate set customer_name = 'x'",
        "update estimate set valid_until = '2099-01-01'",
        "delete from estimate",
        "update estimate_line set planned = 'x'",
        "delete from estimate_line",
        "delete from renewal_event",
        "update visit_duty set how = 'x'",
        "delete from visit_duty",
        "truncate paper cascade",
        "truncate estimate cascade",
        "alter table application_record disable trigger all",
        "drop trigger application_record_stays on application_record",
        "drop table audit",
        "set session_replication_role = replica",
        "create or replace function refuse_change_of_record() returns trigger language plpgsql as
            $$ begin return new; end $$",
        "set role app",
        "alter role plantward_app superuser",
        "insert into _sqlx_migrations values (1, 'x', now(), true, 'x', 1)",
        "create table mine (n int)",
        "copy audit from program 'true'",
    ] {
        refused(&mut conn, statement).await;
    }
    sqlx::raw_sql("select count(*) from application_record; select count(*) from audit")
        .execute(&mut conn)
        .await
        .unwrap();
    // What is written beside a paper, a look and an estimate may be.
    sqlx::raw_sql(
        "update paper set struck_by = null, struck_at = null, struck_reason = '' where false;
         update plant_look set struck_by = null, struck_at = null, struck_reason = '' where false;
         update estimate set accepted_by = null, accepted_at = null, withdrawn_by = null, withdrawn_at = null,
            withdrawn_reason = '' where false",
    )
    .execute(&mut conn)
    .await
    .unwrap();
    // Who holds no right may give it to nobody: the database warns and does nothing.
    let give = "grant update on application_record to plantward_app; grant delete on audit to public";
    sqlx::raw_sql(give).execute(&mut conn).await.unwrap();
    refused(&mut conn, "update application_record set note = 'x'").await;
    sqlx::raw_sql("reset role").execute(&mut conn).await.unwrap();
    refused(&mut conn, "delete from audit").await;
    assert!(program.is_ready());
}

#[tokio::test]
async fn rights_that_somebody_gave_are_named_and_taken_back_at_the_next_start() {
    let home = Home::new();
    let program = home.serve();
    let mut owner = home.connection().await;
    sqlx::raw_sql(
        "grant update (note) on application_record to plantward_app; grant truncate on audit to plantward_app;
         grant update (title) on paper to plantward_app; grant update on estimate to plantward_app;
         revoke update (struck_at) on plant_look from plantward_app; revoke insert on customer from plantward_app",
    )
    .execute(&mut owner)
    .await
    .unwrap();
    let output = home.run(&["verify"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    for fault in [
        "the role plantward_app may update on application_record",
        "the role plantward_app may truncate on audit",
        "the role plantward_app may update of on paper.title",
        "the role plantward_app may update on estimate",
        "the role plantward_app may not update of on plant_look.struck_at",
        "the role plantward_app may not insert on customer",
    ] {
        assert!(said.lines().any(|line| line.trim() == fault), "{fault} is not in\n{said}");
    }
    drop(owner);
    program.send(libc::SIGTERM);
    program.wait();
    let program = home.serve();
    let output = home.run(&["verify"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
    drop(program);
}

/// A server of somebody else's, where the tables' owner is no superuser: the service becomes the role.
#[tokio::test]
async fn on_another_server_the_owners_connections_become_the_role() {
    let home = Home::new();
    let first = home.serve();
    let mut admin = home.connection().await;
    sqlx::raw_sql("drop owned by plantward_app").execute(&mut admin).await.unwrap();
    sqlx::raw_sql("drop role plantward_app").execute(&mut admin).await.unwrap();
    sqlx::raw_sql("create role keeper login createrole").execute(&mut admin).await.unwrap();
    sqlx::raw_sql("create role poor login").execute(&mut admin).await.unwrap();
    sqlx::raw_sql("create database other owner keeper").execute(&mut admin).await.unwrap();
    sqlx::raw_sql("create database third owner poor").execute(&mut admin).await.unwrap();
    let run = home.data().join("run").canonicalize().unwrap();
    let url = |user: &str, base: &str| {
        let socket =
            serde_urlencoded::to_string([("host", run.display().to_string()), ("port", port())]).unwrap();
        format!("postgres://{user}@localhost/{base}?{socket}")
    };
    for (user, base, confined) in [("keeper", "other", true), ("poor", "third", false)] {
        let place = Home::new();
        let mut command = place.command(&["serve", "--listen", "127.0.0.1:0"]);
        command.env("DATABASE_URL", url(user, base));
        let log = place.path().join("log");
        let program = crate::support::Program::start(command, &log);
        assert!(program.is_ready());
        let warned = place.log().contains("the service works with the rights of the tables' owner");
        assert_eq!(warned, !confined, "{user}: {}", place.log());
        let mut verify = place.command(&["verify"]);
        let output = verify.env("DATABASE_URL", url(user, base)).output().unwrap();
        let said = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(i32::from(!confined)), "{said}");
    }
    drop(first);
}

/// The number of the server's socket.
fn port() -> String {
    "5432".to_owned()
}
