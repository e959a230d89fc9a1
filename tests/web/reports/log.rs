//! The log as a page and as a file.
use super::{
    ground::{Ground, amended, number, write},
    reading::{cells, named},
};
use crate::support::{Visitor, World};
use axum::http::StatusCode;
use plantward::db::{
    flag,
    record::{Version, present},
};
use std::collections::{BTreeMap, BTreeSet};

const OCTOBER: &str = "from=2026-10-01&until=2026-10-31";

async fn start() -> (World, Visitor, Ground) {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    (world, office, ground)
}

/// Customers of the log's rows, in their order.
async fn customers(office: &Visitor, query: &str) -> Vec<String> {
    let file = office.get(&format!("/reports/log.csv?{query}")).await;
    named(file.page()).iter().map(|row| row["Customer"].clone()).collect()
}

#[tokio::test]
async fn page_and_file_hold_the_same_cells() {
    let (world, office, ground) = start().await;
    let mut whole =
        ground.record("2026-10-05", vec![ground.item(1, 0, "24.50", "mL"), ground.item(2, 1, "3", "floz")]);
    whole.head.customer_name = "Farrant, \"Odile\" & <Sons>".into();
    whole.head.supervisor_name = "Per Aldous".into();
    whole.head.supervisor_certification = "QA-00018".into();
    let id = write(&world, &whole).await;
    let mut conn = world.pool.acquire().await.unwrap();
    flag::raise(
        &mut conn,
        id,
        1,
        "cap",
        "Over the cap of 6000 sqft since 2026-10-01, \"by far\"",
        world.clock.now(),
    )
    .await
    .unwrap();
    drop(conn);
    let mut bare = ground.record("2026-10-06", vec![ground.item(1, 2, "5", "oz")]);
    bare.head.started_at = None;
    bare.head.wind_mph = None;
    bare.items[0].measure = None;
    bare.items[0].rate = None;
    bare.items[0].water = None;
    bare.items[0].water_unit = None;
    write(&world, &bare).await;

    let page = office.get(&format!("/reports/log?{OCTOBER}")).await;
    let file = office.get(&format!("/reports/log.csv?{OCTOBER}")).await;
    assert_eq!(file.headers["content-type"], "text/csv; charset=utf-8");
    let name = "attachment; filename=\"application-log_2026-10-01_2026-10-31.csv\"";
    assert_eq!(file.headers["content-disposition"], name);
    let filled = |row: BTreeMap<String, String>| row.into_iter().filter(|(_, v)| !v.is_empty()).collect();
    let of_file: Vec<BTreeMap<_, _>> = named(file.page()).into_iter().map(filled).collect();
    assert_eq!(of_file, cells(page.page()));
    assert!(page.page().contains("3 rows from 2 records."));

    let first = &of_file[0];
    for (column, expected) in [
        ("Customer", "Farrant, \"Odile\" & <Sons>"),
        ("Plant or host", "camellia, by the gate"),
        ("Amount", "24.5"),
        ("Rate unit", "mL per ft"),
        ("Wind mph", "4.5"),
        ("Air temperature F", "-4"),
        ("Record version", "1"),
        ("Flags", "Over the cap of 6,000 sq ft since Oct 1, 2026, \"by far\" (not answered)"),
    ] {
        assert_eq!(first[column], expected, "{column}");
    }
    assert_eq!(of_file[1]["Amount unit"], "fl oz");
    assert_eq!(of_file[2]["Missing"], "start time (3 CCR 6624(b), checked)");
    assert!(!of_file[2].contains_key("Rate") && !of_file[2].contains_key("Water"), "unknown is not zero");
    assert!(
        page.page().contains("a licensed person answers") && page.page().contains("Prepared by Tobias Fenn")
    );
}

