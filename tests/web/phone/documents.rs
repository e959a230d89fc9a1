//! Labels and data sheets on the phone: which it is told to keep, and their bytes.
use super::{Day, TODAY};
use crate::{
    documents::{bring, paper},
    support::Visitor,
};
use axum::http::Method;
use plantward::{
    actions::visit as verbs,
    domain::{chain::hex, user::Role},
};
use serde_json::Value;
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// The documents of an answer: kind, SHA-256, id.
async fn listed(who: &Visitor, cursor: Option<&str>) -> (Vec<(String, String, Uuid)>, String) {
    let path = cursor.map_or("/api/visits".to_owned(), |c| format!("/api/visits?since={c}"));
    let said = who.api(Method::GET, &path, None).await.json();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let all = said["documents"].as_array().unwrap().iter();
    let all = all.map(|d| (text(&d["kind"]), text(&d["sha256"]), text(&d["id"]).parse().unwrap())).collect();
    (all, text(&said["cursor"]))
}

/// The SHA-256 of the bytes, as the phone is told it.
fn hash(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// The label version that the yard's plants follow.
async fn version(day: &Day) -> Uuid {
    sqlx::query_scalar("select label_version_id from label_use where id = $1")
        .bind(day.yard.label_use)
        .fetch_one(&day.world.pool)
        .await
        .unwrap()
}

#[tokio::test]
async fn the_phone_is_told_of_the_files_of_its_own_visits_and_of_newer_ones() {
    let day = Day::new().await;
    let version = version(&day).await;
    let at = format!("/label-versions/{version}");
    let (none, cursor) = listed(&day.ines, None).await;
    assert_eq!(none, []);
    let (label, sheet, newer) = (paper("Label"), paper("Sheet"), paper("Newer sheet"));
    bring(&day.office, version, "label", "label.pdf", &label).await.went_to(&at);
    bring(&day.office, version, "safety-data-sheet", "sheet.pdf", &sheet).await.went_to(&at);
    // No visit has changed, and still the phone hears of them.
    let (both, cursor) = listed(&day.ines, Some(&cursor)).await;
    let told: Vec<_> = both.iter().map(|(kind, hash, _)| (kind.as_str(), hash.as_str())).collect();
    assert_eq!(told, [("label", hash(&label).as_str()), ("safety-data-sheet", hash(&sheet).as_str())]);
    for ((_, told_hash, id), bytes) in both.iter().zip([&label, &sheet]) {
        let path = format!("/api/documents/{id}");
        let answer = day.ines.api(Method::GET, &path, None).await;
        assert_eq!(answer.headers["content-type"], "application/pdf");
        let sent = day.ines.file(&path).await;
        assert_eq!((&sent, &hash(&sent)), (bytes, told_hash));
        day.world.stranger().api(Method::GET, &path, None).await.is_problem(401);
    }
    let nobody = format!("/api/documents/{}", Uuid::now_v7());
    day.ines.api(Method::GET, &nobody, None).await.is_problem(404);
    day.ines.api(Method::GET, "/api/documents/label", None).await.is_problem(400);
    bring(&day.office, version, "safety-data-sheet", "newer.pdf", &newer).await.went_to(&at);
    let (both, cursor) = listed(&day.ines, Some(&cursor)).await;
    assert_eq!((both.len(), &both[1].1), (2, &hash(&newer)), "the newest of each kind and no other");
    // Somebody without such a visit is told of nothing; when the visit goes, so do its files.
    let tobias = day.world.sign_in("Tobias Venn", Role::Technician).await;
    assert_eq!(listed(&tobias, None).await.0, []);
    let doer = day.world.doer().acting(day.owner.id);
    verbs::cancel(&doer, day.visit, "The customer called").await.unwrap();
    assert_eq!(listed(&day.ines, Some(&cursor)).await.0, []);
}

#[tokio::test]
async fn what_was_done_today_keeps_its_files_until_the_day_is_over() {
    let day = Day::new().await;
    let version = version(&day).await;
    bring(&day.office, version, "label", "label.pdf", &paper("Label")).await;
    let done = day.ines.complete_one(&day.done()).await;
    assert_eq!(done["status"], 201, "{done}");
    assert_eq!(listed(&day.ines, None).await.0.len(), 1);
    sqlx::query("update visit set on_date = $1::date - 1 where id = $2")
        .bind(TODAY)
        .bind(day.visit)
        .execute(&day.world.pool)
        .await
        .unwrap();
    assert_eq!(listed(&day.ines, None).await.0, []);
}
