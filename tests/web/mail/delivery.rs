//! Delivery to a real server that refuses, is slow and breaks off.
use super::{
    smtp::SmtpServer,
    yard::{Mailed, mailer},
};
use chrono::TimeDelta;
use mail_parser::MessageParser;
use plantward::{
    actions::message::{self, Delivery, New},
    domain::message::Status,
    mail::{Block, Written},
    texts::Language,
};
use std::process::Command;
use uuid::Uuid;

/// Puts a message to this address into the outbox.
async fn waiting(m: &Mailed, to: &str) -> Uuid {
    let mut tx = m.world.pool.begin().await.unwrap();
    let new = New {
        id: Uuid::now_v7(),
        customer: None,
        site: None,
        kind: "answer",
        cause: format!("test {}", Uuid::now_v7()),
        language: Language::English,
        recipient: to.to_owned(),
        recipient_name: "Odile Farrant".to_owned(),
        written: Written::of("en", "Your visit", &[Block::Words("It is booked.".into())]),
        link: String::new(),
        unsubscribe: String::new(),
        calendar: String::new(),
        file: None,
        lasts: None,
    };
    let id = message::write(&mut tx, &m.world.doer(), new).await.unwrap().unwrap();
    tx.commit().await.unwrap();
    id
}

async fn state(m: &Mailed, id: Uuid) -> (String, i32, String) {
    sqlx::query_as("select status, tries, last_answer from message where id = $1")
        .bind(id)
        .fetch_one(&m.world.pool)
        .await
        .unwrap()
}

#[tokio::test]
async fn each_answer_of_the_server_has_its_consequence() {
    let m = Mailed::new().await;
    let server = SmtpServer::start(&[]);
    let mailer = mailer(server.port, &[]);
    let [good, never, full, lost, early] =
        ["odile", "never", "full", "lost", "early"].map(|name| format!("{name}@farrant.test"));
    let mut ids = vec![];
    for to in [&good, &never, &full, &lost, &early] {
        ids.push(waiting(&m, to).await);
    }
    m.deliver(&mailer).await;
    assert_eq!(state(&m, ids[0]).await.0, Status::Sent.code());
    let (status, tries, answer) = state(&m, ids[1]).await;
    assert_eq!((status.as_str(), tries), ("failed", 1), "{answer}");
    assert!(answer.contains("no such person here"), "{answer}");
    for id in &ids[2..] {
        let (status, tries, answer) = state(&m, *id).await;
        assert_eq!((status.as_str(), tries), ("waiting", 1), "{answer}");
    }
    for minutes in [1, 2, 4] {
        m.world.clock.advance(TimeDelta::minutes(minutes));
        m.deliver(&mailer).await;
    }
    for id in &ids[2..] {
        assert_eq!(state(&m, *id).await.0, "sent");
    }
    let taken = server.taken();
    let of = |to: &str| taken.iter().filter(|t| t.to == to).collect::<Vec<_>>();
    assert_eq!((of(&good).len(), of(&never).len(), of(&full).len(), of(&early).len()), (1, 0, 1, 1));
    let twice = of(&lost);
    assert_eq!(twice.len(), 2, "the answer was lost, so nobody could know");
    assert_eq!(twice[0], twice[1], "the same name and the same bytes");
    let read = MessageParser::default().parse(&twice[0].content).unwrap();
    assert_eq!(read.message_id(), Some(format!("{}@127.0.0.1", ids[3]).as_str()));
}

#[tokio::test]
async fn a_server_that_is_away_holds_nothing_up_for_ever() {
    let m = Mailed::new().await;
    let id = waiting(&m, "odile@farrant.test").await;
    let port = SmtpServer::start(&[]).port;
    let nobody = mailer(port, &["--smtp-seconds", "2"]);
    let found = message::deliver_one(&m.world.doer(), &nobody).await.unwrap();
    assert_eq!(found, Delivery::Later { id, server_silent: true });
    m.world.clock.advance(TimeDelta::days(5));
    m.deliver(&nobody).await;
    let (status, tries, _) = state(&m, id).await;
    assert_eq!((status.as_str(), tries), ("failed", 2), "after five days somebody must do something");
}

#[tokio::test]
async fn two_workers_never_have_the_same_message() {
    let m = Mailed::new().await;
    let server = SmtpServer::start(&[]);
    let mailer = mailer(server.port, &[]);
    for n in 0..12 {
        waiting(&m, &format!("odile{n}@farrant.test")).await;
    }
    waiting(&m, "slow@farrant.test").await;
    let begun = std::time::Instant::now();
    let (one, other) = tokio::join!(m.deliver(&mailer), m.deliver(&mailer));
    assert_eq!(one.len() + other.len(), 13, "in {:?}", begun.elapsed());
    let mut names: Vec<String> = server.taken().into_iter().map(|t| t.message_id).collect();
    names.sort();
    names.dedup();
    assert_eq!((server.taken().len(), names.len()), (13, 13));
}

#[tokio::test]
async fn mail_travels_encrypted_and_signed_in() {
    let m = Mailed::new().await;
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (certificate, key) = (file("certificate.pem"), file("key.pem"));
    let made = Command::new("openssl")
        .args([
            "req",
            "-x509",
            "-newkey",
            "ec",
            "-pkeyopt",
            "ec_paramgen_curve:prime256v1",
            "-nodes",
            "-days",
            "2",
        ])
        .args(["-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost"])
        .args(["-addext", "basicConstraints=critical,CA:FALSE", "-keyout", &key, "-out", &certificate])
        .output()
        .unwrap();
    assert!(made.status.success(), "{made:?}");
    let tls = ["--certificate", &certificate, "--key", &key, "--user", "office", "--password", "right"];
    for (implicit, way) in [(false, "starttls"), (true, "implicit")] {
        let mut arguments = tls.to_vec();
        if implicit {
            arguments.push("--implicit");
        }
        let server = SmtpServer::start(&arguments);
        let with = |password: &'static str, ca: bool| {
            let mut more = vec!["--smtp-tls", way, "--smtp-user", "office", "--smtp-password", password];
            if ca {
                more.extend(["--smtp-ca", &certificate]);
            }
            mailer(server.port, &more)
        };
        let id = waiting(&m, "odile@farrant.test").await;
        let doer = m.world.doer();
        for (password, ca, why) in
            [("right", false, "a certificate that nobody knows"), ("wrong", true, "a wrong password")]
        {
            let found = message::deliver_one(&doer, &with(password, ca)).await.unwrap();
            let (status, _, answer) = state(&m, id).await;
            assert_eq!(found, Delivery::Later { id, server_silent: true }, "{way}: {why}: {answer}");
            assert_eq!(status, "waiting", "{why} says nothing about the message");
            m.world.clock.advance(TimeDelta::minutes(10));
        }
        assert!(server.taken().is_empty());
        message::deliver_one(&doer, &with("right", true)).await.unwrap();
        assert_eq!(state(&m, id).await.0, "sent", "{way}: {}", state(&m, id).await.2);
        assert_eq!(server.taken().len(), 1, "{way}");
    }
}
