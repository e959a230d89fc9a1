//! Lists as files: the same filter gives the same cells in each kind, to those who may have them.
use crate::{
    reports::ground::{Ground, write},
    support::{Visitor, World},
};
use axum::{body::Body, http::Request, http::StatusCode};
use calamine::{Data, Reader, Xlsx};
use http_body_util::BodyExt;
use std::io::Cursor;
use tower::ServiceExt;

/// The bytes of a file and its name.
pub async fn bytes(world: &World, visitor: &Visitor, path: &str) -> (Vec<u8>, String) {
    let request = Request::get(path).header("cookie", visitor.cookie.clone().unwrap_or_default());
    let answer = world.app.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
    assert_eq!(answer.status(), StatusCode::OK, "{path}");
    let name = answer.headers()["content-disposition"].to_str().unwrap().to_owned();
    (answer.into_body().collect().await.unwrap().to_bytes().to_vec(), name)
}

pub fn csv_cells(bytes: &[u8]) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(bytes);
    let bare = |cell: &str| cell.strip_prefix('\'').filter(|_| cell.len() > 1).unwrap_or(cell).to_owned();
    reader.records().map(|row| row.unwrap().iter().map(bare).collect()).collect()
}

/// Workbooks count days from December 30, 1899 on (ECMA-376, 18.17.4, after February 1900).
fn day(serial: f64) -> String {
    let start = chrono::NaiveDate::from_ymd_opt(1899, 12, 30).unwrap();
    (start + chrono::Days::new(serial as u64)).to_string()
}

pub fn book_cells(bytes: &[u8]) -> Vec<Vec<String>> {
    let mut book: Xlsx<_> = calamine::open_workbook_from_rs(Cursor::new(bytes)).unwrap();
    let told = |data: &Data| match data {
        Data::Empty => String::new(),
        Data::String(words) => words.clone(),
        Data::Float(number) => number.to_string(),
        Data::DateTime(at) => day(at.as_f64()),
        other => panic!("no such cell is written: {other:?}"),
    };
    book.worksheet_range("Sheet1").unwrap().rows().map(|row| row.iter().map(told).collect()).collect()
}

fn paper(bytes: &[u8]) -> String {
    let document = lopdf::Document::load_mem(bytes).unwrap();
    let pages: Vec<u32> = document.get_pages().into_keys().collect();
    document.extract_text(&pages).unwrap().split_whitespace().collect()
}

async fn grown() -> (World, Visitor, Visitor) {
    let world = World::new().await;
    let (owner, office) = (world.owner().await, world.office().await);
    let ground = Ground::lay(&world, office.id).await;
    for (day, customer) in [("2026-10-05", "=Farrant"), ("2026-10-06", "Per Aldous"), ("2026-09-06", "Early")]
    {
        let mut record =
            ground.record(day, vec![ground.item(1, 0, "24.5", "mL"), ground.item(2, 1, "3", "floz")]);
        record.head.customer_name = customer.into();
        write(&world, &record).await;
    }
    sqlx::raw_sql(
        "insert into customer (id, name, email, created_at) select gen_random_uuid(), 'Customer ' || n,
            'c' || n || '@customer.test', now() from generate_series(1, 120) n;
         insert into customer (id, name, retired_at, created_at) values (gen_random_uuid(), 'Gone', now(), now())",
    )
    .execute(&world.pool)
    .await
    .unwrap();
    (world, owner, office)
}

#[tokio::test]
async fn the_same_filter_gives_the_same_cells_in_every_kind_of_file() {
    let (world, owner, _) = grown().await;
    for (list, rows) in [
        ("/reports/log.FMT?from=2026-10-01&until=2026-10-31", 4),
        ("/exports/customers.FMT?", 121),
        ("/exports/customers.FMT?q=customer+11", 11),
        ("/exports/customers.FMT?retired=yes", 122),
        ("/exports/sites.FMT?", 1),
        ("/exports/plants.FMT?", 1),
        ("/exports/due.FMT?show=all", 0),
        ("/exports/audit.FMT?trail=changed", 2),
    ] {
        let of = async |format: &str| bytes(&world, &owner, &list.replace("FMT", format)).await;
        let ((csv, name), (book, _), (pdf, shown)) = (of("csv").await, of("xlsx").await, of("pdf").await);
        let cells = csv_cells(&csv);
        assert_eq!(cells.len(), rows + 1, "{list}");
        assert_eq!(cells, book_cells(&book), "{list}");
        let text = paper(&pdf);
        for cell in cells.iter().skip(1).flatten() {
            let letters: String = cell.split_whitespace().collect();
            assert!(text.contains(&letters), "{list}: {cell} is not on paper");
        }
        assert!(
            name.starts_with("attachment;") && name.contains("2026-1") && name.ends_with(".csv\""),
            "{name}"
        );
        assert!(shown.starts_with("inline;"), "{shown}");
        assert!(text.contains("MarenQuist"), "who prepared it stands on paper");
    }
}

