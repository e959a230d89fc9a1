//! After rain: what was sent back is planned anew with the reason shown, promises of other days are kept.
use super::town::{Town, WEEK};

#[tokio::test]
async fn visits_sent_back_are_planned_anew_and_promises_are_kept() {
    let town = Town::new().await;
    let [first, second, third] = town.three().await;
    let rained_out = town.booked(first, town.ines.id, "2026-11-26").await;
    let promised = town.booked(second, town.ines.id, "2026-12-01").await;
    town.booked(third, town.ines.id, "2026-12-03").await;
    town.sql(&format!(
        "update visit set waiting_since = now(), waiting_reason = 'Heavy rain ahead', promised = true where id = '{rained_out}'"
    ))
    .await;
    town.sql(&format!("update visit set promised = true where id = '{promised}'")).await;
    // The whole company stays at home on Tuesday's eve and on Wednesday.
    for (id, day) in [
        ("01890a5d-ac96-774b-bcce-b302099a8057", "2026-11-30"),
        ("01890a5d-ac96-774b-bcce-b302099a8058", "2026-12-02"),
    ] {
        town.sql(&format!(
            "insert into day_hold (id, on_date, reason, placed_by, placed_at) values ('{id}', '{day}', 'Soil frozen', '{}', now())",
            town.owner.id
        ))
        .await;
    }
    town.planned().await;
    let stands = town.stands().await;
    assert_eq!(town.stand("2 Quarry Road").await.on_date.unwrap().to_string(), "2026-12-01", "{stands:?}");
    // One trip is least, and only the promised day cannot move: all come on that day.
    assert!(stands.iter().all(|s| s.on_date.unwrap().to_string() == "2026-12-01"), "{stands:?}");
    let page = town.office.get(WEEK).await;
    for words in [
        "Sent back from Nov 26, 2026: Heavy rain ahead; tell the customer, who was promised that day.",
        "The customer was promised this day.",
        "Waits to be planned anew",
    ] {
        assert!(page.page().contains(words), "{words}: {}", page.body);
    }
    town.release().await.went_to(WEEK);
    assert_eq!(town.count("select count(*) from visit where waiting_since is null and on_date = '2026-12-01' and stop_number is not null").await, 3);
}

#[tokio::test]
async fn a_day_that_is_held_takes_nothing() {
    let town = Town::new().await;
    town.three().await;
    for day in 1..=5 {
        let on = if day == 1 { "2026-11-30".to_owned() } else { format!("2026-12-0{}", day - 1) };
        let county = if day == 3 { "'CA', 'Kern'" } else { "'CA', 'San Luis Obispo'" };
        town.sql(&format!(
            "insert into day_hold (id, on_date, state, county, reason, placed_by, placed_at)
             values (gen_random_uuid(), '{on}', {county}, 'Soil saturated', '{}', now())",
            town.owner.id
        ))
        .await;
    }
    town.planned().await;
    let stands = town.stands().await;
    assert!(
        stands.iter().all(|s| s.on_date.unwrap().to_string() == "2026-12-02"),
        "only Kern is held then: {stands:?}"
    );
    town.sql("update day_hold set county = 'San Luis Obispo'").await;
    town.replanned().await;
    let none = town.stands().await;
    assert!(
        none.iter().all(|s| s.position.is_none() && s.unserved_why.contains("Soil saturated")),
        "{none:?}"
    );
}
