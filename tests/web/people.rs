//! Roles, the last owner, retirement.
use crate::support::World;
use axum::http::StatusCode;
use plantward::domain::user::Role;

#[tokio::test]
async fn one_owner_always_stays() {
    let world = World::new().await;
    let owner = world.owner().await;
    let path = format!("/people/{}", owner.id);
    let refused = owner.post(&path, &[("name", "Maren Quist"), ("role", "office")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("needs an owner"));
    assert_eq!(owner.post(&format!("{path}/retirements"), &[]).await.status, StatusCode::CONFLICT);
    let second = world.person("Per Aldous", Role::Owner).await;
    owner.post(&path, &[("name", "Maren Quist"), ("role", "office")]).await.went_to(&path);
    assert_eq!(owner.get("/people/new").await.status, StatusCode::NOT_FOUND, "no owner any more");
    assert_ne!(second, owner.id);
}

#[tokio::test]
async fn who_retires_is_out_at_once() {
    let world = World::new().await;
    let owner = world.owner().await;
    let ines = world.technician().await;
    ines.get("/account").await.page();
    let path = format!("/people/{}", ines.id);
    owner.post(&format!("{path}/retirements"), &[]).await.went_to(&path);
    assert_eq!(ines.get("/account").await.status, StatusCode::SEE_OTHER);
    assert!(owner.get(&path).await.page().contains("Retired"));
    owner.post(&format!("{path}/returns"), &[]).await.went_to(&path);
    assert_eq!(ines.get("/account").await.status, StatusCode::SEE_OTHER, "old sessions stay ended");
}

#[tokio::test]
async fn an_invitation_sent_twice_makes_one_person_and_no_failure() {
    let world = World::new().await;
    let owner = world.owner().await;
    let fields = [
        ("id", "01890a5d-ac96-774b-bcce-b302099a8057"),
        ("name", "Noor Halloran"),
        ("email", "noor@bellwether.test"),
        ("role", "office"),
    ];
    owner.post("/people", &fields).await.page();
    let again = owner.post("/people", &fields).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(owner.get("/people").await.page().matches("noor@bellwether.test").count(), 1);
}

#[tokio::test]
async fn nobody_leaves_while_visits_are_booked_for_them() {
    let world = World::new().await;
    let owner = world.owner().await;
    let ines = world.technician().await;
    let yard = crate::yard::Yard::new(&world, &owner).await;
    sqlx::query(
        "insert into visit (id, site_id, technician_id, on_date, booked_by, booked_at)
         values (gen_random_uuid(), $1, $2, '2026-12-01', $3, now())",
    )
    .bind(yard.site)
    .bind(ines.id)
    .bind(owner.id)
    .execute(&world.pool)
    .await
    .unwrap();
    let refused = owner.post(&format!("/people/{}/retirements", ines.id), &[]).await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    assert!(refused.body.contains("Visits are booked for Ines Okoro (1)"), "{}", refused.body);
}

#[tokio::test]
async fn a_certification_is_entered_and_shown() {
    let world = World::new().await;
    let owner = world.owner().await;
    let path = format!("/people/{}", owner.id);
    let mut fields = vec![
        ("id", "01890a5d-ac96-774b-bcce-b302099a8057"),
        ("category", "landscape maintenance"),
        ("state", "CA"),
        ("number", "QA-00017"),
        ("valid_from", "2026-12-31"),
        ("expires_on", "2025-01-01"),
    ];
    let refused = owner.post(&format!("{path}/certifications"), &fields).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        refused.body.contains("The last day comes before the first.") && refused.body.contains("QA-00017")
    );
    fields[4].1 = "2025-01-01";
    fields[5].1 = "2026-12-31";
    for _ in 0..2 {
        owner.post(&format!("{path}/certifications"), &fields).await.went_to(&path);
    }
    assert_eq!(owner.get(&path).await.page().matches("QA-00017").count(), 1, "sent twice, entered once");
}

#[tokio::test]
async fn the_owner_mends_the_company_and_nobody_else_does() {
    let world = World::new().await;
    let owner = world.owner().await;
    assert!(owner.get("/company").await.page().contains("MB-00000"));
    let mut fields = vec![
        ("company", "Bellwether Plant Care"),
        ("street", "5 Orchard Row"),
        ("city", "Quillan Springs"),
        ("state", "CA"),
        ("zip", "93499"),
        ("phone", "805-555-0100"),
        ("license_number", "MB-00001"),
        ("time_zone", "Nowhere/Here"),
    ];
    let refused = owner.post("/company", &fields).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("Write the zone") && refused.body.contains("5 Orchard Row"));
    fields[7].1 = "America/New_York";
    owner.post("/company", &fields).await.went_to("/company");
    assert!(owner.get("/company").await.page().contains("MB-00001"));
    assert_eq!(world.office().await.get("/company").await.status, StatusCode::NOT_FOUND);
}
