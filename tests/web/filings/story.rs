//! A report from the day it is owed to the day its amended form is sent.
use crate::reports::{
    ground::{Ground, amended, day, number, register, write},
    reading::named,
};
use crate::support::{Answer, Visitor, World};
use axum::http::StatusCode;
use plantward::db::record::Version;

const SHEET: &str = "/filings/ca-monthly/2026-10?county=San+Luis+Obispo";
const FILE: &str = "/filings/ca-monthly/2026-10/file?county=San+Luis+Obispo";
const MARK: &str = "/filings/ca-monthly/2026-10";

/// The value of a hidden field.
fn hidden(page: &str, name: &str) -> String {
    let rest = page.split(&format!("name=\"{name}\" value=\"")).nth(1).unwrap_or_default();
    rest.split('"').next().unwrap_or_default().to_owned()
}

/// Sends the form of that page with this day and receipt.
async fn mark(office: &Visitor, page: &str, filed_on: &str, receipt: &str) -> Answer {
    let names = ["id", "county", "number", "seen"];
    let kept = names.map(|name| hidden(page, name));
    let mut fields: Vec<(&str, &str)> = names.into_iter().zip(kept.iter().map(String::as_str)).collect();
    fields.extend([("filed_on", filed_on), ("receipt", receipt)]);
    office.post(MARK, &fields).await
}

/// The row of the list that names October.
async fn row(office: &Visitor) -> String {
    let list = office.get("/filings").await;
    list.page().split("<tr>").find(|row| row.contains("October 2026")).unwrap().to_owned()
}

/// The links to what was sent, the newest first.
fn sent(page: &str) -> Vec<String> {
    page.split("href=\"/filings/sent/")
        .skip(1)
        .map(|rest| format!("/filings/sent/{}", rest.split('"').next().unwrap()))
        .collect()
}

pub async fn october() -> (World, Visitor, Ground, Version) {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    register(&world, "San Luis Obispo", "2026-10-01", "2026-12-31").await;
    let mut record = ground.record("2026-10-05", vec![ground.item(1, 0, "1", "pt")]);
    record.head.started_at = None;
    write(&world, &record).await;
    (world, office, ground, record)
}

#[tokio::test]
async fn from_owed_to_filed_to_amended() {
    let (world, office, _, record) = october().await;
    assert!(office.get("/due").await.page().contains(">1 filing is overdue</a>"));
    let owed = row(&office).await;
    for words in ["Nov 10, 2026", "Overdue 15 days", "1 record", "Incomplete: 1"] {
        assert!(owed.contains(words), "{words} in {owed}");
    }
    let page = office.get(SHEET).await;
    assert!(page.page().contains(&format!("/records/{}/amendments", record.head.id)), "a way to mend it");

    // The missing hour is added, and the report goes out.
    let mut mended = amended(&record);
    mended.head.started_at = chrono::NaiveTime::from_hms_opt(9, 30, 0);
    write(&world, &mended).await;
    let page = office.get(SHEET).await;
    assert!(page.page().contains("Nothing that is known of") && page.page().contains("not called complete"));
    let first = office.get(FILE).await.page().to_owned();
    mark(&office, page.page(), "2026-11-25", "Mailed, postmark Quillan Springs").await.went_to(SHEET);
    assert!(row(&office).await.contains("Filed"));
    assert!(!office.get("/due").await.page().contains("filing is"), "nothing presses");
    let page = office.get(SHEET).await;
    let [kept] = &sent(page.page())[..] else { panic!("one was sent") };
    assert_eq!(office.get(kept).await.page(), first, "byte for byte");

    // Found out later: it was a quart.
    let mut corrected = amended(&mended);
    corrected.head.amend_reason = "The cup held a quart.".into();
    corrected.items[0].amount = number("2");
    write(&world, &corrected).await;
    let changed = row(&office).await;
    assert!(changed.contains("To be amended: 1 record changed since it was filed"), "{changed}");
    assert!(office.get("/due").await.page().contains("Records of 1 filing changed since it was sent"));
    let page = office.get(SHEET).await;
    assert!(
        page.page().contains("Send it as an amended report") && page.page().contains("The cup held a quart.")
    );
    assert_eq!(office.get(kept).await.page(), first, "what was sent stays as it was");

    mark(&office, page.page(), "2026-11-25", "Mailed again").await.went_to(SHEET);
    let page = office.get(SHEET).await;
    let [second, again] = &sent(page.page())[..] else { panic!("two were sent") };
    assert_eq!(again, kept);
    assert_eq!(named(office.get(second).await.page())[0]["Amount"], "1.0000");
    assert_eq!(named(&first)[0]["Amount"], "1.0000");
    assert_eq!(
        (named(&first)[0]["Unit"].as_str(), named(office.get(second).await.page())[0]["Unit"].as_str()),
        ("PT", "QT")
    );
    assert!(page.page().contains("amended report 1") && row(&office).await.contains("Filed"));
}

#[tokio::test]
async fn a_change_that_leaves_the_report_as_it_was_asks_for_nothing() {
    let (world, office, _, record) = october().await;
    let page = office.get(SHEET).await;
    mark(&office, page.page(), "2026-11-10", "No. 7").await.went_to(SHEET);
    let mut noted = amended(&record);
    noted.head.wind_direction = "S".into();
    write(&world, &noted).await;
    assert!(row(&office).await.contains("1 record changed since, the report stays the same"));
    assert!(office.get(SHEET).await.page().contains("nothing is to be sent again"));
}