#[tokio::test]
async fn files_are_for_those_who_may_see_the_list_and_are_written_down() {
    let (world, owner, office) = grown().await;
    let technician = world.technician().await;
    for path in ["/exports/customers.csv", "/exports/due.xlsx", "/reports/log.pdf", "/exports/audit.csv"] {
        assert_eq!(technician.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    assert_eq!(office.get("/exports/audit.csv").await.status, StatusCode::NOT_FOUND);
    for path in [
        "/exports/customers",
        "/exports/customers.doc",
        "/exports/people.csv",
        "/exports/due.csv?show=unplanned",
    ] {
        assert_eq!(owner.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    office.get("/exports/customers.xlsx?q=aldous").await.page();
    let noted: Vec<(String, serde_json::Value)> =
        sqlx::query_as("select noun, detail from audit where deed = 'exported'")
            .fetch_all(&world.pool)
            .await
            .unwrap();
    assert_eq!(noted.len(), 1, "a refused file is none that left: {noted:?}");
    assert_eq!((noted[0].0.as_str(), &noted[0].1["format"]), ("customers", &"xlsx".into()));
    assert!(noted[0].1["narrowed to"].as_str().unwrap().contains("\"aldous\""), "{noted:?}");
}

#[tokio::test]
async fn a_log_too_long_for_paper_is_offered_in_parts_that_hold_every_row() {
    let world = World::new().await;
    let office = world.office().await;
    Ground::lay(&world, office.id).await.many(&world, 5_001).await;
    let answer = office.get("/reports/log.pdf?from=2020-01-01&until=2036-12-31").await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.body.contains("5001 rows") && answer.body.contains("CSV"), "{}", answer.body);
    assert!(
        answer.body.contains("Part 1 of 2, rows 1 to 5000 of 5001")
            && answer.body.contains("Nothing is left out")
    );
    let (book, _) = bytes(&world, &office, "/reports/log.xlsx?from=2020-01-01&until=2036-12-31").await;
    assert_eq!(book_cells(&book).len(), 5_002);
    let last = "/exports/log.pdf?from=2020-01-01&until=2036-12-31&part=2";
    assert!(answer.body.replace("&#38;", "&").replace("&amp;", "&").contains(last), "{}", answer.body);
    let (sheet, name) = bytes(&world, &office, last).await;
    assert!(name.contains("_part-2-of-2.pdf"), "{name}");
    let text = paper(&sheet);
    assert!(text.contains("rows5001to5001of5001") && text.contains("1row."), "{text}");
    let cells = book_cells(&book);
    let said =
        |row: &[String]| row.iter().all(|cell| text.contains(&cell.split_whitespace().collect::<String>()));
    assert!(said(&cells[5_001]), "the last row is in the second part: {text}");
    assert!(!said(&cells[1]), "and the first one is not: {text}");
    assert!(!said(&cells[5_000]), "nor the one before it: {text}");
    let nothing = office.get("/exports/log.pdf?from=2020-01-01&until=2036-12-31&part=3").await;
    assert_eq!(nothing.status, StatusCode::UNPROCESSABLE_ENTITY, "there is no third part");
    // The same part in the background.
    let job = begin(&office, last).await;
    let page = until(&office, &job, &["Ready", "could not"]).await;
    assert!(page.contains("1 rows") && page.contains("part-2-of-2.pdf"), "{page}");
}

#[tokio::test]
async fn every_list_that_is_too_long_for_paper_is_offered_in_parts() {
    let world = World::new().await;
    let owner = world.owner().await;
    sqlx::raw_sql(
        "insert into customer (id, name, created_at) select gen_random_uuid(), 'Customer ' || n, now()
            from generate_series(1, 5020) n;
         insert into audit (at, deed, noun) select now(), 'noted', 'number' from generate_series(1, 5020) n",
    )
    .execute(&world.pool)
    .await
    .unwrap();
    for (list, all) in [("customers.pdf?q=customer", "5020 rows"), ("audit.pdf?noun=number", "5020 rows")] {
        let answer = owner.get(&format!("/exports/{list}")).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{list}");
        assert!(
            answer.body.contains(all) && answer.body.contains("rows 5001 to 5020 of 5020"),
            "{}",
            answer.body
        );
        let posted = owner.post(&format!("/exports/{list}"), &[]).await;
        assert_eq!(posted.status, StatusCode::UNPROCESSABLE_ENTITY, "nor is it cut off in the background");
        let (sheet, _) = bytes(&world, &owner, &format!("/exports/{list}&part=2")).await;
        assert!(paper(&sheet).contains("20rows."));
    }
    for list in ["customers", "audit"] {
        let page = owner.get(&format!("/{list}")).await;
        assert!(page.page().contains("Make the workbook in the background"), "{list}");
    }
    let job = begin(&owner, "/exports/audit.xlsx?noun=number").await;
    let page = until(&owner, &job, &["Ready", "could not"]).await;
    assert!(page.contains("5020 rows"), "{page}");
}

/// Asks for a file in the background; the address of its job.
async fn begin(visitor: &Visitor, path: &str) -> String {
    let answer = visitor.post(path, &[]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.body);
    answer.location().to_owned()
}

/// Looks at the job until its page says one of these.
async fn until(visitor: &Visitor, job: &str, words: &[&str]) -> String {
    for _ in 0..1_200 {
        let page = visitor.get(job).await;
        if words.iter().any(|w| page.page().contains(w)) {
            return page.body;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    panic!("waited a minute in vain for {words:?}");
}

#[tokio::test]
async fn a_file_in_the_background_stays_until_it_is_removed() {
    let world = World::new().await;
    let (owner, office) = (world.owner().await, world.office().await);
    Ground::lay(&world, office.id).await.many(&world, 4_500).await;
    let job = begin(&office, "/exports/log.xlsx?from=2020-01-01&until=2036-12-31").await;
    let page = until(&office, &job, &["Ready"]).await;
    assert!(
        page.contains("4500 rows") && page.contains("application-log_2020-01-01_2036-12-31.xlsx"),
        "{page}"
    );
    for visitor in [&office, &owner] {
        let (book, name) = bytes(&world, visitor, &format!("{job}/file")).await;
        assert_eq!(book_cells(&book).len(), 4_501);
        assert!(name.ends_with("application-log_2020-01-01_2036-12-31.xlsx\""), "{name}");
    }
    let direct = bytes(&world, &office, "/reports/log.xlsx?from=2020-01-01&until=2036-12-31").await.0;
    assert_eq!(book_cells(&direct), book_cells(&bytes(&world, &office, &format!("{job}/file")).await.0));
    let other = world.sign_in("Petra Lund", plantward::domain::user::Role::Office).await;
    for path in [job.clone(), format!("{job}/file")] {
        assert_eq!(other.get(&path).await.status, StatusCode::NOT_FOUND, "another's file is not there");
    }
    assert!(!other.get("/exports").await.page().contains("application-log_"));
    assert!(owner.get("/exports").await.page().contains("Tobias Fenn"));
    assert_eq!(
        office.post("/exports/log.pdf?from=2026-12-01&until=2026-01-01", &[]).await.status,
        StatusCode::NOT_FOUND
    );
    office.post(&format!("{job}/removals"), &[]).await.went_to("/exports");
    assert_eq!(office.get(&job).await.status, StatusCode::NOT_FOUND);
    let pieces: i64 =
        sqlx::query_scalar("select count(*) from export_piece").fetch_one(&world.pool).await.unwrap();
    assert_eq!(pieces, 0);
}

#[tokio::test]
async fn a_file_that_is_stopped_or_left_alone_says_so_and_keeps_nothing() {
    let world = World::new().await;
    let office = world.office().await;
    Ground::lay(&world, office.id).await.many(&world, 60_000).await;
    let job = begin(&office, "/exports/log.xlsx?from=2000-01-01&until=2090-12-31").await;
    office.post(&format!("{job}/ends"), &[]).await.went_to(&job);
    let page = until(&office, &job, &["Stopped"]).await;
    assert!(!page.contains("/file\""), "nothing to take: {page}");
    assert_eq!(office.get(&format!("{job}/file")).await.status, StatusCode::NOT_FOUND);
    let pieces: i64 =
        sqlx::query_scalar("select count(*) from export_piece").fetch_one(&world.pool).await.unwrap();
    assert_eq!(pieces, 0);

    // One whose program was stopped: it says so, and can be put away.
    sqlx::raw_sql("update export_job set state = 'running', stop_asked = false, ended_at = null, beat_at = '2026-11-25T17:00:00Z'")
        .execute(&world.pool)
        .await
        .unwrap();
    assert!(office.get(&job).await.page().contains("Broke off"));
    office.post(&format!("{job}/removals"), &[]).await.went_to("/exports");
}
