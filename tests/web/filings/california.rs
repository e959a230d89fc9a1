//! California's monthly summary, 3 CCR 6627: one for each county and month, by the 10th of the month after, also
//! when nothing was done. Sizes of units: NIST Handbook 44, Appendix C.
use crate::reports::{
    ground::{Ground, amended, day, register, write},
    reading::named,
};
use crate::support::{Visitor, World};
use axum::http::StatusCode;

async fn start() -> (World, Visitor, Ground) {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    (world, office, ground)
}

fn sheet(month: &str) -> String {
    format!("/filings/ca-monthly/{month}?county=San+Luis+Obispo")
}

fn file(month: &str) -> String {
    format!("/filings/ca-monthly/{month}/file?county=San+Luis+Obispo")
}

/// Product, amount, unit and applications of each row.
async fn sums(office: &Visitor, month: &str) -> Vec<[String; 4]> {
    let file = office.get(&file(month)).await;
    let columns = ["Product", "Amount", "Unit", "Applications"];
    named(file.page()).iter().map(|row| columns.map(|column| row[column].clone())).collect()
}

#[tokio::test]
async fn mixed_units_are_summed_exactly_and_rounded_once() {
    let (world, office, ground) = start().await;
    // Liquid: 8 fl oz = 1/2 pt. 236.5882365 mL / 473.176473 mL a pint = 1/2 pt. Three teaspoons of 1/96 pt each
    // = 1/32 pt = 0.03125 pt; rounded one by one they would be 3 x 0.0104 = 0.0312.
    // Together 0.5 + 0.5 + 0.03125 = 1.03125 pt, halves up: 1.0313 PT. Less than a quart (2 pt), so pints.
    write(&world, &ground.record("2026-10-01", vec![ground.item(1, 0, "8", "floz")])).await;
    write(&world, &ground.record("2026-10-31", vec![ground.item(1, 0, "236.5882365", "mL")])).await;
    let spoons = (1..=3).map(|at| ground.item(at, 0, "1", "tsp"));
    // Dry: 12 oz and 113.3980925 g / 28.349523125 g an ounce = 4 oz; together 16 oz = 1 lb.
    let dry = [ground.item(4, 2, "12", "oz"), ground.item(5, 2, "113.3980925", "g")];
    write(&world, &ground.record("2026-10-15", spoons.chain(dry).collect())).await;
    // 1 pt + 0.00005 pt = 1.00005 pt, halves up: 1.0001.
    let halves = vec![ground.item(1, 1, "1", "pt"), ground.item(2, 1, "0.00005", "pt")];
    write(&world, &ground.record("2026-10-16", halves)).await;
    // Neighbouring months do not count.
    write(&world, &ground.record("2026-09-30", vec![ground.item(1, 0, "9", "gal")])).await;
    write(&world, &ground.record("2026-11-01", vec![ground.item(1, 0, "9", "gal")])).await;

    let expected = [
        ["Rootward 21", "1.0313", "PT", "3"],
        ["Leafward 5", "1.0001", "PT", "1"],
        ["Groundward G", "1.0000", "LB", "1"],
    ];
    assert_eq!(sums(&office, "2026-10").await, expected.map(|row| row.map(str::to_owned)));
    let page = office.get(&sheet("2026-10")).await;
    for [product, amount, unit, _] in expected {
        let row = page.page().split("<tr>").find(|row| row.contains(product)).unwrap();
        assert!(
            row.contains(&format!("<span>{amount}</span>")) && row.contains(&format!("<span>{unit}</span>"))
        );
    }
    for words in
        ["Bellwether Plant Care", "3 Orchard Row, Quillan Springs, CA 93499", "MB-00000", "October 2026"]
    {
        assert!(page.page().contains(words), "{words}");
    }
    assert!(page.page().contains("from memory: unverified."), "what is not checked is marked");
}

