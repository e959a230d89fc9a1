//! What happened at the office while the phone had no signal. A fact is recorded whatever it was.
use super::{Day, NOW, TODAY, batch, codes};
use crate::yard::certify;
use plantward::{actions::visit as verbs, db::chain, domain::user::Role};
use serde_json::{Value, json};
use uuid::Uuid;

#[tokio::test]
async fn the_visit_was_given_to_somebody_else() {
    let day = Day::new().await;
    let dario = day.world.sign_in("Dario Venn", Role::Technician).await;
    certify(&day.world, dario.id).await;
    let today = TODAY.parse().unwrap();
    let doer = day.world.doer().acting(day.office.id);
    verbs::move_to(&doer, today, day.visit, "2026-11-27".parse().unwrap(), (dario.id, None)).await.unwrap();
    let sent = batch(NOW, &[("reassigned", &day.done())]);
    let outcome = day.ines.complete(&sent).await.remove(0);
    assert_eq!((outcome["status"].as_u64(), outcome["state"].as_str()), (Some(201), Some("flagged")));
    assert_eq!(codes(&outcome), ["visit-reassigned"]);
    let words = |outcome: &Value| outcome["notes"][0]["words"].as_str().unwrap().to_owned();
    assert_eq!(words(&outcome), "The visit had been given to Dario Venn when this came from the field.");
    // The same answer, for somebody who reads another language by now.
    day.ines.post("/account/languages", &[("language", "es")]).await;
    let again = day.ines.complete(&sent).await.remove(0);
    assert_eq!(words(&again), "La visita ya era de Dario Venn cuando esto llegó del campo.");
    let page = day.office.get(&format!("/records/{}", outcome["record"].as_str().unwrap())).await;
    assert!(page.page().contains("Ines Okoro") && page.body.contains("given to Dario Venn"), "{}", page.body);
    // Dario goes there too, without signal: both facts are kept.
    let mut second = day.done();
    second["id"] = json!(Uuid::now_v7());
    let outcome = dario.complete_one(&second).await;
    assert_eq!(outcome["state"], "flagged");
    assert!(codes(&outcome).contains(&"recorded-twice"), "{outcome}");
    assert_eq!(day.records().await, 2);
    assert_eq!(chain::verify(&day.world.pool, None).await.unwrap().faults, Vec::<String>::new());
}

#[tokio::test]
async fn the_visit_was_cancelled() {
    let day = Day::new().await;
    let doer = day.world.doer().acting(day.office.id);
    verbs::cancel(&doer, day.visit, "The customer called").await.unwrap();
    let outcome = day.ines.complete_one(&day.done()).await;
    assert_eq!(codes(&outcome), ["visit-cancelled"]);
    assert_eq!(outcome["state"], "flagged");
    assert_eq!(day.flags().await, ["visit-cancelled"]);
    // It counts: the hedge is not due for a year.
    assert_eq!(day.yard.due_on(&day.world, day.hedge).await, Some("2027-11-25".parse().unwrap()));
}

#[tokio::test]
async fn the_label_was_replaced() {
    let day = Day::new().await;
    sqlx::query(
        "with v as (insert into label_version (id, product_id, number, label_date, category, signal_word, entered_by,
                entered_at, clothing) select gen_random_uuid(), product_id, 2, '2026-11-01', category, 'WARNING',
                entered_by, now(), 'Goggles too' from label_version returning id),
            i as (insert into label_ingredient select v.id, position, name, irac_group, strength, strength_unit
                from label_ingredient, v),
            u as (insert into label_use (id, label_version_id, code, name, method, measure, rate_low, rate_high,
                rate_unit, protection_value, protection_unit) select gen_random_uuid(), v.id, code, name, method,
                measure, rate_low, rate_high, rate_unit, protection_value, protection_unit from label_use, v)
         select 1",
    )
    .execute(&day.world.pool)
    .await
    .unwrap();
    sqlx::query(
        "update label_version set signed_by = entered_by, signed_at = '2026-11-24T00:00:00Z', signed_certification_id =
            (select id from certification where person_id = entered_by limit 1) where number = 2",
    )
    .execute(&day.world.pool)
    .await
    .unwrap();
    let outcome = day.ines.complete_one(&day.done()).await;
    assert!(codes(&outcome).contains(&"label-replaced"), "{outcome}");
    let notes = outcome["notes"].as_array().unwrap();
    let note = notes.iter().find(|n| n["code"] == "label-replaced").unwrap();
    let words = note["words"].as_str().unwrap();
    assert!(words.contains("another label entry of Rootward 2F") && words.contains(TODAY), "{words}");
    assert_eq!(outcome["status"], 201);
}

