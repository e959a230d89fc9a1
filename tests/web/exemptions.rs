//! Land that a regulator exempts, pests that a state lists, and courses that a state asks for.
//!
//! The rules asked here and their sources stand in the program's own table: Vermont 6 V.S.A. 1105c(a)(4), Maine
//! 01-026 ch. 41 s. 6, New York ECL 33-1301(13) (its next step is 31 December 2026).
use crate::support::{Visitor, World};
use crate::yard::{Yard, book, certify_in, refused};
use axum::http::StatusCode;
use uuid::Uuid;

/// The company at work in another state: owner and technician certified there.
async fn company(state: &'static str) -> (World, Visitor, Visitor, Visitor, Yard) {
    let world = World::new().await;
    let owner = world.owner().await;
    let (office, ines) = (world.office().await, world.technician().await);
    let yard = Yard::new(&world, &owner).await;
    for person in [owner.id, ines.id] {
        certify_in(&world, person, state).await;
    }
    yard.moved_to(&world, state).await;
    (world, owner, office, ines, yard)
}

fn exemption<'a>(id: &'a str, from: &'a str, until: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("id", id),
        ("ingredient", "Imidacloprid"),
        ("from", from),
        ("until", until),
        ("document", "2026-114"),
        ("exemption_reason", "an invasive scale"),
    ]
}

#[tokio::test]
async fn exempt_land_becomes_plannable_until_the_exemption_ends() {
    let (world, owner, office, ines, yard) = company("VT").await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    assert_eq!(yard.due_on(&world, hedge).await, None, "barred for good");
    let (_, barred) = book(&office, &yard, (ines.id, None), "2026-12-01", hedge).await;
    assert!(refused(&barred).contains("6 V.S.A. 1105c(a)(4)"));
    let path = format!("/sites/{}/exemptions", yard.site);
    assert!(owner.get(&path).await.page().contains("None entered."));
    let id = Uuid::now_v7().to_string();
    let backwards = owner.post(&path, &exemption(&id, "2027-01-31", "2026-11-01")).await;
    assert!(refused(&backwards).contains("The last day comes before the first."));
    assert!(backwards.body.contains("value=\"2026-114\"") && backwards.body.contains("an invasive scale"));
    let uncertified = office.post(&path, &exemption(&id, "2026-11-01", "2027-01-31")).await;
    assert!(refused(&uncertified).contains("Only somebody with a current certification"));
    for _ in 0..2 {
        owner.post(&path, &exemption(&id, "2026-11-01", "2027-01-31")).await.went_to(&path);
    }
    let page = owner.get(&path).await;
    assert_eq!(page.page().matches("2026-114").count(), 1, "sent twice, entered once");
    assert!(page.body.contains("In force") && page.body.contains("Maren Quist"));
    assert!(owner.get(&format!("/sites/{}", yard.site)).await.page().contains("1 in force"));
    assert_eq!(yard.due_on(&world, hedge).await.unwrap().to_string(), "2026-11-25");
    let (_, late) = book(&office, &yard, (ines.id, None), "2027-02-01", hedge).await;
    assert!(refused(&late).contains("6 V.S.A. 1105c(a)(4)"), "the day after the exemption");
    let (visit, booked) = book(&office, &yard, (ines.id, None), "2027-01-31", hedge).await;
    booked.went_to(&visit);
    let ends = format!("{path}/{id}/ends");
    assert!(refused(&owner.post(&ends, &[]).await).contains("Please fill this in."));
    owner.post(&ends, &[("reason", "withdrawn by the agency")]).await.went_to(&path);
    let second = yard.hedge(&world, "back hedge", 2).await;
    assert_eq!(yard.due_on(&world, second).await, None, "barred again");
    assert!(owner.get(&path).await.page().contains("withdrawn by the agency"));
    assert_eq!(owner.post(&ends, &[("reason", "once more")]).await.status, StatusCode::NOT_FOUND);
    let deeds: Vec<String> = sqlx::query_scalar("select deed from audit where noun = 'parcel' order by id")
        .fetch_all(&world.pool)
        .await
        .unwrap();
    assert_eq!(deeds, ["exemption entered", "exemption ended"]);
}

#[tokio::test]
async fn an_exemption_of_another_ingredient_opens_nothing() {
    let (world, owner, office, ines, yard) = company("VT").await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    let path = format!("/sites/{}/exemptions", yard.site);
    let id = Uuid::now_v7().to_string();
    let mut fields = exemption(&id, "2026-11-01", "2027-01-31");
    fields[1].1 = "dinotefuran";
    owner.post(&path, &fields).await.went_to(&path);
    let (_, barred) = book(&office, &yard, (ines.id, None), "2026-12-01", hedge).await;
    assert!(refused(&barred).contains("6 V.S.A. 1105c(a)(4)"));
}

