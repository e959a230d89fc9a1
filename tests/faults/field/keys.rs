//! One key, a thousand times at once.
use super::{
    company,
    phone::{Answer, post},
    size,
};
use crate::support::{Home, Program};
use serde_json::{Value, json};
use sqlx::{Connection, Executor, PgConnection};
use std::{collections::BTreeMap, sync::Arc};
use tokio::sync::Barrier;

struct Place {
    home: Home,
    program: Program,
    technician: company::Technician,
}

impl Place {
    async fn new() -> Self {
        let home = Home::new();
        let program = home.serve();
        let mut conn = home.connection().await;
        company::found(&mut conn).await;
        let technician = company::staff(&mut conn, 1, 3).await.remove(0);
        conn.close().await.unwrap();
        Self { home, program, technician }
    }

    async fn send(&self, items: Value) -> Answer {
        let address = self.program.base().trim_start_matches("http://").to_owned();
        let body = json!({ "sent_at": "2026-11-25T18:00:00Z", "items": items }).to_string();
        post(&address, &self.technician.cookie, "/api/completions", &body, &mut false).await.unwrap()
    }

    /// The same completion so many times at once, then once more: how many answers of each status there were,
    /// and how many different contents the good ones had.
    async fn at_once(&self, times: usize) -> (BTreeMap<u16, usize>, usize) {
        let items = json!([{ "key": "k", "completion": self.technician.done[0] }]);
        let start = Arc::new(Barrier::new(times));
        let all = (0..times).map(|_| {
            let (start, items) = (start.clone(), items.clone());
            async move {
                start.wait().await;
                self.send(items).await
            }
        });
        let mut answers = futures_util::future::join_all(all).await;
        answers.push(self.send(items.clone()).await);
        let mut statuses = BTreeMap::new();
        let mut said = std::collections::BTreeSet::new();
        for answer in answers {
            *statuses.entry(answer.status).or_insert(0) += 1;
            if answer.status == 200 {
                let body: Value = serde_json::from_str(&answer.body).unwrap();
                said.insert(body["outcomes"][0].to_string());
            }
        }
        (statuses, said.len())
    }

    async fn counts(&self) -> (i64, i64) {
        let mut conn: PgConnection = self.home.connection().await;
        sqlx::query_as(
            "select (select count(*) from application_record), (select count(*) from idempotency_key)",
        )
        .fetch_one(&mut conn)
        .await
        .unwrap()
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_thousand_at_once_have_one_effect() {
    let times = size(200, 1_000);
    let place = Place::new().await;
    let (statuses, contents) = place.at_once(times).await;
    println!("{times} at once under one key: answers by status {statuses:?}, {contents} different content");
    assert!(statuses.keys().all(|s| [200, 409].contains(s)), "{statuses:?}");
    assert_eq!((contents, place.counts().await), (1, (1, 1)));
    let other = place.send(json!([{ "key": "k", "completion": place.technician.done[1] }])).await;
    assert_eq!(other.status, 422, "{}", other.body);
    let none = place.send(json!([{ "completion": place.technician.done[2] }])).await;
    assert_eq!(none.status, 400, "{}", none.body);
    assert_eq!(place.counts().await, (1, 1));
}

/// Where the database forgets keys, it shows: the same completion is then answered in more than one way.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn keys_that_are_forgotten_are_found_out() {
    let place = Place::new().await;
    let mut conn = place.home.connection().await;
    conn.execute(
        "create function forget() returns trigger language plpgsql as 'begin return null; end';
         create trigger forgotten before insert on idempotency_key for each row execute function forget()",
    )
    .await
    .unwrap();
    let (statuses, _) = place.at_once(20).await;
    assert!(statuses.contains_key(&422), "{statuses:?}");
}
