//! Who signs a record from the field, and until when.
use super::Day;
use crate::yard::certify;
use plantward::domain::user::Role;
use serde_json::json;

#[tokio::test]
async fn an_apprentice_s_record_waits_for_the_supervisor() {
    let day = Day::new().await;
    let petra = day.world.sign_in("Petra Lund", Role::Technician).await;
    // California lets the owner, who is certified, answer for the work.
    sqlx::query("update visit set technician_id = $1 where id = $2")
        .bind(petra.id)
        .bind(day.visit)
        .execute(&day.world.pool)
        .await
        .unwrap();
    let mut done = day.done();
    done["stop"]["supervisor"] = json!(day.owner.id);
    done["signature"]["name"] = json!("Petra Lund");
    let outcome = petra.complete_one(&done).await;
    assert_eq!(outcome["status"], 201, "{outcome}");
    let id = done["id"].as_str().unwrap();
    // The phones of both say who still has to, and by when.
    let waits = async |who: &crate::support::Visitor| {
        who.api(axum::http::Method::GET, "/api/visits", None).await.json()["to_sign"].clone()
    };
    let theirs = waits(&day.owner).await;
    assert_eq!((&theirs[0]["record"], theirs.as_array().unwrap().len()), (&json!(id), 1), "{theirs}");
    // No rule of California is known that states a day: the company's own is the same day, and it says so.
    let by = json!({ "day": "2026-11-25", "source": "", "verified": false });
    assert_eq!((&theirs[0]["on"], &theirs[0]["by"]), (&json!("2026-11-25"), &by));
    assert_eq!(waits(&petra).await, json!([]), "who applied has signed");
    assert_eq!(waits(&day.ines).await, json!([]), "nobody else's");
    let list = day.owner.get("/records/unsigned").await;
    assert!(list.page().contains(id) && list.body.contains("Today is the last day"), "{}", list.body);
    assert!(
        list.body.contains("Sign as Maren Quist") && list.body.contains("Maren Quist</span>"),
        "{}",
        list.body
    );
    assert!(!day.office.get("/records/unsigned").await.page().contains("Sign as"), "not certified");
    let at = format!("/records/{id}/signatures");
    let fields = [("version", "1"), ("name", "Maren Quist"), ("from", "list")];
    // The office holds no certification.
    let refused = day.office.post(&at, &fields).await;
    assert_eq!(refused.status.as_u16(), 422);
    day.owner.post(&at, &fields).await.went_to("/records/unsigned");
    day.owner.post(&at, &fields).await.went_to("/records/unsigned");
    assert!(!day.owner.get("/records/unsigned").await.page().contains(id));
    assert_eq!(waits(&day.owner).await, json!([]));
    let page = day.owner.get(&format!("/records/{id}")).await;
    assert!(
        page.page().contains("Petra Lund, applicator") && page.body.contains("Maren Quist, supervisor"),
        "{}",
        page.body
    );
    let signed: i64 = sqlx::query_scalar(
        "select count(*) from record_signature s join application_record r on r.id = s.record_id
            and r.version = s.version and r.hash = s.record_hash",
    )
    .fetch_one(&day.world.pool)
    .await
    .unwrap();
    assert_eq!(signed, 2);
    let changed = sqlx::query("update record_signature set name = 'x'").execute(&day.world.pool).await;
    assert!(changed.is_err(), "signatures stay");
}

#[tokio::test]
async fn a_certified_technician_signs_alone_and_later_too() {
    let day = Day::new().await;
    let mut done = day.done();
    done["signature"] = json!(null);
    day.ines.complete_one(&done).await;
    let id = done["id"].as_str().unwrap();
    assert!(day.owner.get("/records/unsigned").await.page().contains(id));
    let at = format!("/records/{id}/signatures");
    let empty = day.ines.post(&at, &[("version", "1"), ("name", " ")]).await;
    assert_eq!(empty.status.as_u16(), 422);
    let old = day.ines.post(&at, &[("version", "2"), ("name", "Ines Okoro")]).await;
    assert_eq!(old.status.as_u16(), 422);
    day.ines.post(&at, &[("version", "1"), ("name", "Ines Okoro")]).await.went_to(&format!("/records/{id}"));
    assert!(!day.owner.get("/records/unsigned").await.page().contains(id));
    let dario = day.world.sign_in("Dario Venn", Role::Technician).await;
    certify(&day.world, dario.id).await;
    assert_eq!(dario.post(&at, &[("version", "1"), ("name", "Dario Venn")]).await.status.as_u16(), 404);
}
