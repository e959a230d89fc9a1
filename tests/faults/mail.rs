//! The program is killed again and again while it hands mail to a server that refuses and breaks off, over a line
//! that is cut at any byte: everything arrives, and what arrives twice has the same name and the same bytes.
use crate::{
    field::{dice::Dice, gate::Gate},
    smtp::SmtpServer,
    support::{Home, Program, until},
};
use sqlx::PgConnection;
use std::{collections::BTreeMap, process::Stdio, time::Duration};

async fn count(connection: &mut PgConnection, text: &'static str) -> i64 {
    sqlx::query_scalar(text).fetch_one(connection).await.unwrap()
}

fn serve(home: &Home, port: &str) -> Program {
    let mut command = home.command(&["serve", "--listen", "127.0.0.1:0", "--smtp-host", "127.0.0.1"]);
    command.args(["--smtp-port", port, "--smtp-tls", "none", "--mail-from", "office@bellwether.test"]);
    command.args(["--smtp-seconds", "3"]).stdin(Stdio::null());
    Program::start(command, &home.path().join("log"))
}

#[tokio::test(flavor = "multi_thread")]
async fn mail_survives_kills_and_cuts() {
    let long = std::env::var("PLANTWARD_FAULTS").is_ok_and(|form| form == "long");
    let (messages, kills, cuts) = if long { (600, 200, 300) } else { (60, 4, 25) };
    let home = Home::new();
    home.serve().kill();
    until("the database has noticed", || home.postgres_processes().is_empty());
    let server = SmtpServer::start(&["--chaos", "8", "--luck", "5"]);
    let gate = Gate::open(&format!("127.0.0.1:{}", server.port), cuts, 9).await;
    let port = gate.address.split(':').nth(1).unwrap().to_owned();
    let mut dice = Dice(3);
    let mut program = serve(&home, &port);
    let mut connection = home.connection().await;
    sqlx::query(
        "insert into message (id, message_id, kind, cause, language, recipient, recipient_name, subject, body_text,
            body_html, status, next_try, created_at)
         select gen_random_uuid(), '<' || n || '@house.test>', 'answer', 'story ' || n, 'en', n || '@customer.test', '',
            'Visit ' || n, repeat('words ', 400), '<p>words</p>', 'waiting', now(), now()
         from generate_series(1, $1) as n",
    )
    .bind(messages)
    .execute(&mut connection)
    .await
    .unwrap();
    for _ in 0..kills {
        tokio::time::sleep(Duration::from_millis(300 + dice.below(1500) as u64)).await;
        program.kill();
        until("the database has noticed", || home.postgres_processes().is_empty());
        program = serve(&home, &port);
    }
    let mut connection = home.connection().await;
    for _ in 0..2400 {
        // Nobody waits for pauses here.
        sqlx::query("update message set next_try = now() where status = 'waiting' and next_try > now()")
            .execute(&mut connection)
            .await
            .unwrap();
        if count(&mut connection, "select count(*) from message where status <> 'sent'").await == 0 {
            break;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    let left = count(&mut connection, "select count(*) from message where status <> 'sent'").await;
    assert_eq!(left, 0, "{}", home.log());
    let taken = server.taken();
    let mut by_name: BTreeMap<&str, &[u8]> = BTreeMap::new();
    for one in &taken {
        let first = by_name.entry(&one.message_id).or_insert(&one.content);
        assert_eq!(*first, one.content, "{} is sent again as something else", one.message_id);
    }
    assert_eq!(by_name.len(), usize::try_from(messages).unwrap(), "everything arrived");
    println!(
        "{messages} messages, {} sendings, {kills} kills, {} lines cut",
        taken.len(),
        gate.cut.load(std::sync::atomic::Ordering::SeqCst)
    );
    program.send(libc::SIGTERM);
    program.wait();
}
