//! Keys: once is once, however often it is sent (draft-ietf-httpapi-idempotency-key-header-07, 2.6 and 2.7).
use super::{Day, NOW, batch};
use axum::http::{Method, StatusCode};
use plantward::db::{chain, completion};
use serde_json::json;
use uuid::Uuid;

#[tokio::test]
async fn sent_again_it_is_answered_the_same_and_recorded_once() {
    let day = Day::new().await;
    let done = day.done();
    let sent = batch(NOW, &[("key-of-the-hedge", &done)]);
    let first = day.ines.complete(&sent).await;
    assert_eq!(first[0]["state"], "recorded", "{first:?}");
    assert_eq!(first[0]["status"], 201);
    assert_eq!(first[0]["record"], done["id"]);
    // Later by the phone's clock and by ours: the answer is the one of then.
    let later = batch("2026-11-25T19:00:00Z", &[("key-of-the-hedge", &done)]);
    day.world.clock.advance(chrono::TimeDelta::hours(1));
    for _ in 0..3 {
        assert_eq!(day.ines.complete(&later).await, first);
    }
    assert_eq!(day.records().await, 1);
    assert_eq!(chain::verify(&day.world.pool, None).await.unwrap().faults, Vec::<String>::new());
}

#[tokio::test]
async fn answers_are_forgotten_after_ninety_days_and_the_record_stays_one() {
    let day = Day::new().await;
    let sent = batch(NOW, &[("key-of-the-hedge", &day.done())]);
    let first = day.ines.complete(&sent).await;
    let doer = day.world.doer();
    let kept = async || -> i64 {
        sqlx::query_scalar("select count(*) from idempotency_key").fetch_one(&day.world.pool).await.unwrap()
    };
    day.world.clock.advance(chrono::TimeDelta::days(90));
    plantward::actions::completion::sweep(&doer).await.unwrap();
    assert_eq!(kept().await, 1, "ninety days to the second are not more");
    day.world.clock.advance(chrono::TimeDelta::seconds(1));
    plantward::actions::completion::sweep(&doer).await.unwrap();
    assert_eq!(kept().await, 0);
    // The session ended long ago; somebody who signs in again sends what the phone still holds.
    let again =
        day.world.sign_in_as(day.ines.id).await.api(Method::POST, "/api/completions", Some(&sent)).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", again.body);
    assert!(again.body.contains("A completion of this id is here already"), "{}", again.body);
    assert_eq!(first[0]["status"], 201);
    assert_eq!(day.records().await, 1);
}

#[tokio::test]
async fn a_key_stands_for_one_content() {
    let day = Day::new().await;
    let done = day.done();
    day.ines.complete(&batch(NOW, &[("k", &done)])).await;
    let mut other = done.clone();
    other["note"] = json!("Something else");
    let sent = batch(NOW, &[("k", &other)]);
    day.ines.api(Method::POST, "/api/completions", Some(&sent)).await.is_problem(422);
    // The same id under another key names a record that is there already.
    let sent = batch(NOW, &[("k2", &done)]);
    day.ines.api(Method::POST, "/api/completions", Some(&sent)).await.is_problem(422);
    // Another person's key of the same letters is another key.
    let mut own = done.clone();
    own["id"] = json!(Uuid::now_v7());
    assert_eq!(day.owner.complete(&batch(NOW, &[("k", &own)])).await[0]["status"], 202);
    assert_eq!(day.records().await, 1);
}

#[tokio::test]
async fn without_a_key_nothing_is_done() {
    let day = Day::new().await;
    let done = day.done();
    let bare = json!({ "sent_at": NOW, "items": [{ "completion": done }] });
    day.ines.api(Method::POST, "/api/completions", Some(&bare)).await.is_problem(400);
    assert_eq!(day.records().await, 0);
    // In a batch it keeps no other back.
    let two = json!({ "sent_at": NOW, "items": [{ "completion": { "id": Uuid::now_v7() } },
        { "key": "k", "completion": done }] });
    let outcomes = day.ines.complete(&two).await;
    assert_eq!((outcomes[0]["status"].as_u64(), outcomes[1]["status"].as_u64()), (Some(400), Some(201)));
    assert_eq!(outcomes[0]["state"], "refused");
    // A single one may carry it in the header.
    let mut next = day.done();
    next["visit"] =
        json!(day.booked(day.ines.id, "2026-11-26", &[day.yard.hedge(&day.world, "back", 1).await]).await);
    next["plants"] = json!([]);
    let body = json!({ "sent_at": NOW, "items": [{ "completion": next }] }).to_string().into_bytes();
    let kind = b"application/json".as_slice();
    let header = [("idempotency-key", "\"8e03978e-40d5-43dd-bc93-6894a57f9324\"")];
    for _ in 0..2 {
        let answer =
            day.ines.api_raw(Method::POST, "/api/completions", &header, Some((kind, body.clone()))).await;
        assert_eq!(answer.status, StatusCode::OK, "{}", answer.body);
        assert_eq!(answer.json()["outcomes"][0]["key"], "8e03978e-40d5-43dd-bc93-6894a57f9324");
    }
}

#[tokio::test]
async fn while_the_first_is_at_work_the_second_is_told_so() {
    let day = Day::new().await;
    let sent = batch(NOW, &[("k", &day.done())]);
    let mut tx = day.world.pool.begin().await.unwrap();
    assert!(completion::hold_key(&mut tx, day.ines.id, "k").await.unwrap());
    day.ines.api(Method::POST, "/api/completions", Some(&sent)).await.is_problem(409);
    tx.rollback().await.unwrap();
    assert_eq!(day.ines.complete(&sent).await[0]["status"], 201);
}

#[tokio::test]
async fn many_at_once_make_one_record() {
    let day = Day::new().await;
    let sent = batch(NOW, &[("k", &day.done())]);
    let all = (0..24).map(|_| day.ines.api(Method::POST, "/api/completions", Some(&sent)));
    let statuses: Vec<u16> =
        futures_util::future::join_all(all).await.iter().map(|a| a.status.as_u16()).collect();
    assert!(statuses.iter().all(|s| [200, 409].contains(s)), "{statuses:?}");
    assert!(statuses.contains(&200));
    assert_eq!(day.records().await, 1);
}

#[tokio::test]
async fn what_is_no_batch_is_not_read() {
    let day = Day::new().await;
    for body in [
        "",
        "{",
        "[]",
        "{\"sent_at\":\"yesterday\",\"items\":[]}",
        "{\"sent_at\":\"2026-11-25T18:00:00Z\",\"items\":[]}",
    ] {
        let sent = Some((b"application/json".as_slice(), body.as_bytes().to_vec()));
        day.ines.api_raw(Method::POST, "/api/completions", &[], sent).await.is_problem(400);
    }
}
