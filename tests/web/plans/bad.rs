//! Bad input is named at the stop, and the rest is planned.
use super::town::{Town, WEEK};
use axum::http::StatusCode;

#[tokio::test]
async fn each_trouble_is_named_and_the_others_are_planned() {
    let town = Town::new().await;
    let [nowhere, narrow, food] = town.three().await;
    town.site("4 Quarry Road", 40, 0).await;
    let unmeasured = town.site("5 Quarry Road", 50, 0).await;
    let cancelled = town.site("6 Quarry Road", 60, 0).await;
    town.sql(&format!("update site set latitude = null, longitude = null where id = '{nowhere}'")).await;
    town.sql(&format!("update site set service_minutes = 90 where id = '{narrow}'")).await;
    town.sql(&format!(
        "insert into site_window (site_id, weekday, opens, closes) values ('{narrow}', 2, '09:00', '10:00')"
    ))
    .await;
    town.sql(&format!("update plant set eaten = 'yes' where site_id = '{food}'")).await;
    let visit = town.booked(unmeasured, town.ines.id, "2026-12-01").await;
    town.sql(&format!("update plant set height_ft = null where site_id = '{unmeasured}'")).await;
    town.booked(cancelled, town.ines.id, "2026-12-01").await;
    town.start(&[town.ines.id]).await.went_to(WEEK);
    town.sql("update visit set status = 'cancelled', closed_at = now() where site_id = (select id from site where street = '6 Quarry Road')").await;
    plantward::actions::plan::work_one(&town.world.doer(), super::town::ROUNDS).await.unwrap();
    for (street, words) in [
        ("1 Quarry Road", "Its position is not known"),
        ("2 Quarry Road", "takes 90 minutes, and the site is never open for longer than 60"),
        ("3 Quarry Road", "food"),
        ("5 Quarry Road", "height is not measured"),
        ("6 Quarry Road", "Its visit is cancelled by now."),
    ] {
        let stand = town.stand(street).await;
        assert!(stand.position.is_none() && stand.unserved_why.contains(words), "{words}: {stand:?}");
        assert!(town.office.get(WEEK).await.page().contains(street));
    }
    assert!(town.stand("4 Quarry Road").await.position.is_some());
    assert_eq!(
        town.count(&format!("select count(*) from visit where id = '{visit}' and status = 'booked'")).await,
        1
    );
    let form = town.office.get(&format!("{WEEK}/stops/{}", town.stand("1 Quarry Road").await.id)).await;
    assert!(form.page().contains("Its position is not known"), "{}", form.body);
}

#[tokio::test]
async fn a_plant_that_does_not_go_with_the_others_is_named_and_they_are_planned() {
    let town = Town::new().await;
    let site = town.site("1 Quarry Road", 10, 0).await;
    // Two hedges of 5 and 6: 5 x 8 ft x 3 mL = 120 mL each at least, 144 mL, and the cap leaves 189.27 mL.
    town.sql("update plant set count = 5").await;
    for (place, count, height) in [("back", 6, "8"), ("side", 1, "null")] {
        town.sql(&format!(
            "insert into plant (id, site_id, place, host_plant, kind, count, height_ft, target_pest, eaten,
                food_in_root_zone, product_id, use_code, created_at)
             values (gen_random_uuid(), '{site}', '{place}', 'Podocarpus', 'hedge', {count}, {height}, 'aphids', 'no',
                'no', '{}', 'shrub-drench', now())",
            town.yard.product
        ))
        .await;
    }
    let mut tx = town.world.pool.begin().await.unwrap();
    plantward::actions::due::recompute_site(&mut tx, &town.world.doer(), site).await.unwrap();
    // The two compete for the cap; both are said to be due now, as when nobody has looked yet.
    sqlx::query("update due set due_on = '2026-11-25', allowed_on = '2026-11-25', held_by = '{}'")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    town.planned().await;
    let stop = town.stand("1 Quarry Road").await;
    assert!(stop.position.is_some(), "{stop:?}");
    assert_eq!(town.count("select count(*) from plan_stop_plant").await, 1);
    let page = town.office.get(WEEK).await;
    for words in ["is due as well and does not go with the others", "Podocarpus, side is not measured"] {
        assert!(page.page().contains(words), "{words}: {}", page.body);
    }
    town.release().await.went_to(WEEK);
    assert_eq!(town.count("select count(*) from planned_dose").await, 1);
}

#[tokio::test]
async fn people_without_hours_are_named_and_never_given_any() {
    let town = Town::new().await;
    town.three().await;
    let per = town.world.person("Per Aldous", plantward::domain::user::Role::Technician).await;
    let page = town.office.get(WEEK).await;
    assert!(page.page().contains("no working hours are entered"), "{}", page.body);
    assert!(!page.body.contains(&format!("value=\"{per}\"")), "nobody can choose Per");
    let refused = town.start(&[per]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("enter their working hours"), "{}", refused.body);
    assert_eq!(town.count("select count(*) from week_plan").await, 0, "nothing was begun");
    let nobody = town.start(&[]).await;
    assert!(nobody.body.contains("Choose at least one person"), "{}", nobody.body);
    town.planned_with(&[town.ines.id, per]).await;
    assert_eq!(town.count(&format!("select count(*) from plan_day where technician_id = '{per}'")).await, 0);
    let planned = town.office.get(WEEK).await;
    assert!(planned.page().contains("Per Aldous</a> (no working hours are entered)"), "{}", planned.body);
    town.sql("update company set latitude = null, longitude = null").await;
    assert!(
        town.office.get("/plans/2026-12-07").await.page().contains("nobody has said where the day begins")
    );
}

#[tokio::test]
async fn weeks_that_are_none_are_not_there_and_past_ones_are_over() {
    let town = Town::new().await;
    for path in ["/plans/2026-12-01", "/plans/zebra", "/plans/0001-01-01", "/plans/2026-11-30/stops/new"] {
        assert_eq!(town.office.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    assert!(town.office.get("/plans/2026-11-16").await.page().contains("This week is over"));
    assert!(town.office.get("/plans").await.page().contains("No week is planned yet"));
    let fields = [
        ("id", "01890a5d-ac96-774b-bcce-b302099a8057"),
        ("version", "0"),
        ("seconds", "5"),
        ("gather", "yes"),
    ];
    let ines = town.ines.id.to_string();
    let fields = [&fields[..], &[("technicians", ines.as_str())]].concat();
    let over = town.office.post("/plans/2026-11-16/runs", &fields).await;
    assert_eq!(over.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", over.body);
    town.three().await;
    town.planned().await;
    let list = town.office.get("/plans").await;
    assert!(list.page().contains("Nov 30, 2026") && list.body.contains("Not released"), "{}", list.body);
}
