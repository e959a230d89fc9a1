//! Calculating: gathered, watched, stopped, taken over, never written over a change.
use super::town::{ROUNDS, Stand, Town, WEEK};
use axum::http::StatusCode;
use chrono::{NaiveTime, TimeDelta, Timelike};
use plantward::{
    actions::plan::{Limit, work_one},
    db::plan,
};
use std::{collections::HashSet, time::Duration};
use uuid::Uuid;

/// Ines is certified to the Tuesday: whatever is due is planned by then, a site that opens on Wednesday only is not
/// planned at all, and nobody moves it there by hand.
#[tokio::test]
async fn who_is_certified_to_tuesday_is_planned_no_later() {
    let town = Town::new().await;
    let [_, second, _] = town.three().await;
    town.sql(&format!(
        "update certification set expires_on = '2026-12-01' where person_id = '{}'",
        town.ines.id
    ))
    .await;
    town.sql(&format!(
        "insert into site_window (site_id, weekday, opens, closes) values ('{second}', 3, '08:00', '17:00')"
    ))
    .await;
    town.planned().await;
    let last = "2026-12-01".parse().unwrap();
    let stands = town.stands().await;
    assert_eq!(stands.len(), 3);
    for stand in &stands {
        assert!(stand.on_date.is_none_or(|day| day <= last), "{stand:?}");
        assert_eq!(stand.on_date.is_none(), stand.street == "2 Quarry Road", "{stand:?}");
    }
    let refused = town.move_to("2 Quarry Road", town.ines.id, "2026-12-02").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("12838(c)(2)"), "{}", refused.body);
}