#[tokio::test]
async fn a_month_without_work_has_a_nil_summary_due_on_the_tenth() {
    let (world, office, _ground) = start().await;
    register(&world, "San Luis Obispo", "2026-01-01", "2026-12-31").await;
    let page = office.get(&sheet("2026-01")).await;
    assert!(page.page().contains("No pest control work was done in this county in this month."));
    // 3 CCR 6627: January 2026 is due by 10 February 2026.
    assert!(page.page().contains("<time datetime=\"2026-02-10\">Feb 10, 2026</time>"));
    assert!(page.page().contains("Overdue 288 days"), "Feb 10 to Nov 25, 2026");
    let rows = named(office.get(&file("2026-01")).await.page());
    assert_eq!(rows.len(), 1);
    assert_eq!(rows[0]["Remarks"], "No pest control work was done in this county in this month.");
    assert_eq!((rows[0]["Month"].as_str(), rows[0]["County registration"].as_str()), ("2026-01", "SLO-0001"));
    let running = office.get(&sheet("2026-11")).await;
    assert!(running.page().contains("Nothing so far; the month is not over."));
    assert!(!running.page().contains("No pest control work was done"));
}

#[tokio::test]
async fn only_a_month_that_is_over_has_a_line_to_sign() {
    let (world, office, _ground) = start().await;
    register(&world, "San Luis Obispo", "2026-01-01", "2027-12-31").await;
    for (month, over) in [("2026-10", true), ("2026-11", false), ("2026-12", false), ("2027-11", false)] {
        let page = office.get(&sheet(month)).await;
        assert_eq!(page.page().contains("<dt>Signed</dt>"), over, "{month}");
        assert_eq!(page.page().contains("This month is not over."), !over, "{month}");
    }
    // The last day of November 2026 in California ends at eight in the morning of the first in UTC.
    for (now, over) in [("2026-12-01T07:59:00Z", false), ("2026-12-01T08:00:00Z", true)] {
        world.clock.set(now.parse().unwrap());
        let office = world.sign_in(&format!("Visitor {now}"), plantward::domain::user::Role::Office).await;
        assert_eq!(office.get(&sheet("2026-11")).await.page().contains("<dt>Signed</dt>"), over, "{now}");
    }
}

#[tokio::test]
async fn the_list_counts_down_to_the_due_day() {
    let (world, office, _ground) = start().await;
    register(&world, "San Luis Obispo", "2026-01-01", "2026-12-31").await;
    for (now, words) in [
        ("2026-01-31T18:00:00Z", "No work so far"),
        ("2026-02-01T18:00:00Z", "Due in 9 days"),
        ("2026-02-09T18:00:00Z", "Due in 1 day<"),
        ("2026-02-10T18:00:00Z", "Due today"),
        // Still the 10th in California.
        ("2026-02-11T07:59:00Z", "Due today"),
        ("2026-02-11T08:00:00Z", "Overdue 1 day"),
    ] {
        world.clock.set(now.parse().unwrap());
        let page = world.sign_in(&format!("Visitor {now}"), plantward::domain::user::Role::Office).await;
        let page = page.get("/filings").await;
        let row = page.page().split("<tr>").find(|row| row.contains("January 2026")).unwrap();
        assert!(row.contains(words), "{now}: {row}");
        assert!(row.contains("No work") && !page.page().contains("December 2025"), "not registered then");
    }
    drop(office);
}

#[tokio::test]
async fn an_amendment_moves_a_record_into_another_month() {
    let (world, office, ground) = start().await;
    let was = ground.record("2026-10-01", vec![ground.item(1, 0, "1", "gal")]);
    write(&world, &was).await;
    let row = ["Rootward 21", "1.0000", "GA", "1"].map(str::to_owned);
    assert_eq!(sums(&office, "2026-10").await, std::slice::from_ref(&row));
    let mut now = amended(&was);
    now.head.applied_on = day("2026-09-30");
    write(&world, &now).await;
    assert_eq!(sums(&office, "2026-09").await, [row]);
    assert!(office.get(&sheet("2026-10")).await.page().contains("No pest control work was done"));
}

