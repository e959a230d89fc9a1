//! Two people at one record, and one form sent again with other words.
use crate::{
    places::{self, IDS, customer_fields, plant_fields, site_fields, with},
    support::{
        Answer, Visitor, World,
        product::{Fields, drench, label, product},
        seen,
    },
};
use axum::http::StatusCode;
use plantward::db::label as labels;
use uuid::Uuid;

fn fields(form: &places::Fields<'_>) -> Fields {
    Fields::of(form)
}

/// Tobias opens the form, Per saves `theirs`, then Tobias sends `ours`: it comes back as typed and says what
/// Per saved, and goes through when it is sent again.
async fn both(world: &World, at: &str, to: &str, theirs: Fields, ours: Fields, told: &str, typed: &str) {
    let tobias = world.sign_in(&format!("Tobias {at}"), plantward::domain::user::Role::Office).await;
    let per = world.sign_in(&format!("Per {at}"), plantward::domain::user::Role::Office).await;
    let opened = seen(tobias.get(&format!("{at}/edit")).await.page());
    theirs.change(&per, at).await.went_to(to);
    // The same form sent twice is no conflict.
    let again = theirs.clone().with("seen", &opened);
    again.send(&per, at).await.went_to(to);
    let stale = ours.clone().with("seen", &opened).send(&tobias, at).await;
    assert_eq!(stale.status, StatusCode::UNPROCESSABLE_ENTITY, "{at}");
    for words in ["Somebody else changed this meanwhile.", told, typed] {
        assert!(stale.body.contains(words), "{at}: {words}\n{}", stale.body);
    }
    assert_eq!(
        ours.send(&tobias, at).await.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "it names nothing seen"
    );
    ours.with("seen", &seen(&stale.body)).send(&tobias, at).await.went_to(to);
}

#[tokio::test]
async fn nobody_writes_over_what_another_saved_meanwhile() {
    let world = World::new().await;
    let tobias = world.office().await;
    let (farrant, tamber, hedge) = (IDS[0], IDS[1], IDS[2]);
    places::customer(&tobias, farrant, "Odile Farrant").await;
    places::site(&tobias, farrant, tamber, "14 Tamber Lane").await;
    places::plant(&tobias, tamber, hedge, "front hedge").await;
    let (of, version) = world.drafted(&tobias).await;

    let one = customer_fields(farrant, "Odile Farrant");
    let theirs = fields(&with(&one, "phone", "805-555-0177"));
    let ours = fields(&with(&one, "city", "Larkspur"));
    let at = format!("/customers/{farrant}");
    both(&world, &at, &at, theirs, ours, "Saved meanwhile: 805-555-0177", "value=\"Larkspur\"").await;

    let one = site_fields(tamber, "14 Tamber Lane");
    let theirs = with(&one, "lot_sqft", "9000");
    let theirs =
        fields(&theirs).with("window_day", "3").with("window_from", "08:00").with("window_to", "12:00");
    let ours = fields(&with(&one, "access_note", "Gate on the left"));
    let at = format!("/sites/{tamber}");
    both(&world, &at, &at, theirs, ours, "Saved meanwhile: Wednesday", "Gate on the left").await;

    let one = plant_fields(hedge, "front hedge");
    let theirs = fields(&with(&one, "count", "38"));
    let ours = fields(&with(&one, "height_ft", "9"));
    let at = format!("/plants/{hedge}");
    both(&world, &at, &at, theirs, ours, "Saved meanwhile: 38", "value=\"9\"").await;

    let (theirs, ours) = (product(of, "Rootguard Due", "99999-12"), product(of, "Rootguard Two", "99999-13"));
    let at = format!("/products/{of}");
    both(&world, &at, &at, theirs, ours, "Saved meanwhile: Rootguard Due", "value=\"99999-13\"").await;

    let theirs = label(version).with("ingredient-1-strength", "2.5");
    let ours = label(version).with("clothing", "Goggles");
    let at = format!("/label-versions/{version}");
    both(&world, &at, &at, theirs, ours, "Saved meanwhile: 2.5", "Goggles").await;

    let mut conn = world.pool.acquire().await.unwrap();
    let use_id = labels::load(&mut conn, version).await.unwrap().unwrap().uses[0].id;
    let (theirs, ours) = (drench(use_id).with("rate_high", "7"), drench(use_id).with("pests", "Scale"));
    both(
        &world,
        &format!("/label-uses/{use_id}"),
        &at,
        theirs,
        ours,
        "Saved meanwhile: 7",
        "value=\"Scale\"",
    )
    .await;
}

