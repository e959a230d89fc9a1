//! Changes by hand: with their effect, within every limit, by two people at once.
use super::town::{Town, WEEK};
use axum::http::StatusCode;

/// The streets of one day in order.
async fn order(town: &Town) -> Vec<String> {
    town.stands().await.into_iter().filter(|s| s.position.is_some()).map(|s| s.street).collect()
}

#[tokio::test]
async fn stops_are_moved_locked_and_planned_around_by_buttons() {
    let town = Town::new().await;
    town.three().await;
    town.planned().await;
    let before = order(&town).await;
    let middle = before[1].clone();
    let at = format!("{WEEK}#s-{}", town.stand(&middle).await.id);
    town.step(&middle, &[("step", "earlier")]).await.went_to(&at);
    assert_eq!(order(&town).await, [before[1].clone(), before[0].clone(), before[2].clone()]);
    let times: Vec<_> = town.stands().await.iter().map(|s| (s.arrives_at, s.leaves_at)).collect();
    assert!(times.windows(2).all(|pair| pair[0].1 < pair[1].0), "the times follow: {times:?}");
    let first = town.step(&middle, &[("step", "earlier")]).await;
    assert_eq!(first.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(first.body.contains("the first of its day already"), "{}", first.body);
    town.step(&middle, &[("step", "later")]).await.went_to(&at);
    assert_eq!(order(&town).await, before);
    // To Friday, with the effect told beforehand and afterwards: the middle one lies on the way of the last.
    let form = town.office.get(&format!("{WEEK}/stops/{}", town.stand("2 Quarry Road").await.id)).await;
    assert!(form.page().contains("Move here") && form.body.contains("more driving."), "{}", form.body);
    town.move_to("2 Quarry Road", town.ines.id, "2026-12-04").await;
    let moved = town.stand("2 Quarry Road").await;
    assert_eq!(moved.on_date.unwrap().to_string(), "2026-12-04");
    let told: String = sqlx::query_scalar(
        "select detail->>'words' from audit where noun = 'week_plan' order by id desc limit 1",
    )
    .fetch_one(&town.world.pool)
    .await
    .unwrap();
    // There and back again: 2 x 0.02 x 69.0934 x 1.3 = 3.593 miles.
    assert_eq!(told, "2 Quarry Road goes to Ines Okoro, 2026-12-04: 7 minutes and 3.6 miles more driving.");
    // Locked there, it stays when all others are planned anew.
    town.step("2 Quarry Road", &[("step", "lock")]).await;
    let refused = town.step("2 Quarry Road", &[("step", "remove")]).await;
    assert!(refused.body.contains("This stop is locked; unlock it first."), "{}", refused.body);
    town.replanned().await;
    let locked = town.stand("2 Quarry Road").await;
    assert_eq!((locked.on_date, locked.starts_at, locked.locked), (moved.on_date, moved.starts_at, true));
    // The others stay on Monday: lost protection counts more than a second trip.
    for street in ["1 Quarry Road", "3 Quarry Road"] {
        assert_eq!(town.stand(street).await.on_date.unwrap().to_string(), "2026-11-30");
    }
    town.step("2 Quarry Road", &[("step", "unlock")]).await;
    town.step("2 Quarry Road", &[("step", "remove")]).await.went_to(WEEK);
    assert_eq!(town.stands().await.len(), 2);
    town.replanned().await;
    assert_eq!(town.stands().await.len(), 2, "what was removed stays out until the week is gathered anew");
    town.planned().await;
    assert_eq!(town.stands().await.len(), 3);
}

#[tokio::test]
async fn each_limit_that_a_move_would_break_is_named_and_nothing_moves() {
    let town = Town::new().await;
    let [quarry, second, third] = town.three().await;
    let per = town.another("Per Aldous", false).await;
    let promised = town.booked(quarry, town.ines.id, "2026-12-01").await;
    town.sql(&format!("update visit set promised = true where id = '{promised}'")).await;
    // Open on Mondays and Thursdays until nine; notice a week ahead.
    for day in [1, 4] {
        town.sql(&format!("insert into site_window (site_id, weekday, opens, closes) values ('{second}', {day}, '08:00', '09:00')")).await;
    }
    town.sql(&format!(
        "update site set notice_hours = 168, notice_reason = 'Neighbours within 50 feet' where id = '{third}'"
    ))
    .await;
    town.sql(&format!(
        "insert into day_hold (id, on_date, state, county, reason, placed_by, placed_at)
         values ('01890a5d-ac96-774b-bcce-b302099a8057', '2026-12-04', 'CA', 'San Luis Obispo', 'Soil saturated', '{}', now())",
        town.owner.id
    ))
    .await;
    town.planned_with(&[town.ines.id, per]).await;
    let before = town.stands().await;
    assert!(before.iter().all(|s| s.technician_id == Some(town.ines.id)), "Per is not certified: {before:?}");
    let ines = town.ines.id;
    for (street, technician, on, words) in [
        ("1 Quarry Road", ines, "2026-12-03", "The customer was promised Dec 1, 2026."),
        ("2 Quarry Road", ines, "2026-12-04", "Nothing is applied there on Dec 4, 2026: Soil saturated."),
        ("2 Quarry Road", ines, "2026-12-02", "2 Quarry Road may not be entered on Dec 2, 2026"),
        (
            "3 Quarry Road",
            ines,
            "2026-12-01",
            "Notice must be given 168 hours before (Neighbours within 50 feet): not before Dec 2, 2026.",
        ),
        ("3 Quarry Road", per, "2026-12-03", "12838(c)(2)"),
        ("3 Quarry Road", ines, "2026-12-05", "does not work on that day"),
    ] {
        let refused = town.move_to(street, technician, on).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{street} {on}");
        assert!(refused.body.contains(words), "{words}: {}", refused.body);
    }
    assert_eq!(town.stands().await, before);
    // The tank: each stop takes 2.114 gal.
    town.sql("update plan_day set tank_gal = 3").await;
    town.sql("delete from day_hold").await;
    let (_, free) =
        (town.move_to("3 Quarry Road", ines, "2026-12-04").await, town.stand("3 Quarry Road").await);
    assert_eq!(free.on_date.unwrap().to_string(), "2026-12-04");
    town.sql("delete from site_window").await;
    let full = town.move_to("2 Quarry Road", ines, "2026-12-04").await;
    assert!(full.body.contains("would take 4.228 gal of water; the tank holds 3."), "{}", full.body);
    // The hours of the day.
    town.sql("update plan_day set tank_gal = null, ends = '08:30', break_minutes = 0, break_from = null, break_until = null where on_date = '2026-12-04'").await;
    let long = town.move_to("2 Quarry Road", ines, "2026-12-04").await;
    assert!(long.body.contains("ends at 8:30 am; this would take"), "{}", long.body);
    let choices = town.office.get(&format!("{WEEK}/stops/{}", free.id)).await;
    assert!(
        choices.page().contains("Not possible:") && choices.body.contains("12838(c)(2)"),
        "{}",
        choices.body
    );
}

#[tokio::test]
async fn of_two_planners_the_second_is_told_what_the_first_did() {
    let town = Town::new().await;
    town.three().await;
    town.planned().await;
    let opened = town.version().await;
    let at = format!("{WEEK}/stops/{}", town.stand("3 Quarry Road").await.id);
    let maren = town.owner.post(&at, &[("step", "lock"), ("version", &opened)]).await;
    assert_eq!(maren.status, StatusCode::SEE_OTHER);
    let before = town.stands().await;
    for fields in [
        vec![("step", "remove"), ("version", opened.as_str())],
        vec![
            ("step", "move"),
            ("technician", "01890a5d-ac96-774b-bcce-b302099a8057"),
            ("on", "2026-12-04"),
            ("version", &opened),
        ],
    ] {
        let late = town.step("1 Quarry Road", &fields).await;
        assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
        for words in ["changed meanwhile", "Maren Quist at 10:00 am: 3 Quarry Road is locked"] {
            assert!(late.body.contains(words), "{words}: {}", late.body);
        }
        let fresh = format!("name=\"version\" value=\"{}\"", town.version().await);
        assert!(late.body.contains(&fresh), "it can be decided again: {}", late.body);
    }
    let late = town.office.post(&format!("{WEEK}/releases"), &[("version", &opened)]).await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!((town.stands().await, town.count("select count(*) from visit").await), (before, 0));
}

#[tokio::test]
async fn a_site_is_added_where_it_costs_least() {
    let town = Town::new().await;
    town.three().await;
    town.planned().await;
    let late = town.site("9 Mill Lane", 25, 1).await;
    let add = format!("{WEEK}/stops/new");
    assert!(town.office.get(&add).await.page().contains("Search for the site."));
    let found = town.office.get(&format!("{add}?q=mill")).await;
    assert!(found.page().contains("9 Mill Lane") && !found.body.contains("1 Quarry Road"), "{}", found.body);
    let (site, version) = (late.to_string(), town.version().await);
    let fields = [("site", site.as_str()), ("version", &version), ("q", "mill")];
    town.office.post(&format!("{WEEK}/stops"), &fields).await.went_to(WEEK);
    let (added, all) = (town.stand("9 Mill Lane").await, town.stands().await);
    assert!(all.iter().all(|s| s.on_date == added.on_date), "on the way of the others: {all:?}");
    let version = town.version().await;
    let again = [("site", site.as_str()), ("version", &version), ("q", "mill")];
    let again = town.office.post(&format!("{WEEK}/stops"), &again).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(again.body.contains("stands in the plan already"), "{}", again.body);
}