#[tokio::test]
async fn a_visit_of_somebody_else_is_kept_and_betrays_nothing() {
    let day = Day::new().await;
    let dario = day.world.sign_in("Dario Venn", Role::Technician).await;
    let theirs = dario.complete_one(&day.done()).await;
    let mut unknown = day.done();
    unknown["visit"] = json!(Uuid::now_v7());
    unknown["id"] = json!(Uuid::now_v7());
    let nobodys = dario.complete_one(&unknown).await;
    assert_eq!((theirs["status"].as_u64(), theirs["state"].as_str()), (Some(202), Some("kept")));
    assert_eq!((&theirs["words"], &theirs["notes"]), (&nobodys["words"], &nobodys["notes"]));
    assert!(!theirs.to_string().contains("Tamber"), "{theirs}");
    assert_eq!(day.records().await, 0);
    // The office sees what came, and says what became of it.
    let page = day.office.get("/records/kept").await;
    assert!(page.page().contains("Dario Venn") && page.body.contains("L-4471"), "{}", page.body);
    let id = theirs["id"].as_str().unwrap();
    let at = format!("/records/kept/{id}");
    let empty = day.office.post(&at, &[]).await;
    assert_eq!(empty.status.as_u16(), 422);
    day.office.post(&at, &[(&format!("words-{id}"), "It was Ines's visit")]).await.went_to("/records/kept");
    assert!(!day.office.get("/records/kept").await.page().contains(&at));
}

#[tokio::test]
async fn what_cannot_be_read_is_kept_as_it_was_sent() {
    let day = Day::new().await;
    let change = |at: &str, value: Value| {
        let mut done = day.done();
        done["id"] = json!(Uuid::now_v7());
        *done.pointer_mut(at).unwrap() = value;
        done
    };
    let mut cases = vec![
        change("/plants/0/did", json!("sprinkled")),
        change("/plants/0/plant", json!(Uuid::now_v7())),
        change("/plants/0/label_use", json!(Uuid::now_v7())),
        change("/stop/wind_mph", json!("-4")),
        change("/note", json!("a\u{0}b")),
        json!("not even an object"),
        json!({}),
    ];
    let mut grams = day.done();
    grams["id"] = json!(Uuid::now_v7());
    grams["plants"][0]["did"] = json!("measured");
    grams["plants"][0]["amount"] = json!("72");
    grams["plants"][0]["unit"] = json!("g");
    cases.push(grams);
    for case in &cases {
        let outcome = day.ines.complete_one(case).await;
        assert_eq!(
            (outcome["status"].as_u64(), outcome["state"].as_str()),
            (Some(202), Some("kept")),
            "{outcome}"
        );
        assert!(!outcome["notes"][0]["to_do"].as_str().unwrap().is_empty());
    }
    assert_eq!(day.records().await, 0);
    let kept: Vec<String> = sqlx::query_scalar("select sent::text from completion order by received_at, id")
        .fetch_all(&day.world.pool)
        .await
        .unwrap();
    assert_eq!(kept.len(), cases.len());
    for case in &cases {
        assert!(kept.iter().any(|text| serde_json::from_str::<Value>(text).unwrap() == *case), "{case}");
    }
    // The visit is still to be done, and what it reserves stays reserved.
    let status: String =
        sqlx::query_scalar("select status from visit").fetch_one(&day.world.pool).await.unwrap();
    assert_eq!(status, "booked");
    assert_eq!(day.ines.complete_one(&day.done()).await["state"], "recorded");
}

#[tokio::test]
async fn both_clocks_are_kept() {
    let day = Day::new().await;
    // Ten minutes ahead of ours.
    let mut done = day.done();
    done["completed_at"] = json!("2026-11-25T18:05:00Z");
    let outcome = day.ines.complete(&batch("2026-11-25T18:10:00Z", &[("k", &done)])).await.remove(0);
    assert_eq!(outcome["clock_ahead_seconds"], 600);
    assert_eq!(codes(&outcome), ["clock"]);
    let (conditions, received): (Value, String) = sqlx::query_as(
        "select r.conditions, to_char(c.received_at at time zone 'UTC', 'YYYY-MM-DD HH24:MI')
         from application_record r join completion c on c.record_id = r.id",
    )
    .fetch_one(&day.world.pool)
    .await
    .unwrap();
    assert_eq!(conditions["phone_completed_at"], "2026-11-25T18:05:00Z");
    assert_eq!(conditions["phone_sent_at"], "2026-11-25T18:10:00Z");
    assert_eq!(conditions["clock_ahead_seconds"], 600);
    assert_eq!(received, "2026-11-25 18:00");
    let page = day.office.get(&format!("/records/{}", done["id"].as_str().unwrap())).await;
    assert!(page.page().contains("600 seconds ahead"), "{}", page.body);
}

#[tokio::test]
async fn a_phone_a_day_ahead_enters_today() {
    let day = Day::new().await;
    let mut done = day.done();
    done["completed_at"] = json!("2026-11-26T18:00:00Z");
    done["stop"]["on"] = json!("2026-11-26");
    let outcome = day.ines.complete(&batch("2026-11-26T18:00:00Z", &[("k", &done)])).await.remove(0);
    assert_eq!(outcome["status"], 201, "{outcome}");
    let on: String = sqlx::query_scalar("select applied_on::text from application_record")
        .fetch_one(&day.world.pool)
        .await
        .unwrap();
    assert_eq!(on, TODAY);
}
