//! A technician's visits as a difference to what the phone holds.
use super::{Day, TODAY};
use crate::support::Visitor;
use axum::http::Method;
use plantward::{actions::visit as verbs, domain::user::Role};
use serde_json::Value;
use std::collections::BTreeMap;
use uuid::Uuid;

pub(super) async fn ask(who: &Visitor, cursor: Option<&str>) -> Value {
    let path = cursor.map_or("/api/visits".to_owned(), |c| format!("/api/visits?since={c}"));
    who.api(Method::GET, &path, None).await.json()
}

fn ids<'a>(answer: &'a Value, list: &str) -> Vec<&'a str> {
    answer[list].as_array().unwrap().iter().map(|v| v["id"].as_str().unwrap()).collect()
}

fn cursor(answer: &Value) -> String {
    answer["cursor"].as_str().unwrap().to_owned()
}

#[tokio::test]
async fn the_phone_is_given_everything_that_the_work_needs() {
    let day = Day::new().await;
    sqlx::query("update company set poison_center_phone = '805-555-0177', emergency_place = 'Tamber Clinic, 2 Mill Road'")
        .execute(&day.world.pool)
        .await
        .unwrap();
    let answer = ask(&day.ines, None).await;
    assert_eq!((answer["whole"].as_bool(), answer["until"].as_str()), (Some(true), Some("2026-12-02")));
    let visit = &answer["visits"][0];
    let site = &visit["site"];
    assert_eq!(
        (site["street"].as_str(), site["access_note"].as_str()),
        (Some("14 Tamber Lane"), Some("Gate on the left, dog indoors"))
    );
    assert_eq!(site["emergency_place"], "Tamber Clinic, 2 Mill Road");
    assert_eq!(answer["company"]["poison_center_phone"], "805-555-0177");
    let dose = &visit["doses"][0];
    let number = |value: &Value| value.as_str().unwrap().parse::<rust_decimal::Decimal>().unwrap();
    // 3 mL a foot, three plants of eight feet; the band reaches 6.
    assert_eq!(
        number(&dose["rate"]) * number(&dose["measure"]) * rust_decimal::Decimal::from(3),
        number(&dose["amount"])
    );
    assert_eq!((number(&dose["amount"]).to_string(), dose["unit"].as_str()), ("72".into(), Some("mL")));
    assert_eq!((number(&dose["rate_low"]), number(&dose["rate_high"])), (3.into(), 6.into()));
    assert_eq!(dose["pour"], "72 mL");
    // 0.1 lb of ingredient at 2 lb a gallon is 0.05 US gal or 189.2705892 mL; its own 72 mL are given back.
    assert_eq!(dose["left"], "189.27");
    let cap = &visit["caps"][0];
    // 45.359237 g, less 72 mL at 239.6528... g/L.
    assert_eq!((cap["ingredient"].as_str(), cap["unit"].as_str()), (Some("imidacloprid"), Some("g")));
    assert_eq!(
        (cap["used"].as_str(), cap["reserved"].as_str(), cap["left"].as_str()),
        (Some("0.00"), Some("17.25"), Some("28.10"))
    );
    let label = &answer["labels"][0];
    assert_eq!((&label["id"], label["signal_word"].as_str()), (&dose["label_version"], Some("CAUTION")));
    assert_eq!(label["first_aid"], "Rinse skin with water.");
    assert!(visit["asked"].as_array().unwrap().iter().any(|f| f["field"] == "started_at"), "3 CCR 6624(b)");
    assert_eq!(visit["certified"], true);
    assert_eq!(visit["record_by"], serde_json::json!({ "day": TODAY, "source": "", "verified": false }));
    // Exact: 45.359237 g of room when its own dose is left out, 2 lb/gal in a millilitre.
    let ratio = |value: &Value| {
        let (n, d) = value.as_str().unwrap().split_once('/').unwrap();
        plantward::domain::quantity::Exact::new(n.parse().unwrap(), d.parse().unwrap())
    };
    let exact = |text: &str| plantward::domain::quantity::parse(text).unwrap();
    assert_eq!((cap["key"].as_str(), ratio(&cap["room"])), (Some("imidacloprid"), exact("45.359237")));
    let draw = &dose["draws"][0];
    assert_eq!(ratio(&draw["per"]), exact("907.18474") / exact("3785.411784"));
    assert_eq!((draw["cap"].as_str(), dose["draws"].as_array().unwrap().len()), (Some("imidacloprid"), 1));
    assert!(answer["supervisors"].as_array().unwrap().iter().any(|s| s["name"] == "Maren Quist"));
}

#[tokio::test]
async fn a_state_s_deadline_comes_with_its_rule_and_whether_it_was_read() {
    let day = Day::new().await;
    // Minnesota gives five days, which was read; New Jersey the day after, which was not.
    for (state, by, verified) in [("MN", "2026-11-30", true), ("NJ", "2026-11-26", false)] {
        day.yard.moved_to(&day.world, state).await;
        let answer = ask(&day.ines, None).await;
        let told = &answer["visits"][0]["record_by"];
        assert_eq!((told["day"].as_str(), told["verified"].as_bool()), (Some(by), Some(verified)), "{state}");
        assert!(!told["source"].as_str().unwrap().is_empty());
    }
}

