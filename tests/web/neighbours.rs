//! Who is told before something is applied at a site.
use crate::{support::World, yard::Yard};
use axum::http::StatusCode;
use uuid::Uuid;

#[tokio::test]
async fn a_neighbour_is_put_on_the_list_changed_and_taken_off() {
    let world = World::new().await;
    let owner = world.owner().await;
    let office = world.office().await;
    let yard = Yard::new(&world, &owner).await;
    let (site, at) = (format!("/sites/{}", yard.site), format!("/sites/{}/neighbours", yard.site));
    assert!(office.get(&site).await.page().contains("nobody to tell"));
    assert!(office.get(&at).await.page().contains("Nobody yet."));
    let id = Uuid::now_v7().to_string();
    let fields =
        |name, mail| [("id", id.as_str()), ("name", name), ("phone", "805-555-0177"), ("email", mail)];
    let bad = office.post(&at, &fields("", "nobody")).await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(bad.body.contains("Please fill this in.") && bad.body.contains("This is not an e-mail address"));
    assert!(bad.body.contains("805-555-0177"), "nothing typed is lost");
    for _ in 0..2 {
        office.post(&at, &fields("Wilma Tarrant", "wilma@halden.test")).await.went_to(&at);
    }
    assert_eq!(office.get(&at).await.page().matches(">Wilma Tarrant<").count(), 1, "sent twice, listed once");
    let other = office.post(&at, &fields("Perrin Dale", "")).await;
    assert!(other.body.contains("already entered"), "{}", other.body);
    assert!(office.get(&site).await.page().contains("1 to tell"));
    let one = format!("{at}/{id}");
    let opened = office.get(&one).await;
    let seen = crate::support::seen(opened.page());
    let change = |name| [("seen", seen.as_str()), ("name", name), ("phone", ""), ("email", "")];
    office.post(&one, &change("Wilma Tarrant-Dale")).await.went_to(&at);
    let stale = office.post(&one, &change("W. Tarrant")).await;
    assert!(stale.body.contains("Saved meanwhile: Wilma Tarrant-Dale"), "{}", stale.body);
    office.post(&format!("{one}/removals"), &[]).await.went_to(&at);
    assert!(office.get(&at).await.page().contains("Nobody yet."));
    assert_eq!(office.get(&one).await.status, StatusCode::NOT_FOUND);
    let kept: i64 =
        sqlx::query_scalar("select count(*) from site_neighbour").fetch_one(&world.pool).await.unwrap();
    assert_eq!(kept, 1, "what was ticked on the spot may name them");
}

#[tokio::test]
async fn phones_with_a_booked_visit_hear_of_a_change_and_no_others() {
    let world = World::new().await;
    let owner = world.owner().await;
    let (office, ines) = (world.office().await, world.technician().await);
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    crate::yard::certify(&world, ines.id).await;
    let noted = "select count(*) from visit_change";
    let before: i64 = sqlx::query_scalar(noted).fetch_one(&world.pool).await.unwrap();
    let at = format!("/sites/{}/neighbours", yard.site);
    let add = async || {
        let id = Uuid::now_v7().to_string();
        office.post(&at, &[("id", id.as_str()), ("name", "Halden School")]).await.went_to(&at);
        sqlx::query_scalar::<_, i64>(noted).fetch_one(&world.pool).await.unwrap()
    };
    assert_eq!(add().await, before, "nobody is booked there");
    let (visit, booked) = crate::yard::book(&office, &yard, (ines.id, None), "2026-12-01", hedge).await;
    booked.went_to(&visit);
    let booked: i64 = sqlx::query_scalar(noted).fetch_one(&world.pool).await.unwrap();
    assert_eq!(add().await, booked + 1);
}