/// Fails unless the form was refused with a link to the record that is there.
fn leads_to(answer: &Answer, at: &str) {
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{at}");
    let said = format!("This is already entered, and says something else than this form. <a href=\"{at}\">");
    assert!(answer.body.contains(&said), "{said}\n{}", answer.body);
}

#[tokio::test]
async fn a_form_sent_again_with_other_words_is_told_what_is_there() {
    let world = World::new().await;
    let tobias: Visitor = world.office().await;
    let (farrant, tamber, hedge) = (IDS[0], IDS[1], IDS[2]);
    for _ in 0..2 {
        places::customer(&tobias, farrant, "Odile Farrant").await;
        places::site(&tobias, farrant, tamber, "14 Tamber Lane").await;
        places::plant(&tobias, tamber, hedge, "front hedge").await;
    }
    let of = Uuid::now_v7();
    product(of, "Rootguard Two", "99999-12").send(&tobias, "/products").await;
    let other = tobias.post("/customers", &customer_fields(farrant, "Bram Odell")).await;
    leads_to(&other, &format!("/customers/{farrant}"));
    assert!(other.body.contains("value=\"Bram Odell\""), "as typed");
    let sites = format!("/customers/{farrant}/sites");
    let one = site_fields(tamber, "14 Tamber Lane");
    for (name, value) in [("city", "Larkspur"), ("lot_sqft", "9000")] {
        leads_to(&tobias.post(&sites, &with(&one, name, value)).await, &format!("/sites/{tamber}"));
    }
    let other = with(&plant_fields(hedge, "front hedge"), "count", "41");
    leads_to(&tobias.post(&format!("/sites/{tamber}/plants"), &other).await, &format!("/plants/{hedge}"));
    let other = product(of, "Rootguard Three", "99999-12").send(&tobias, "/products").await;
    leads_to(&other, &format!("/products/{of}"));
    assert!(tobias.get(&format!("/customers/{farrant}")).await.page().contains("Odile Farrant"));
}

/// What stands at the hedge in the list of due days and at its own page.
async fn stands(world: &World, hedge: &str) -> i64 {
    sqlx::query_scalar("select count(*) from due where plant_id = $1")
        .bind(hedge.parse::<Uuid>().unwrap())
        .fetch_one(&world.pool)
        .await
        .unwrap()
}

#[tokio::test]
async fn a_product_that_plants_use_is_retired_knowingly_and_leaves_them_without_a_day() {
    let world = World::new().await;
    let tobias = world.office().await;
    let (farrant, tamber, hedge) = (IDS[0], IDS[1], IDS[2]);
    places::customer(&tobias, farrant, "Odile Farrant").await;
    places::site(&tobias, farrant, tamber, "14 Tamber Lane").await;
    places::certify(&world, tobias.id, "2027-06-30").await;
    let choice = places::product(&world, "Rootward 2F", "99999-1", tobias.id, Some(tobias.id)).await;
    let treated = with(&plant_fields(hedge, "front hedge"), "treatment", &choice);
    tobias.post(&format!("/sites/{tamber}/plants"), &treated).await.went_to(&format!("/sites/{tamber}"));
    assert_eq!(stands(&world, hedge).await, 1);
    let at = format!("/products/{}", choice.split(':').next().unwrap());
    assert!(tobias.get(&at).await.page().contains("These plants stay without treatment"));
    let refused = tobias.post(&format!("{at}/retirements"), &[]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("1 plant record is meant to get it. Tick the box"), "{}", refused.body);
    assert_eq!(stands(&world, hedge).await, 1, "nothing happened yet");
    for _ in 0..2 {
        tobias.post(&format!("{at}/retirements"), &[("without", "yes")]).await.went_to(&at);
    }
    assert_eq!(stands(&world, hedge).await, 0);
    let plant = tobias.get(&format!("/plants/{hedge}")).await;
    assert!(plant.page().contains("Without treatment: its product is retired"));
    assert!(tobias.get("/due?show=unplanned").await.page().contains("front hedge"));
    let more = with(&with(&treated, "id", IDS[3]), "place", "side bed");
    let chosen = tobias.post(&format!("/sites/{tamber}/plants"), &more).await;
    assert!(chosen.body.contains("This product is retired; choose another one."), "{}", chosen.body);
    tobias.post(&format!("{at}/returns"), &[]).await.went_to(&at);
    assert_eq!(stands(&world, hedge).await, 1);
    assert!(!tobias.get(&format!("/plants/{hedge}")).await.page().contains("its product is retired"));
}
