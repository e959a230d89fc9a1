//! What each state asks, as its page says it.
use crate::reports::{
    ground::{Ground, register_in, write},
    reading::named,
};
use crate::support::World;
use axum::http::StatusCode;
use plantward::domain::filing::ALL;

#[tokio::test]
async fn every_state_says_what_it_asks_and_what_was_not_read() {
    let world = World::new().await;
    let office = world.office().await;
    for one in ALL {
        let page = office.get(&format!("/filings/states/{}", one.code)).await;
        let plain = crate::reports::reading::plain(page.page());
        for element in one.record.elements {
            assert!(plain.contains(element.words), "{}: {}", one.name, element.words);
        }
        for words in one.gaps.iter().chain(one.filing.iter().flat_map(|rule| rule.unread)) {
            assert!(plain.contains(words), "{}: {words}", one.name);
        }
        assert!(plain.contains(one.record.source) && plain.contains(one.record.mark.words()));
        assert!(plain.contains("the live rule decides"), "{}", one.name);
    }
    for wrong in ["ZZ", "ca", "x%2F", "%00"] {
        let answer = office.get(&format!("/filings/states/{wrong}")).await;
        assert!(answer.status.is_client_error(), "{wrong}: {}", answer.status);
    }
    assert_eq!(
        office.get("/filings/sent/01890a5d-ac96-774b-bcce-b302099a8057").await.status,
        StatusCode::NOT_FOUND
    );
}

/// Minn. Stat. 18B.37: within five days, kept five years (from memory). Of today, November 25, 2026.
#[tokio::test]
async fn days_are_told_from_today() {
    let world = World::new().await;
    let office = world.office().await;
    let page = office.get("/filings/states/MN").await;
    assert!(page.page().contains("within 5 days (checked): for today, by Nov 30, 2026"));
    assert!(page.page().contains("5 years (unverified)"));
    // 5E-9.032: two working days after a Wednesday; holidays are not left out, so that the earlier day holds.
    assert!(office.get("/filings/states/FL").await.page().contains("by Nov 27, 2026"));
}

/// 01-026 ch. 50: for each site or crop the quantity of each pesticide, its number and the total area.
/// 32 fl oz are a quart (NIST Handbook 44, Appendix C).
#[tokio::test]
async fn maines_summary_adds_up_quantities_and_areas() {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    register_in(&world, ("ME", "", "CMA-1"), "2025-01-01", "2025-12-31").await;
    for (on, amount, area) in
        [("2025-05-01", "24", Some("400")), ("2025-06-01", "8", Some("600.5")), ("2025-07-01", "1", None)]
    {
        let place = usize::from(area.is_none());
        let mut record = ground.record(on, vec![ground.item(1, place, amount, "floz")]);
        (record.head.site_state, record.head.site_county) = ("ME".into(), "York".into());
        record.head.area_treated_sqft = area.map(crate::reports::ground::number);
        write(&world, &record).await;
    }
    let rows = named(office.get("/filings/me-yearly/2025/file").await.page());
    let cells = |row: usize| {
        ["Site or crop", "Product", "Quantity", "Unit", "Area treated, sq ft", "Applications"]
            .map(|c| rows[row][c].as_str())
    };
    assert_eq!(cells(0), ["camellia", "Rootward 21", "1.0000", "quarts", "1001", "2"]);
    assert_eq!(
        cells(1),
        ["camellia", "Leafward 5", "1.0000", "fluid ounces", "", "1"],
        "unknown is not zero"
    );
    assert_eq!(rows[1]["Remarks"], "the area of 1 record is not known");
    let page = office.get("/filings/me-yearly/2025").await;
    assert!(page.page().contains("Jan 31, 2026") && page.page().contains("the area treated is missing"));
}