#[tokio::test]
async fn only_what_changed_comes_again() {
    let day = Day::new().await;
    let first = ask(&day.ines, None).await;
    assert_eq!(ids(&first, "visits"), [day.visit.to_string()]);
    let mut still = ask(&day.ines, Some(&cursor(&first))).await;
    // While another test's transaction is open on the same server the visit may come once more, which does no
    // harm.
    while !ids(&still, "visits").is_empty() {
        still = ask(&day.ines, Some(&cursor(&still))).await;
    }
    assert_eq!(
        (still["whole"].as_bool(), ids(&still, "visits").len(), ids(&still, "removed").len()),
        (Some(false), 0, 0)
    );
    for change in [
        "update site set access_note = 'Key at the neighbour''s'",
        "update customer set phone = '805-555-0150'",
        "update plant set in_bloom = true",
        "insert into site_window select id, 1, '08:00', '12:00' from site",
        "update parcel set lot_sqft = 12000",
    ] {
        let before = cursor(&ask(&day.ines, None).await);
        sqlx::query(change).execute(&day.world.pool).await.unwrap();
        let after = ask(&day.ines, Some(&before)).await;
        assert_eq!(ids(&after, "visits"), [day.visit.to_string()], "{change}");
    }
    // Another visit on the land takes from the cap, so this one has changed as well.
    let before = cursor(&ask(&day.ines, None).await);
    let back = day.yard.hedge(&day.world, "back", 1).await;
    let other = day.booked(day.owner.id, "2026-11-26", &[back]).await;
    let after = ask(&day.ines, Some(&before)).await;
    assert_eq!(ids(&after, "visits"), [day.visit.to_string()]);
    assert_eq!(ids(&ask(&day.owner, None).await, "visits"), [other.to_string()], "each their own");
}

#[tokio::test]
async fn what_is_no_longer_for_this_phone_is_said_with_its_reason() {
    let day = Day::new().await;
    let dario = day.world.sign_in("Dario Venn", Role::Technician).await;
    crate::yard::certify(&day.world, dario.id).await;
    let doer = day.world.doer().acting(day.office.id);
    let [second, third] =
        [day.yard.hedge(&day.world, "back", 1).await, day.yard.hedge(&day.world, "side", 1).await];
    let [second, third] = [
        day.booked(day.ines.id, "2026-11-26", &[second]).await,
        day.booked(day.ines.id, "2026-11-26", &[third]).await,
    ];
    let before = cursor(&ask(&day.ines, None).await);
    verbs::cancel(&doer, day.visit, "Rain").await.unwrap();
    let today = TODAY.parse().unwrap();
    verbs::move_to(&doer, today, second, "2026-11-27".parse().unwrap(), (dario.id, None)).await.unwrap();
    verbs::move_to(&doer, today, third, "2027-01-15".parse().unwrap(), (day.ines.id, None)).await.unwrap();
    let after = ask(&day.ines, Some(&before)).await;
    let why: BTreeMap<&str, &str> = after["removed"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| (r["id"].as_str().unwrap(), r["why"].as_str().unwrap()))
        .collect();
    let expected = [(day.visit, "cancelled"), (second, "somebody-else"), (third, "later")];
    let expected: BTreeMap<String, &str> = expected.iter().map(|(id, why)| (id.to_string(), *why)).collect();
    assert_eq!(why, expected.iter().map(|(id, why)| (id.as_str(), *why)).collect());
    assert!(!after.to_string().contains("Dario"), "whose it is now is not this phone's business");
    assert_eq!(ids(&ask(&dario, None).await, "visits"), [second.to_string()]);
    // Days go by, and a visit comes near that nobody touched.
    let before = cursor(&ask(&day.ines, None).await);
    day.world.clock.advance(chrono::TimeDelta::days(45));
    sqlx::query(
        "update session set last_seen_at = '2027-01-09T18:00:00Z', created_at = '2027-01-09T18:00:00Z'",
    )
    .execute(&day.world.pool)
    .await
    .unwrap();
    assert_eq!(ids(&ask(&day.ines, Some(&before)).await, "visits"), [third.to_string()]);
}

#[tokio::test]
async fn a_cursor_of_another_database_gives_everything() {
    let day = Day::new().await;
    let real = cursor(&ask(&day.ines, None).await);
    let (system, rest) = real.split_once('.').unwrap();
    let (_, until) = rest.split_once('.').unwrap();
    for odd in [format!("7.{rest}"), format!("{system}.ffffffffff.{until}"), "nonsense".into(), String::new()]
    {
        let answer = ask(&day.ines, Some(&odd)).await;
        assert_eq!((answer["whole"].as_bool(), ids(&answer, "visits").len()), (Some(true), 1), "{odd}");
    }
}

