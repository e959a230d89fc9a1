//! Where the company is registered.
use crate::support::World;
use axum::http::StatusCode;

const AT: &str = "/reports/registrations";

#[tokio::test]
async fn a_registration_is_entered_once_and_noted() {
    let world = World::new().await;
    let office = world.office().await;
    let mut fields = vec![
        ("id", "01890a5d-ac96-774b-bcce-b302099a8057"),
        ("state", "ca"),
        ("county", "San Luis Obispo"),
        ("number", "SLO-0001"),
        ("valid_from", "2026-12-31"),
        ("expires_on", "2026-01-01"),
    ];
    let refused = office.post(AT, &fields).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        refused.body.contains("The last day comes before the first.") && refused.body.contains("SLO-0001")
    );
    for (state, last, told) in
        [("zz", "2026-12-31", "two letters"), ("ca", "1999-12-31", "before the year 2000")]
    {
        (fields[1].1, fields[4].1, fields[5].1) = (state, "1995-01-01", last);
        let refused = office.post(AT, &fields).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{told}");
        assert!(refused.body.contains(told), "{told}");
    }
    (fields[1].1, fields[4].1, fields[5].1) = ("ca", "2026-01-01", "2026-12-31");
    for _ in 0..2 {
        office.post(AT, &fields).await.went_to(AT);
    }
    let page = office.get(AT).await;
    assert_eq!(page.page().matches("SLO-0001").count(), 1, "sent twice, entered once");
    assert!(page.page().contains("Holds") && page.page().contains("<span>CA</span>"));
    let noted: Vec<(String, uuid::Uuid)> =
        sqlx::query_as("select deed, person_id from audit where noun = 'county registration'")
            .fetch_all(&world.pool)
            .await
            .unwrap();
    assert_eq!(noted, [("entered".to_owned(), office.id)]);
}

#[tokio::test]
async fn the_form_comes_back_as_typed_and_begins_with_the_place_asked_for() {
    let world = World::new().await;
    let office = world.office().await;
    let page = office.get(&format!("{AT}?state=CA&county=Kern")).await;
    assert!(page.page().contains("value=\"Kern\"") && page.page().contains("value=\"CA\""));
    let id = "01890a5d-ac96-774b-bcce-b302099a8057";
    let refused = office.post(AT, &[("id", id), ("state", "California"), ("county", "Kern")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    for words in ["California", "Kern", "Please fill this in.", "two letters", id] {
        assert!(refused.body.contains(words), "{words}");
    }
}

#[tokio::test]
async fn a_registration_that_ended_owes_no_later_summary() {
    let world = World::new().await;
    let office = world.office().await;
    super::ground::register(&world, "Kern", "2026-07-15", "2026-09-01").await;
    let page = office.get("/filings").await;
    for month in ["July 2026", "August 2026", "September 2026"] {
        assert!(page.page().contains(month), "a day of {month} was covered");
    }
    for month in ["June 2026", "October 2026", "November 2026"] {
        assert!(!page.page().contains(month), "{month}");
    }
}
