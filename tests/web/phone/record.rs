//! What a completion leaves in the record.
use super::{Day, NOW, batch, codes};
use plantward::db::{chain, record};
use serde_json::json;
use uuid::Uuid;

#[tokio::test]
async fn everything_said_in_the_field_stands_in_the_record() {
    let day = Day::new().await;
    let done = day.done();
    day.ines.complete_one(&done).await;
    let page = day.office.get(&format!("/records/{}", done["id"].as_str().unwrap())).await;
    for part in [
        "L-4471",
        "moist",
        "gentle",
        "120 ft",
        "300 ft",
        "T-0815",
        "16 Tamber Lane",
        "lacewings",
        "aphids",
        "Gate closed again",
        "Ines Okoro, applicator",
        "4.5 mph",
        "61 °F",
        "09:10",
        "72 mL",
    ] {
        assert!(page.page().contains(part), "{part}: {}", page.body);
    }
    let log = day.office.get("/reports/log.csv?from=2026-11-01&until=2026-11-30").await;
    let lines: Vec<&str> = log.page().lines().collect();
    assert!(lines[0].ends_with(",Lot") && lines[1].ends_with(",L-4471"), "{lines:?}");
    let id: Uuid = done["id"].as_str().unwrap().parse().unwrap();
    let mut conn = day.world.pool.acquire().await.unwrap();
    let (version, _) = record::versions(&mut conn, id).await.unwrap().remove(0);
    let text = record::body(&version);
    assert!(text.contains(r#""lot":"L-4471""#) && text.contains(r#""soil":"moist""#), "{text}");
    // What was written before these parts came has no word of them, so that its hash still fits.
    let mut older = version.clone();
    older.head.conditions = None;
    older.items[0].lot.clear();
    let older = record::body(&older);
    assert!(!older.contains("conditions") && !older.contains("lot"), "{older}");
    drop(conn);
    // An amendment keeps what nobody changed.
    let form = day.office.get(&format!("/records/{id}/amendments")).await;
    assert!(form.page().contains("L-4471"), "{}", form.body);
    for change in
        ["update application_item set lot = 'L-0000'", "update application_record set conditions = null"]
    {
        let mut tx = day.world.pool.begin().await.unwrap();
        sqlx::query("set local session_replication_role = replica").execute(&mut *tx).await.unwrap();
        sqlx::query(change).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
        let wrong = chain::verify(&day.world.pool, None).await.unwrap().faults;
        assert!(wrong[0].contains("differs"), "{change}: {wrong:?}");
    }
}

#[tokio::test]
async fn another_measure_gives_another_dose_and_the_plant_its_new_measure() {
    let day = Day::new().await;
    let mut done = day.done();
    done["plants"][0] = json!({ "plant": day.hedge, "label_use": day.yard.label_use, "did": "measured",
        "measure": "9", "amount": "81", "unit": "mL", "water": "12" });
    assert_eq!(day.ines.complete_one(&done).await["state"], "recorded");
    let height: String = sqlx::query_scalar("select trim_scale(height_ft)::text from plant")
        .fetch_one(&day.world.pool)
        .await
        .unwrap();
    assert_eq!(height, "9");
}

#[tokio::test]
async fn more_than_the_cap_is_recorded_and_flagged() {
    let day = Day::new().await;
    let mut done = day.done();
    // The cap leaves 189.27 mL of product on this land.
    done["plants"][0]["did"] = json!("measured");
    done["plants"][0]["amount"] = json!("190");
    done["plants"][0]["unit"] = json!("mL");
    let outcome = day.ines.complete_one(&done).await;
    assert_eq!((outcome["status"].as_u64(), outcome["state"].as_str()), (Some(201), Some("flagged")));
    assert!(codes(&outcome).contains(&"limit-broken"), "{outcome}");
    assert!(day.flags().await.contains(&"cap".to_owned()), "{:?}", day.flags().await);
}

#[tokio::test]
async fn a_skipped_visit_is_closed_with_its_reasons() {
    let day = Day::new().await;
    let mut done = day.done();
    done["plants"][0] = json!({ "plant": day.hedge, "label_use": day.yard.label_use, "did": "skipped",
        "reason": "Dog in the garden" });
    let outcome = day.ines.complete_one(&done).await;
    assert_eq!((outcome["state"].as_str(), &outcome["record"]), (Some("closed"), &json!(null)));
    let (status, reason): (String, String) = sqlx::query_as(
        "select v.status, d.skip_reason from visit v join planned_dose d on d.visit_id = v.id",
    )
    .fetch_one(&day.world.pool)
    .await
    .unwrap();
    assert_eq!((status.as_str(), reason.as_str()), ("done", "Dog in the garden"));
}

#[tokio::test]
async fn what_the_state_asks_and_nobody_said_is_named() {
    let day = Day::new().await;
    let mut done = day.done();
    // 3 CCR 6624(b) asks for the time.
    done["stop"] = json!({});
    done["signature"] = json!(null);
    let outcome = day.ines.complete_one(&done).await;
    assert_eq!(codes(&outcome), ["missing-field", "unsigned"]);
    assert!(outcome["words"].as_str().unwrap().contains("start time"), "{outcome}");
    // Times that do not fit are no reason to lose the rest.
    let mut other = day.done();
    other["visit"] =
        json!(day.booked(day.ines.id, super::TODAY, &[day.yard.hedge(&day.world, "back", 1).await]).await);
    other["plants"] = json!([]);
    other["stop"] = json!({ "started_at": "10:00:00", "finished_at": "09:00:00" });
    let outcome = day.ines.complete(&batch(NOW, &[("k", &other)])).await.remove(0);
    assert_eq!(outcome["state"], "closed", "nothing was said of the plant: {outcome}");
    let reasons: Vec<String> =
        sqlx::query_scalar("select skip_reason from planned_dose where status = 'skipped'")
            .fetch_all(&day.world.pool)
            .await
            .unwrap();
    assert_eq!(reasons, ["Nothing was said of it in the field."]);
}
