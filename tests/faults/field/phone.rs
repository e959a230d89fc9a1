//! A phone: what is done stays in its outbox until the program has accepted it.
use super::{
    company::{TOKEN, Technician},
    dice::Dice,
};
use plantward::clock::Clock;
use serde_json::{Value, json};
use std::{
    collections::BTreeSet,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering::SeqCst},
    },
    time::Duration,
};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::TcpStream,
};
use uuid::Uuid;

/// How a phone may be built wrongly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Built {
    Well,
    /// It makes a new id and key whenever it sends again.
    Forgetful,
    /// It takes for accepted what it has only sent.
    Hasty,
}

/// What all phones together have come to.
#[derive(Debug, Default)]
pub struct Tally {
    /// Ids that the program said it has.
    pub accepted: AtomicUsize,
    /// Completions sent, every time counted.
    pub sent: AtomicUsize,
    /// Requests without a whole answer.
    pub broken: AtomicUsize,
    /// Answers that a key is still at work.
    pub busy: AtomicUsize,
}

/// An answer that came whole.
pub struct Answer {
    pub status: u16,
    pub body: String,
}

/// Sends one request and reads the answer to its end; none: it broke off somewhere.
pub async fn post(address: &str, cookie: &str, path: &str, body: &str, sent: &mut bool) -> Option<Answer> {
    let mut stream = TcpStream::connect(address).await.ok()?;
    let request = format!(
        "POST {path} HTTP/1.1\r\nhost: plants.test\r\nconnection: close\r\ncookie: {cookie}\r\n\
         x-plantward-token: {TOKEN}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(request.as_bytes()).await.ok()?;
    *sent = true;
    let mut bytes = vec![];
    let read = tokio::time::timeout(Duration::from_secs(40), stream.read_to_end(&mut bytes)).await;
    read.ok()?.ok()?;
    let answer = String::from_utf8(bytes).ok()?;
    let (head, body) = answer.split_once("\r\n\r\n")?;
    let status = head.split_whitespace().nth(1)?.parse().ok()?;
    let named =
        |line: &str| line.to_lowercase().strip_prefix("content-length:")?.trim().parse::<usize>().ok();
    let length = head.lines().find_map(named)?;
    (body.len() == length).then(|| Answer { status, body: body.to_owned() })
}

/// Sends everything that the technician has done, each completion at least twice, in any order and in batches of
/// any size, until all of it is accepted and `enough`. The ids that were accepted.
pub async fn empty_outbox(
    technician: Technician,
    address: String,
    built: Built,
    luck: u64,
    tally: Arc<Tally>,
    enough: impl Fn() -> bool,
) -> BTreeSet<Uuid> {
    let mut dice = Dice(luck);
    let mut outbox: Vec<(String, Value)> = vec![];
    for done in &technician.done {
        let key = Uuid::now_v7().to_string();
        // Who forgets at once what was sent sends it once.
        let times = if built == Built::Hasty { 1 } else { 2 + dice.below(2) };
        outbox.extend(std::iter::repeat_n((key, done.clone()), times));
    }
    dice.shuffle(&mut outbox);
    let again = outbox.clone();
    let mut accepted = BTreeSet::new();
    loop {
        if outbox.is_empty() {
            if enough() {
                return accepted;
            }
            // Nothing is left to send; a link that still has to break is given something to break.
            outbox.push(again[dice.below(again.len())].clone());
        }
        let size = (1 + dice.below(8)).min(outbox.len());
        let mut batch: Vec<(String, Value)> = outbox.split_off(outbox.len() - size);
        if built == Built::Forgetful {
            for (key, done) in &mut batch {
                *key = Uuid::now_v7().to_string();
                done["id"] = json!(Uuid::now_v7());
            }
        }
        let items: Vec<Value> =
            batch.iter().map(|(key, done)| json!({ "key": key, "completion": done })).collect();
        let body = json!({ "sent_at": Clock::system().now(), "items": items }).to_string();
        let mut sent = false;
        let answer = post(&address, &technician.cookie, "/api/completions", &body, &mut sent).await;
        tally.sent.fetch_add(size, SeqCst);
        let there = read(answer.as_ref(), size);
        if there.is_empty() {
            tally.broken.fetch_add(1, SeqCst);
            tokio::time::sleep(Duration::from_millis(5 + dice.below(40) as u64)).await;
        }
        for (position, (key, done)) in batch.into_iter().enumerate() {
            let status = there.get(position).copied();
            let hasty = built == Built::Hasty && sent;
            match status {
                Some(201 | 202) => {}
                _ if hasty => {}
                other => {
                    tally.busy.fetch_add(usize::from(other == Some(409)), SeqCst);
                    outbox.insert(dice.below(outbox.len() + 1), (key, done));
                    continue;
                }
            }
            let id: Uuid = done["id"].as_str().unwrap().parse().unwrap();
            if accepted.insert(id) {
                tally.accepted.fetch_add(1, SeqCst);
            }
        }
    }
}

/// The status of each item; empty where no whole answer came. A refusal of a batch of one is its item's.
fn read(answer: Option<&Answer>, size: usize) -> Vec<u64> {
    let Some(answer) = answer else { return vec![] };
    if answer.status != 200 {
        assert!([409, 500, 503].contains(&answer.status), "{}: {}", answer.status, answer.body);
        return if size == 1 { vec![answer.status.into()] } else { vec![] };
    }
    let body: Value = serde_json::from_str(&answer.body).unwrap();
    let outcomes = body["outcomes"].as_array().unwrap();
    assert_eq!(outcomes.len(), size);
    outcomes.iter().map(|o| o["status"].as_u64().unwrap()).collect()
}