#[tokio::test]
async fn text_like_a_formula_is_inert_in_the_file_and_as_typed_on_the_page() {
    let (world, office, ground) = start().await;
    for (at, bad) in
        ["=HYPERLINK(\"http://x.test\")", "+1", "-1", "@SUM(A1)", "\tx", "\rx"].iter().enumerate()
    {
        let mut record = ground.record(&format!("2026-10-0{}", at + 1), vec![ground.item(1, 0, "1", "mL")]);
        record.head.customer_name = (*bad).into();
        record.items[0].target_pest = (*bad).into();
        write(&world, &record).await;
    }
    let file = office.get(&format!("/reports/log.csv?{OCTOBER}")).await;
    let rows = named(file.page());
    assert_eq!(rows.len(), 6);
    let page = office.get(&format!("/reports/log?{OCTOBER}")).await;
    for (row, shown) in rows.iter().zip(cells(page.page())) {
        assert_eq!(row["Customer"], format!("'{}", shown["Customer"]));
        assert_eq!(row["Target pest"], row["Customer"]);
        assert_eq!(row["Air temperature F"], "-4", "a number stays a number");
    }
}

#[tokio::test]
async fn state_county_and_both_ends_of_the_period_narrow_the_log() {
    let (world, office, ground) = start().await;
    for (on, state, county, name) in [
        ("2026-09-30", "CA", "San Luis Obispo", "the day before"),
        ("2026-10-01", "CA", "San Luis Obispo", "first day"),
        ("2026-10-15", "CA", "Kern", "Kern"),
        ("2026-10-15", "NY", "Kern", "another state"),
        ("2026-10-31", "CA", "san luis obispo", "last day"),
        ("2026-11-01", "CA", "San Luis Obispo", "the day after"),
    ] {
        let mut record = ground.record(on, vec![ground.item(1, 0, "1", "mL")]);
        (record.head.site_state, record.head.site_county) = (state.into(), county.into());
        record.head.customer_name = name.into();
        write(&world, &record).await;
    }
    let all = customers(&office, OCTOBER).await;
    assert_eq!((all[0].as_str(), all[3].as_str(), all.len()), ("first day", "last day", 4));
    assert_eq!(
        all[1..3].iter().map(String::as_str).collect::<BTreeSet<_>>(),
        BTreeSet::from(["Kern", "another state"])
    );
    assert_eq!(customers(&office, &format!("{OCTOBER}&state=NY")).await, ["another state"]);
    assert_eq!(customers(&office, &format!("{OCTOBER}&state=ca&county=Kern")).await, ["Kern"]);
    let spelled = customers(&office, &format!("{OCTOBER}&county=San+Luis+Obispo")).await;
    assert_eq!(spelled, ["first day", "last day"], "two spellings are one county");
    let current = office.get("/reports/log").await;
    assert_eq!(cells(current.page())[0]["Customer"], "the day after", "without days: this month so far");
}

#[tokio::test]
async fn a_period_that_cannot_be_is_said_so_and_gives_no_file() {
    let (_world, office, _ground) = start().await;
    for path in ["/reports/log", "/reports/log.csv"] {
        for (query, words) in [
            ("from=2026-10-31&until=2026-10-01", "The last day comes before the first."),
            ("from=October&until=2026-10-01", "This is not a date"),
        ] {
            let answer = office.get(&format!("{path}?{query}")).await;
            assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{path}?{query}");
            assert!(answer.body.contains(words) && !answer.headers.contains_key("content-disposition"));
        }
    }
}

#[tokio::test]
async fn only_the_newest_version_of_our_own_work_that_counts_is_in_the_log() {
    let (world, office, ground) = start().await;
    let was = ground.record("2026-10-05", vec![ground.item(1, 0, "1", "mL")]);
    write(&world, &was).await;
    let mut now = amended(&was);
    now.items[0].amount = number("2");
    write(&world, &now).await;
    let mistaken = ground.record("2026-10-06", vec![ground.item(1, 0, "7", "mL")]);
    write(&world, &mistaken).await;
    let mut withdrawn = amended(&mistaken);
    withdrawn.head.withdrawn = true;
    write(&world, &withdrawn).await;
    let mut theirs = ground.record("2026-10-07", vec![ground.item(1, 0, "9", "mL")]);
    theirs.head.origin = "other-company".into();
    write(&world, &theirs).await;

    let file = office.get(&format!("/reports/log.csv?{OCTOBER}")).await;
    let rows = named(file.page());
    assert_eq!(rows.len(), 1);
    assert_eq!((rows[0]["Amount"].as_str(), rows[0]["Record version"].as_str()), ("2", "2, amended"));
}