async fn listed(owner: &Visitor, mark: &str) -> Uuid {
    let id = Uuid::now_v7();
    let named = id.to_string();
    let fields = [
        ("id", named.as_str()),
        ("state", "ME"),
        ("pest", "Aphids"),
        ("source", "the state's list"),
        ("mark", mark),
    ];
    owner.post("/listed-pests", &fields).await.went_to("/listed-pests");
    id
}

#[tokio::test]
async fn a_listed_pest_opens_what_the_state_bars_once_its_list_was_read() {
    let (world, owner, office, ines, yard) = company("ME").await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    assert!(owner.get("/listed-pests").await.page().contains("None entered."), "it ships empty");
    let id = listed(&owner, "unverified").await;
    assert!(owner.get("/listed-pests").await.page().contains("Unverified: opens nothing"));
    let (_, barred) = book(&office, &yard, (ines.id, None), "2026-12-01", hedge).await;
    assert!(refused(&barred).contains("01-026 ch. 41"));
    let taken = [
        ("id", "01980000-0000-7000-8000-000000000003"),
        ("state", "ME"),
        ("pest", "aphids"),
        ("source", "x"),
        ("mark", "checked"),
    ];
    assert!(refused(&owner.post("/listed-pests", &taken).await).contains("has it already"));
    assert!(refused(&office.post("/listed-pests", &taken).await).contains("current certification"));
    owner.post(&format!("/listed-pests/{id}/removals"), &[]).await.went_to("/listed-pests");
    listed(&owner, "part-checked").await;
    assert_eq!(yard.due_on(&world, hedge).await.unwrap().to_string(), "2026-11-25");
    let (visit, booked) = book(&office, &yard, (ines.id, None), "2026-12-01", hedge).await;
    booked.went_to(&visit);
}

fn course<'a>(id: &'a str, taken: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("id", id),
        ("course_name", "Neonicotinoid use"),
        ("course_state", "NY"),
        ("proof", "NY-7781"),
        ("taken_on", taken),
        ("form", "course"),
    ]
}

#[tokio::test]
async fn new_york_asks_whether_the_course_counts_on_the_day_of_the_visit() {
    let (world, owner, office, ines, yard) = company("NY").await;
    let site = format!("/sites/{}/exemptions", yard.site);
    let id = Uuid::now_v7().to_string();
    owner.post(&site, &exemption(&id, "2026-01-01", "2027-12-31")).await.went_to(&site);
    let (first, second) =
        (yard.hedge(&world, "front hedge", 1).await, yard.hedge(&world, "back hedge", 1).await);
    let (visit, booked) = book(&office, &yard, (ines.id, None), "2026-12-30", first).await;
    booked.went_to(&visit);
    let who = (ines.id, None);
    let (_, without) = book(&office, &yard, who, "2026-12-31", second).await;
    assert!(refused(&without).contains("approved course within a year"), "{}", without.body);
    let person = format!("/people/{}", ines.id);
    let courses = format!("{person}/courses");
    let (early, late) = (Uuid::now_v7().to_string(), Uuid::now_v7().to_string());
    owner.post(&courses, &course(&early, "2025-12-30")).await.went_to(&person);
    let (_, expired) = book(&office, &yard, who, "2026-12-31", second).await;
    assert!(refused(&expired).contains("approved course within a year"), "it ran out the day before");
    let ahead = owner.post(&courses, &course(&late, "2026-11-26")).await;
    assert!(refused(&ahead).contains("still to come") && ahead.body.contains("NY-7781"));
    for _ in 0..2 {
        owner.post(&courses, &course(&late, "2026-03-03")).await.went_to(&person);
    }
    assert!(owner.get(&person).await.page().contains("Mar 3, 2027"), "a year after it was taken");
    let (visit, booked) = book(&office, &yard, who, "2026-12-31", second).await;
    booked.went_to(&visit);
    let moves = format!("{visit}/moves");
    let technician = ines.id.to_string();
    let moved = office.post(&moves, &[("on", "2027-03-04"), ("technician", &technician)]).await;
    assert!(refused(&moved).contains("approved course within a year"), "{}", moved.body);
    office.post(&moves, &[("on", "2027-03-03"), ("technician", &technician)]).await.went_to(&visit);
    let other = owner.id.to_string();
    let moved = office.post(&moves, &[("on", "2027-03-03"), ("technician", &other)]).await;
    assert!(refused(&moved).contains("approved course within a year"), "the course is hers, not the owner's");
}