#[tokio::test]
async fn two_actions_from_the_due_list_to_a_planned_week() {
    let town = Town::new().await;
    let [_, second, _] = town.three().await;
    let due = town.office.get("/due").await;
    assert!(due.page().contains("href=\"/plans/2026-11-23\">Plan the week"), "{}", due.body);
    let empty = town.office.get(WEEK).await;
    for words in ["3 sites with plants due by", "Ines Okoro", "checked", "Plan the week"] {
        assert!(empty.page().contains(words), "{words}: {}", empty.body);
    }
    town.booked(second, town.ines.id, "2026-12-01").await;
    town.start(&[town.ines.id]).await.went_to(WEEK);
    let running = town.office.get(WEEK).await;
    assert!(running.page().contains("The week is being calculated") && running.body.contains("0 percent"));
    assert_eq!(running.headers["refresh"], "2", "it looks again by itself");
    let still = town.office.get(&format!("{WEEK}?still=yes")).await;
    assert!(!still.headers.contains_key("refresh") && still.page().contains("Look again"));
    let twice = town.start(&[town.ines.id]).await;
    assert_eq!(twice.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(twice.body.contains("being calculated already"), "{}", twice.body);
    assert!(work_one(&town.world.doer(), ROUNDS).await.unwrap());
    assert!(!work_one(&town.world.doer(), ROUNDS).await.unwrap(), "one run, one calculation");
    let stands = town.stands().await;
    assert_eq!(stands.len(), 3, "the booked visit is one of them and no second stop: {stands:?}");
    // One trip up Quarry Road and back is the least driving: all three on one day, in a row.
    let days: HashSet<_> = stands.iter().map(|s| s.on_date).collect();
    assert_eq!(days.len(), 1, "{stands:?}");
    let planned = town.office.get(WEEK).await;
    for words in [
        "1. 8:0",
        "3. ",
        "Ines Okoro",
        "minutes and",
        "Before the calculation",
        "3 stops placed, 0 left out",
        "Not booked yet",
        "Release",
    ] {
        assert!(planned.page().contains(words), "{words}: {}", planned.body);
    }
    // One of three was booked before: 0.02 degrees north and back, 1.3 times 69.09 miles a degree.
    let (minutes, miles): (i32, rust_decimal::Decimal) =
        sqlx::query_as("select minutes_before, miles_before from plan_run")
            .fetch_one(&town.world.pool)
            .await
            .unwrap();
    assert_eq!(
        (minutes, miles.to_string().as_str()),
        (7, "3.6"),
        "2 x 0.02 x 69.0934 x 1.3 = 3.593 miles at 30 mph"
    );
}

/// Miles between two places as the plane has it: near enough for a town, and not the planner's own formula.
fn miles(from: (f64, f64), to: (f64, f64)) -> f64 {
    let up = (to.0 - from.0) * 69.0934;
    let across = (to.1 - from.1) * 69.0934 * 35.28_f64.to_radians().cos();
    (up * up + across * across).sqrt() * 1.3
}

fn minutes(at: NaiveTime) -> f64 {
    f64::from(at.num_seconds_from_midnight()) / 60.0
}

/// Every stop stands once, each day keeps its hours, its break, its tank and its travel times.
fn sound(stands: &[Stand], tank: f64) {
    let placed: Vec<&Stand> = stands.iter().filter(|s| s.position.is_some()).collect();
    let mut days: Vec<_> = placed.iter().map(|s| (s.technician_id, s.on_date)).collect();
    days.dedup();
    for day in days {
        let route: Vec<&&Stand> = placed.iter().filter(|s| (s.technician_id, s.on_date) == day).collect();
        let mut at = (35.28, -120.66);
        let (mut time, mut idle) = (8.0 * 60.0, 0.0_f64);
        for stop in &route {
            let there = (stop.latitude.unwrap(), stop.longitude.unwrap());
            let arrives = minutes(stop.arrives_at.unwrap());
            let earliest = time + miles(at, there) / 30.0 * 60.0;
            assert!(
                arrives > earliest - 0.1,
                "{} is reached in no time: {arrives} after {earliest}",
                stop.street
            );
            idle = idle.max(arrives - earliest).max(minutes(stop.starts_at.unwrap()) - arrives);
            assert!(stop.starts_at >= stop.arrives_at);
            let leaves = minutes(stop.starts_at.unwrap()) + f64::from(stop.service_minutes);
            assert!((minutes(stop.leaves_at.unwrap()) - leaves).abs() < 0.02, "{stop:?}");
            (at, time) = (there, leaves);
        }
        let back = time + miles(at, (35.28, -120.66)) / 30.0 * 60.0;
        assert!(back < 17.0 * 60.0 + 0.1, "back at {back} on {day:?}");
        assert!(
            back < 13.0 * 60.0 || idle > 29.9 || 17.0 * 60.0 - back > 29.9,
            "half an hour of break on {day:?}"
        );
        let water: f64 = route.iter().map(|s| f64::try_from(s.load_gal).unwrap()).sum();
        assert!(water <= tank + 1e-9, "{water} gal on {day:?}");
    }
}

#[tokio::test]
async fn sixty_four_stops_keep_every_limit_and_come_out_the_same_again() {
    let town = Town::new().await;
    let dario = town.another("Dario Velm", true).await;
    town.sql("insert into vehicle (id, name, tank_gal) values ('01890a5d-ac96-774b-bcce-b302099a8057', 'Truck', 20)").await;
    town.sql(
        "update person set vehicle_id = '01890a5d-ac96-774b-bcce-b302099a8057' where role = 'technician'",
    )
    .await;
    for n in 0..64_i32 {
        // Scattered without a pattern, and the same each time.
        town.site(&format!("{n} Larkspur Way"), (n * 37) % 101 - 50, (n * 53) % 97 - 48).await;
    }
    town.planned_with(&[town.ines.id, dario]).await;
    let first = town.stands().await;
    assert_eq!(first.iter().filter(|s| s.position.is_some()).count(), 64, "{first:?}");
    // 2 plants x 8 ft x 500 mL a foot at most: 8 L, 2.113 gal a stop; nine of them fill a tank of 20.
    assert_eq!(first[0].load_gal.to_string(), "2.114");
    sound(&first, 20.0);
    town.sql("update plan_run set state = 'waiting', plan_version = (select version from week_plan)").await;
    assert!(work_one(&town.world.doer(), ROUNDS).await.unwrap());
    assert_eq!(town.stands().await, first, "the same dice and rounds, the same plan");
    let page = town.office.get(WEEK).await;
    assert!(
        page.page().contains("gal")
            && page.body.contains("64")
            && page.body.matches("Lock<span").count() == 64
    );
}

#[tokio::test]
async fn a_result_is_never_written_over_a_change() {
    let town = Town::new().await;
    town.three().await;
    town.planned().await;
    let (id, version) = (Uuid::now_v7().to_string(), town.version().await);
    let fields = [("id", id.as_str()), ("version", version.as_str()), ("seconds", "5")];
    town.office.post(&format!("{WEEK}/runs"), &fields).await.went_to(WEEK);
    town.step("2 Quarry Road", &[("step", "lock")]).await;
    let changed = town.stands().await;
    assert!(work_one(&town.world.doer(), ROUNDS).await.unwrap());
    assert_eq!(town.stands().await, changed);
    let page = town.office.get(WEEK).await;
    for words in ["was not written over it", "Tobias Fenn at 10:00 am: 2 Quarry Road is locked"] {
        assert!(page.page().contains(words), "{words}: {}", page.body);
    }
}

#[tokio::test]
async fn a_worker_that_died_is_followed_by_another() {
    let town = Town::new().await;
    town.three().await;
    town.start(&[town.ines.id]).await.went_to(WEEK);
    let (pool, clock) = (&town.world.pool, &town.world.clock);
    let mut conn = pool.acquire().await.unwrap();
    let now = clock.now();
    // It takes the run, tells how far it is, and is heard of no more.
    let run = plan::take_run(&mut conn, now - TimeDelta::seconds(30), now).await.unwrap().unwrap();
    assert!(plan::beat(&mut conn, &run, now, &plan::Run { percent: 40, ..run.clone() }).await.unwrap());
    assert!(town.office.get(WEEK).await.page().contains("40 percent"));
    clock.advance(TimeDelta::seconds(29));
    assert!(!work_one(&town.world.doer(), ROUNDS).await.unwrap(), "it may still be there");
    clock.advance(TimeDelta::seconds(2));
    assert!(work_one(&town.world.doer(), ROUNDS).await.unwrap());
    assert!(town.stands().await.iter().all(|s| s.position.is_some()));
    assert!(!plan::beat(&mut conn, &run, clock.now(), &run).await.unwrap(), "who comes back finds it gone");
    assert!(!plan::begin(&mut conn, &run).await.unwrap());
    let state: String = sqlx::query_scalar("select state from plan_run").fetch_one(pool).await.unwrap();
    assert_eq!(state, "done");
}

#[tokio::test(flavor = "multi_thread")]
async fn stopping_keeps_the_best_so_far() {
    let town = Town::new().await;
    town.three().await;
    town.start(&[town.ines.id]).await.went_to(WEEK);
    town.sql("update plan_run set seconds = 600").await;
    let doer = town.world.doer();
    let work = tokio::spawn(async move { work_one(&doer, Limit::AsAsked).await });
    while town
        .count("select count(*) from plan_run where state = 'running' and best_minutes is not null")
        .await
        == 0
    {
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    let watched = town.office.get(WEEK).await;
    assert!(watched.page().contains("Best so far:"), "{}", watched.body);
    let run: Uuid = sqlx::query_scalar("select id from plan_run").fetch_one(&town.world.pool).await.unwrap();
    let ends = format!("{WEEK}/runs/{run}/ends");
    town.office.post(&ends, &[]).await.went_to(WEEK);
    tokio::time::timeout(Duration::from_secs(60), work).await.expect("it stops at once").unwrap().unwrap();
    assert!(town.stands().await.iter().all(|s| s.position.is_some()));
    assert!(town.office.get(WEEK).await.page().contains("Stopped; the best so far was kept"));
    let late = town.office.post(&ends, &[]).await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(late.body.contains("has ended already"), "{}", late.body);
}

#[tokio::test]
async fn one_that_waits_is_stopped_before_it_begins() {
    let town = Town::new().await;
    town.three().await;
    town.start(&[town.ines.id]).await.went_to(WEEK);
    let run: Uuid = sqlx::query_scalar("select id from plan_run").fetch_one(&town.world.pool).await.unwrap();
    town.office.post(&format!("{WEEK}/runs/{run}/ends"), &[]).await.went_to(WEEK);
    assert!(!work_one(&town.world.doer(), ROUNDS).await.unwrap());
    assert!(town.office.get(WEEK).await.page().contains("Stopped before it began."));
}