/// Fact sheet on Pes 901.02: towns, major site, acres; 43,560 sq ft an acre. Its due day was not found.
#[tokio::test]
async fn new_hampshires_report_says_that_it_is_not_complete() {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    let mut record = ground.record("2025-05-01", vec![ground.item(1, 2, "1", "lb")]);
    (record.head.site_state, record.head.site_county) = ("NH".into(), "Grafton".into());
    record.head.site_address = "4 Mill Lane, Hanover, NH 03755".into();
    record.head.area_treated_sqft = Some(crate::reports::ground::number("10890"));
    write(&world, &record).await;
    let rows = named(office.get("/filings/nh-yearly/2025/file").await.page());
    let cells = ["Town", "Major site", "Total product", "Unit", "Acres"].map(|c| rows[0][c].as_str());
    assert_eq!(cells, ["Hanover", "camellia", "1.0000", "pounds", "0.2500"]);
    let page = office.get("/filings/nh-yearly/2025").await;
    for words in ["The due day was not found", "not called complete", "Its due day was not found"] {
        assert!(page.page().contains(words), "{words}");
    }
    assert!(!page.page().contains(">Complete<"));
    let list = office.get("/filings").await;
    assert!(list.page().contains("The due day was not found"));
}

/// The log of a state holds the parts that its rule asks for (lists in `tests/published/jurisdictions.rs`), says what is
/// kept elsewhere and what is missing, and is read back by a second reader.
#[tokio::test]
async fn a_states_log_has_the_columns_of_its_rule() {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    for (on, state, origin) in [
        ("2026-10-05", "TX", "own"),
        ("2026-10-06", "TX", "other-company"),
        ("2026-10-07", "CA", "own"),
        ("2025-12-31", "TX", "own"),
    ] {
        let mut record =
            ground.record(on, vec![ground.item(1, 0, "24", "mL"), ground.item(2, 1, "1.50", "floz")]);
        (record.head.site_state, record.head.origin) = (state.into(), origin.into());
        record.head.wind_direction = String::new();
        record.head.customer_name = "=1+1".into();
        write(&world, &record).await;
    }
    let file = office.get("/exports/state-log.csv?state=TX").await;
    assert_eq!(
        file.headers["content-disposition"],
        "attachment; filename=\"log_TX_2026-01-01_2026-11-25.csv\""
    );
    let rows = named(file.page());
    assert_eq!(rows.len(), 2, "both products of the one record");
    for (name, value) in [
        ("Date", "2026-10-05"),
        ("Start time", "09:30"),
        ("Customer", "'=1+1"),
        ("Rate unit", "fl oz per ft"),
        ("Water", "1.5"),
        ("Water unit", "gal"),
        ("Wind mph", "4.5"),
        ("Wind from", ""),
        ("Air temperature F", "-4"),
        ("Number of the aircraft", "kept outside the record"),
        ("Missing", "wind direction (4 TAC 7.33, checked)"),
    ] {
        assert_eq!(rows[1][name], value, "{name}");
    }
    assert!(!rows[0].contains_key("Supplier of the pesticide") && !rows[0].contains_key("County"));
    let all =
        named(office.get("/exports/state-log.csv?state=TX&from=2025-01-01&until=2026-11-25").await.page());
    assert_eq!(all.len(), 4);
    // 5E-9.032 and 40 CFR 171.303 speak of restricted-use products only, and none is.
    for code in ["FL", "US"] {
        assert!(named(office.get(&format!("/exports/state-log.csv?state={code}")).await.page()).is_empty());
    }
    sqlx::query("update label_version set restricted_use = true where product_id = (select id from product where name = 'Leafward 5')")
        .execute(&world.pool)
        .await
        .unwrap();
    let federal = named(office.get("/exports/state-log.csv?state=US").await.page());
    let products: Vec<&str> = federal.iter().map(|row| row["Product"].as_str()).collect();
    assert_eq!(products, ["Leafward 5", "Leafward 5"], "of every state");
    assert_eq!(
        office.get("/exports/state-log.csv?state=TX&from=2026-12-01&until=2026-11-01").await.location(),
        "/filings/states/TX"
    );
}

#[tokio::test]
async fn a_long_log_of_a_state_has_every_record_once() {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    ground.many(&world, 650).await;
    let rows = named(office.get("/exports/state-log.csv?state=CA").await.page());
    let records: std::collections::BTreeSet<&str> = rows.iter().map(|row| row["Record"].as_str()).collect();
    assert_eq!((rows.len(), records.len()), (650, 650), "in batches, none lost and none doubled");
}