#[tokio::test]
async fn what_is_missing_is_named_with_a_way_to_mend_it_and_still_summed() {
    let (world, office, ground) = start().await;
    write(&world, &ground.record("2026-10-02", vec![ground.item(1, 0, "1", "pt")])).await;
    let mut bare = ground.record("2026-10-03", vec![ground.item(1, 0, "1", "pt")]);
    bare.head.started_at = None;
    let id = write(&world, &bare).await;
    let mut odd = ground.record("2026-10-04", vec![ground.item(1, 1, "2", "scoop")]);
    odd.head.site_county = "san luis obispo".into();
    write(&world, &odd).await;
    sqlx::query("update company set license_number = ''").execute(&world.pool).await.unwrap();

    let page = office.get(&sheet("2026-10")).await;
    assert_eq!(sums(&office, "2026-10").await, [["Rootward 21", "1.0000", "QT", "2"].map(str::to_owned)]);
    assert!(page.page().contains("1 record lacks something"));
    for link in ["", "/amendments"] {
        let link = format!("/records/{id}{link}");
        assert!(page.page().contains(&format!("href=\"{link}\"")));
        office.get(&link).await.page();
    }
    assert!(page.page().contains("start time (3 CCR 6624(b), checked)"));
    assert!(page.page().contains("Leafward 5: scoop is no unit that can be added up"), "nothing is hidden");
    assert!(!page.page().contains("No pest control work was done"));
    assert!(page.page().contains("/reports/registrations?state=CA"), "no registration is entered");
    assert!(page.page().contains("<dt>Licence number</dt><dd><span class=\"badge unsure\">Missing"));
    let list = office.get("/filings").await;
    let row = list.page().split("<tr>").find(|row| row.contains("October 2026")).unwrap();
    for words in ["3 records", "Incomplete: 1", "No registration entered"] {
        assert!(row.contains(words), "{words} in {row}");
    }
}

#[tokio::test]
async fn other_counties_states_and_companies_stay_out() {
    let (world, office, ground) = start().await;
    for (state, county, origin) in
        [("CA", "Kern", "own"), ("NY", "San Luis Obispo", "own"), ("CA", "San Luis Obispo", "other-company")]
    {
        let mut record = ground.record("2026-10-05", vec![ground.item(1, 0, "1", "gal")]);
        (record.head.site_state, record.head.site_county) = (state.into(), county.into());
        record.head.origin = origin.into();
        write(&world, &record).await;
    }
    let list = office.get("/filings").await;
    assert!(
        list.page().contains("Kern")
            && list.page().contains("Log of this year<span class=\"quiet-label\">: New York")
    );
    assert!(!list.page().contains("San Luis Obispo County"), "neither registered nor worked there");
    for path in [sheet("2026-10"), file("2026-10")] {
        assert_eq!(
            office.get(&path).await.location(),
            "/filings",
            "no summary of a county that is owed none"
        );
    }
    register(&world, "San Luis Obispo", "2020-01-01", "2020-12-31").await;
    assert!(office.get(&sheet("2026-10")).await.page().contains("No pest control work was done"));
}

#[tokio::test]
async fn an_address_without_county_or_month_leads_back() {
    let (world, office, _ground) = start().await;
    for county in ["Kern", "K\"ern"] {
        register(&world, county, "2026-01-01", "2026-12-31").await;
    }
    for path in [
        "/filings/ca-monthly/2026-10",
        "/filings/ca-monthly/2026-10?county=Nowhere",
        "/filings/ca-monthly/2026-13?county=Kern",
        "/filings/ca-monthly/2026?county=Kern",
        "/filings/ca-monthly/2026-10?county=+",
        "/filings/zz-monthly/2026-10?county=Kern",
        "/filings/ny-yearly/2026?county=Kern",
        "/filings/ny-yearly/2026",
    ] {
        let file = path.replacen("?", "/file?", 1);
        for path in [path, file.as_str()] {
            let answer = office.get(path).await;
            assert_eq!((answer.status, answer.location()), (StatusCode::SEE_OTHER, "/filings"), "{path}");
        }
    }
    let nasty = office.get("/filings/ca-monthly/2026-10/file?county=K%22%0D%0Aern").await;
    assert_eq!(nasty.location(), "/filings");
    let quoted = office.get("/filings/ca-monthly/2026-10/file?county=K%22ern").await;
    assert_eq!(
        quoted.headers["content-disposition"],
        "attachment; filename=\"california_k-ern_2026-10.csv\""
    );
}