/// A transaction that began first and ends last is not overlooked: the reader in between saw neither it nor
/// a number beyond it.
#[tokio::test]
async fn a_late_commit_is_not_missed() {
    let day = Day::new().await;
    let back = day.yard.hedge(&day.world, "back", 1).await;
    let other = day.booked(day.ines.id, "2026-11-26", &[back]).await;
    let mut early = day.world.pool.begin().await.unwrap();
    sqlx::query("update visit set note = 'early' where id = $1")
        .bind(day.visit)
        .execute(&mut *early)
        .await
        .unwrap();
    sqlx::query("update visit set note = 'late' where id = $1")
        .bind(other)
        .execute(&day.world.pool)
        .await
        .unwrap();
    let between = ask(&day.ines, None).await;
    let newest: i64 = sqlx::query_scalar("select pg_snapshot_xmax(pg_current_snapshot())::text::bigint")
        .fetch_one(&day.world.pool)
        .await
        .unwrap();
    early.commit().await.unwrap();
    let after = ask(&day.ines, Some(&cursor(&between))).await;
    let notes: BTreeMap<&str, &str> = after["visits"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| (v["id"].as_str().unwrap(), v["note"].as_str().unwrap()))
        .collect();
    assert_eq!(notes.get(day.visit.to_string().as_str()), Some(&"early"), "{after}");
    // A reader who had gone on from the newest number would have missed it.
    let mut parts: Vec<String> = cursor(&between).splitn(3, '.').map(str::to_owned).collect();
    parts[1] = format!("{newest:x}");
    let mut careless = ask(&day.ines, Some(&parts.join("."))).await;
    // Other tests' open transactions make it begin anew: the server has them in its one count.
    while careless["whole"] == true {
        careless = ask(&day.ines, Some(&parts.join("."))).await;
    }
    assert_eq!((careless["whole"].as_bool(), ids(&careless, "visits").len()), (Some(false), 0));
}

#[tokio::test]
async fn changes_that_a_later_one_stands_for_are_forgotten_and_none_is_missed() {
    let day = Day::new().await;
    let before = ask(&day.ines, None).await;
    for note in ["once", "twice", "thrice"] {
        sqlx::query("update visit set note = $1 where id = $2")
            .bind(note)
            .bind(day.visit)
            .execute(&day.world.pool)
            .await
            .unwrap();
    }
    let rows = async || -> i64 {
        sqlx::query_scalar("select count(*) from visit_change").fetch_one(&day.world.pool).await.unwrap()
    };
    assert!(rows().await > 3);
    plantward::actions::completion::sweep(&day.world.doer()).await.unwrap();
    assert_eq!(rows().await, 1, "one for each visit and phone");
    let after = ask(&day.ines, Some(&cursor(&before))).await;
    assert_eq!(ids(&after, "visits"), [day.visit.to_string()], "{after}");
}

/// Writers that end in any order, and a phone that asks all the time: what it holds in the end is what there is.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_phone_that_adds_up_differences_holds_what_there_is() {
    let day = Day::new().await;
    let mut visits: Vec<Uuid> = vec![day.visit];
    for place in ["b", "c", "d", "e"] {
        let hedge = day.yard.hedge(&day.world, place, 1).await;
        visits.push(day.booked(day.ines.id, "2026-11-26", &[hedge]).await);
    }
    let pool = sqlx::postgres::PgPoolOptions::new()
        .max_connections(8)
        .connect_with((*day.world.pool.connect_options()).clone())
        .await
        .unwrap();
    let asked = std::sync::Arc::new(std::sync::atomic::AtomicU32::new(0));
    let writers: Vec<_> = visits
        .iter()
        .enumerate()
        .map(|(number, id)| {
            let (pool, id, asked) = (pool.clone(), *id, asked.clone());
            tokio::spawn(async move {
                // On until the phone has asked often enough in between.
                let mut turn = 0u64;
                let mut last = false;
                while !last {
                    turn += 1;
                    last = turn > 24 && asked.load(std::sync::atomic::Ordering::Relaxed) >= 10;
                    let note = if last { "the last".to_owned() } else { format!("turn {turn}") };
                    let mut tx = pool.begin().await.unwrap();
                    sqlx::query("update visit set note = $2 where id = $1")
                        .bind(id)
                        .bind(note)
                        .execute(&mut *tx)
                        .await
                        .unwrap();
                    tokio::time::sleep(std::time::Duration::from_millis((turn * 7 + number as u64 * 5) % 23))
                        .await;
                    tx.commit().await.unwrap();
                }
            })
        })
        .collect();
    let mut held: BTreeMap<String, String> = BTreeMap::new();
    let mut since: Option<String> = None;
    loop {
        let done = writers.iter().all(tokio::task::JoinHandle::is_finished);
        let answer = ask(&day.ines, since.as_deref()).await;
        for visit in answer["visits"].as_array().unwrap() {
            held.insert(visit["id"].as_str().unwrap().into(), visit["note"].as_str().unwrap().into());
        }
        since = Some(cursor(&answer));
        asked.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        if done {
            break;
        }
    }
    let expected: BTreeMap<String, String> =
        visits.iter().map(|id| (id.to_string(), "the last".to_owned())).collect();
    assert_eq!(held, expected);
    for writer in writers {
        writer.await.unwrap();
    }
}
