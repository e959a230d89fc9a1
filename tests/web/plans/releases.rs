//! Releasing: booked once, moved where it was booked, refused with the reason, seen by the technician.
use super::town::{Town, WEEK};
use axum::http::StatusCode;

#[tokio::test]
async fn a_released_plan_is_the_technicians_list_in_order() {
    let town = Town::new().await;
    let [_, second, _] = town.three().await;
    let visit = town.booked(second, town.ines.id, "2026-12-03").await;
    town.planned().await;
    for street in ["1 Quarry Road", "2 Quarry Road", "3 Quarry Road"] {
        if town.stand(street).await.on_date.unwrap().to_string() != "2026-12-02" {
            assert_eq!(town.move_to(street, town.ines.id, "2026-12-02").await.status, StatusCode::SEE_OTHER);
        }
    }
    town.release().await.went_to(WEEK);
    let released = town.office.get(WEEK).await;
    assert!(released.page().contains("Released") && !released.body.contains("Release to the technicians"));
    assert_eq!(town.count("select count(*) from visit where on_date = '2026-12-02'").await, 3);
    assert_eq!(
        town.count(&format!("select count(*) from visit where id = '{visit}' and stop_number is not null"))
            .await,
        1
    );
    let list = town.ines.get("/visits").await;
    let stands = town.stands().await;
    let places: Vec<usize> = stands.iter().map(|s| list.page().find(&s.street).unwrap()).collect();
    assert!(places.is_sorted(), "{stands:?} {}", list.body);
    for (number, stand) in (1..).zip(&stands) {
        let time = stand.arrives_at.unwrap().format("%-I:%M %P");
        assert!(list.body.contains(&format!("stop {number}, {time} – ")), "{}", list.body);
    }
    // Again, and again: nothing twice.
    let before = town.count("select count(*) from planned_dose").await;
    town.release().await.went_to(WEEK);
    town.release().await.went_to(WEEK);
    assert_eq!(town.count("select count(*) from visit").await, 3);
    assert_eq!(town.count("select count(*) from planned_dose").await, before);
    // A change after the release is seen as one, and the release moves the visit.
    town.move_to("1 Quarry Road", town.ines.id, "2026-12-04").await;
    assert!(town.office.get(WEEK).await.page().contains("Changed since its release"));
    town.release().await.went_to(WEEK);
    assert_eq!(
        town.count("select count(*) from visit where on_date = '2026-12-04' and stop_number = 1").await,
        1
    );
    assert_eq!(town.count("select count(*) from visit").await, 3);
}

#[tokio::test]
async fn what_the_rules_refuse_by_then_says_why_and_stays() {
    let town = Town::new().await;
    town.three().await;
    town.planned().await;
    // Somebody answered the question about food meanwhile.
    town.sql(
        "update plant set eaten = 'yes' where site_id = (select id from site where street = '2 Quarry Road')",
    )
    .await;
    town.release().await.went_to(WEEK);
    let page = town.office.get(WEEK).await;
    assert!(page.page().contains("Refused:"), "{}", page.body);
    assert_eq!(town.count("select count(*) from visit").await, 2);
    let stays = town.stand("2 Quarry Road").await;
    assert!(stays.position.is_some() && stays.unserved_why.contains("food"), "{stays:?}");
    town.sql("update plant set eaten = 'no'").await;
    town.release().await.went_to(WEEK);
    assert_eq!(town.count("select count(*) from visit").await, 3);
    assert_eq!(town.stand("2 Quarry Road").await.unserved_why, "");
}

#[tokio::test]
async fn nothing_is_released_while_it_is_calculated_or_empty() {
    let town = Town::new().await;
    town.start(&[town.ines.id]).await.went_to(WEEK);
    let early = town.release().await;
    assert!(early.body.contains("is being calculated"), "{}", early.body);
    plantward::actions::plan::work_one(&town.world.doer(), super::town::ROUNDS).await.unwrap();
    let empty = town.release().await;
    assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(empty.body.contains("No stop stands on a day"), "{}", empty.body);
}