#[tokio::test]
async fn pages_follow_each_other_without_loss_or_doubling() {
    let (world, office, ground) = start().await;
    ground.many(&world, 120).await;
    let mut path = format!("/reports/log?{OCTOBER}");
    let mut seen = vec![];
    loop {
        let page = office.get(&path).await;
        let rows = cells(page.page());
        assert!(rows.len() <= 50 && page.page().contains("120 rows from 120 records."));
        seen.extend(rows.into_iter().map(|row| row["Customer"].clone()));
        let Some(next) = page.page().split("<a href=\"").find(|part| part.contains("rel=\"next\"")) else {
            break;
        };
        path = super::reading::plain(next.split('"').next().unwrap());
    }
    assert_eq!(seen, customers(&office, OCTOBER).await);
    assert_eq!(seen.iter().collect::<BTreeSet<_>>().len(), 120);
}

#[tokio::test]
async fn the_paper_is_whole() {
    let (world, office, ground) = start().await;
    ground.many(&world, 69).await;
    let first = office.get(&format!("/reports/log?{OCTOBER}")).await;
    assert!(first.page().contains("This page holds 50 of them"));
    let link = first.page().split("href=\"").find(|part| part.contains("Show all of them to print")).unwrap();
    let whole = office.get(&super::reading::plain(link.split('"').next().unwrap())).await;
    assert_eq!(cells(whole.page()).len(), 69);
    assert!(!whole.page().contains("This page holds") && !whole.page().contains("rel=\"next\""));
    let last = first.page().split("<a href=\"").find(|part| part.contains("rel=\"next\"")).unwrap();
    let last = office.get(&super::reading::plain(last.split('"').next().unwrap())).await;
    assert!(last.page().contains("This page holds 19 of them"), "the last page is not the whole either");
}

#[tokio::test]
async fn a_log_too_long_for_paper_leads_to_the_file() {
    let (world, office, ground) = start().await;
    ground.many(&world, 5_001).await;
    for all in ["", "&all=1"] {
        let page = office.get(&format!("/reports/log?{OCTOBER}{all}")).await;
        assert_eq!(cells(page.page()).len(), 50);
        assert!(page.page().contains("too many for one sheet") && !page.page().contains("all=1\""), "{all}");
    }
    // Ground's records lie a day apart, over and over: without the last day a thirty-first less.
    let page = office.get("/reports/log?from=2026-10-01&until=2026-10-30&all=1").await;
    let shown = cells(page.page()).len();
    assert!(
        (4_800..5_000).contains(&shown)
            && page.page().contains(&format!("{shown} rows from {shown} records."))
    );
}

/// The log asks the database which fields are there; the record's own page asks the version. They must agree.
#[tokio::test]
async fn the_log_and_the_record_agree_on_what_is_missing() {
    let (world, office, ground) = start().await;
    let full = ground.record("2026-10-05", vec![ground.item(1, 0, "1", "mL")]);
    let mut versions = vec![full.clone()];
    let strips: [fn(&mut Version); 12] = [
        |v| v.head.started_at = None,
        |v| v.head.customer_name.clear(),
        |v| v.head.customer_address.clear(),
        |v| v.head.site_address = "14 Tamber Lane".into(),
        |v| v.head.applicator_name.clear(),
        |v| v.head.applicator_certification.clear(),
        |v| v.head.wind_direction.clear(),
        |v| v.head.temperature_f = None,
        |v| v.items[0].plant_id = None,
        |v| v.items[0].target_pest.clear(),
        |v| v.items[0].rate = None,
        |v| v.items[0].water = None,
    ];
    for strip in strips {
        let mut version = full.clone();
        version.head.id = uuid::Uuid::now_v7();
        strip(&mut version);
        versions.push(version);
    }
    for version in &versions {
        write(&world, version).await;
    }
    let filter = plantward::db::report::Filter {
        from: full.head.applied_on,
        until: full.head.applied_on,
        state: String::new(),
        county: String::new(),
    };
    let mut conn = world.pool.acquire().await.unwrap();
    let lines = plantward::db::report::lines(&mut conn, &filter, None, None).await.unwrap();
    assert_eq!(lines.len(), versions.len());
    for line in &lines {
        let version = versions.iter().find(|v| v.head.id == line.record_id).unwrap();
        assert_eq!(line.present().into_iter().collect::<BTreeSet<_>>(), present(version), "{version:?}");
    }
    drop(conn);
    assert_eq!(customers(&office, OCTOBER).await.len(), versions.len(), "a gap hides nothing");
}