#[tokio::test]
async fn a_record_that_moves_in_or_out_or_comes_late_counts_as_a_change() {
    let (world, office, ground, record) = october().await;
    let changes = async || -> i64 {
        let query = "select count(distinct record_id) from filing_change";
        sqlx::query_scalar(query).fetch_one(&world.pool).await.unwrap()
    };
    let page = office.get(SHEET).await;
    mark(&office, page.page(), "2026-11-10", "No. 7").await.went_to(SHEET);
    // Not of this month, not of this county, not ours.
    write(&world, &ground.record("2026-11-01", vec![ground.item(1, 0, "1", "pt")])).await;
    let mut elsewhere = ground.record("2026-10-06", vec![ground.item(1, 0, "1", "pt")]);
    elsewhere.head.site_county = "Kern".into();
    write(&world, &elsewhere).await;
    let mut others = ground.record("2026-10-06", vec![ground.item(1, 0, "1", "pt")]);
    others.head.origin = "other-company".into();
    write(&world, &others).await;
    assert_eq!(changes().await, 0);

    let late = ground.record("2026-10-31", vec![ground.item(1, 0, "1", "pt")]);
    write(&world, &late).await;
    assert_eq!(changes().await, 1, "it comes late");
    let mut moved = amended(&record);
    moved.head.applied_on = day("2026-09-30");
    write(&world, &moved).await;
    assert_eq!(changes().await, 2, "it moves out");
    let mut spelled = amended(&elsewhere);
    spelled.head.site_county = "san luis obispo".into();
    write(&world, &spelled).await;
    assert_eq!(changes().await, 3, "it moves in, however the county is spelled");
    let mut withdrawn = amended(&late);
    withdrawn.head.withdrawn = true;
    write(&world, &withdrawn).await;
    assert_eq!(changes().await, 3, "a record counts once");
    let page = office.get(SHEET).await;
    assert!(page.page().contains(": withdrawn ") && page.page().contains(": recorded "));
}

#[tokio::test]
async fn what_cannot_have_been_sent_is_refused_at_its_field() {
    let (world, office, ground, _) = october().await;
    let page = office.get(SHEET).await.page().to_owned();
    for (filed_on, receipt, words) in [
        ("2026-10-31", "No. 7", "October 2026 ends on Oct 31, 2026"),
        ("2026-11-26", "No. 7", "This day lies ahead"),
        ("2026-11-32", "No. 7", "This is not a date"),
        ("2026-11-10", "", "Please fill this in."),
    ] {
        let refused = mark(&office, &page, filed_on, receipt).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{filed_on}");
        assert!(refused.body.contains(words), "{words} in {}", refused.body);
        assert!(refused.body.contains(&format!("value=\"{filed_on}\"")), "nothing typed is lost");
    }
    let running = office.get("/filings/ca-monthly/2026-11?county=San+Luis+Obispo").await;
    assert!(!running.page().contains("Keep it as filed"), "the month is not over");
    // Something is recorded while the page is open.
    write(&world, &ground.record("2026-10-09", vec![ground.item(1, 0, "1", "pt")])).await;
    let refused = mark(&office, &page, "2026-11-10", "No. 7").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("Records changed while this page was open"));
    // The page that came back shows what is there now, and can be sent.
    mark(&office, &refused.body, "2026-11-10", "No. 7").await.went_to(SHEET);
    let kept: i64 = sqlx::query_scalar("select count(*) from filing").fetch_one(&world.pool).await.unwrap();
    assert_eq!(kept, 1);
}

#[tokio::test]
async fn sent_twice_it_is_kept_once_and_two_people_keep_one() {
    let (world, office, _, _) = october().await;
    let (mine, theirs) =
        (office.get(SHEET).await.page().to_owned(), office.get(SHEET).await.page().to_owned());
    for _ in 0..2 {
        mark(&office, &mine, "2026-11-10", "No. 7").await.went_to(SHEET);
    }
    let owner = world.owner().await;
    let refused = mark(&owner, &theirs, "2026-11-10", "No. 7").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("Somebody else changed this meanwhile"));
    let kept: i64 = sqlx::query_scalar("select count(*) from filing").fetch_one(&world.pool).await.unwrap();
    assert_eq!(kept, 1);
    let noted: Vec<(String, uuid::Uuid)> =
        sqlx::query_as("select deed, person_id from audit where noun = 'filing' and deed <> 'seen'")
            .fetch_all(&world.pool)
            .await
            .unwrap();
    assert_eq!(noted, [("filed".to_owned(), office.id)]);
}

#[tokio::test]
async fn the_database_refuses_to_change_what_was_sent() {
    let (world, office, _, record) = october().await;
    let page = office.get(SHEET).await;
    mark(&office, page.page(), "2026-11-10", "No. 7").await.went_to(SHEET);
    write(&world, &amended(&record)).await;
    for text in [
        "update filing set receipt = 'another'",
        "delete from filing_change",
        "delete from filing",
        "update filing_change set version = version",
        "truncate filing_change",
        "truncate filing cascade",
    ] {
        let refused = sqlx::query(text).execute(&world.pool).await.unwrap_err();
        assert_eq!(plantward::db::broken_constraint(&refused), Some("filing_stays"), "{text}: {refused}");
    }
    let forged = "insert into filing select gen_random_uuid(), rule, state, county, period, first_day, last_day, 9, filed_on,
        receipt, file_name, media_type, 'other', sha256, nil, lacking, chain_seq, filed_by, filed_at from filing";
    let refused = sqlx::query(forged).execute(&world.pool).await.unwrap_err();
    assert_eq!(plantward::db::broken_constraint(&refused), Some("filing_content_fits"));
}
