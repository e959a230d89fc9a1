//! Who did, saw and took out what, as the owner reads it.
use crate::{
    reports::ground::{Ground, write},
    support::{Visitor, World},
};
use axum::http::StatusCode;

/// The lines of the page: who, did, to what.
fn lines(page: &str) -> Vec<(String, String, String)> {
    let cell = |row: &str, label: &str| {
        let rest = row.split(&format!("data-label=\"{label}\"")).nth(1).unwrap();
        let rest = rest.split("</td>").next().unwrap();
        let rest = rest.split_once('>').unwrap().1;
        let mut text = String::new();
        let mut inside = false;
        for c in rest.chars() {
            match c {
                '<' => inside = true,
                '>' => inside = false,
                c if !inside => text.push(c),
                _ => {}
            }
        }
        text.trim().to_owned()
    };
    let rows = page.split("<tr><th scope=\"row\"").skip(1);
    rows.map(|row| (cell(row, "Who"), cell(row, "Did"), cell(row, "To what"))).collect()
}

async fn asked(owner: &Visitor, query: &str) -> Vec<(String, String, String)> {
    lines(owner.get(&format!("/audit?{query}")).await.page())
}

#[tokio::test]
async fn looks_changes_and_files_are_written_down() {
    let world = World::new().await;
    let (owner, office) = (world.owner().await, world.office().await);
    let ground = Ground::lay(&world, office.id).await;
    let record = write(&world, &ground.record("2026-10-05", vec![ground.item(1, 0, "24.5", "mL")])).await;
    let customer: uuid::Uuid =
        sqlx::query_scalar("select id from customer").fetch_one(&world.pool).await.unwrap();
    office.get(&format!("/records/{record}")).await.page();
    office.get(&format!("/customers/{customer}")).await.page();
    office.get("/reports/log.csv?from=2026-10-01&until=2026-10-31").await.page();
    let who = |did: &str, what: &str| ("Tobias Fenn".to_owned(), did.to_owned(), what.to_owned());
    let office_id = office.id;
    let own = asked(&owner, &format!("person={office_id}")).await;
    assert_eq!(own, [who("exported", "application log"), who("seen", "customer"), who("seen", "record")]);
    assert_eq!(asked(&owner, &format!("person={office_id}&trail=exported")).await.len(), 1);
    assert_eq!(asked(&owner, "trail=seen&noun=record").await, [who("seen", "record")]);
    assert_eq!(asked(&owner, &format!("id={record}")).await, [who("seen", "record")]);
    let page = owner.get("/audit?trail=exported").await;
    assert!(page.page().contains("2026-10-01") && page.page().contains("format: csv"), "{}", page.body);
    assert!(asked(&owner, "person=nobody").await.iter().all(|l| l.0 == "nobody signed in"));
    // The company's day: 25 November in California is over at eight in the morning of the 26th, UTC.
    assert_eq!(
        asked(&owner, &format!("from=2026-11-25&until=2026-11-25&trail=seen&person={office_id}")).await.len(),
        2
    );
    assert!(asked(&owner, "from=2026-11-26").await.is_empty());
    assert!(asked(&owner, "until=2026-11-24").await.is_empty());
    let backwards = owner.get("/audit?from=2026-11-26&until=2026-11-25").await;
    assert_eq!(backwards.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(office.get("/audit").await.status, StatusCode::NOT_FOUND, "for the owner alone");
}

#[tokio::test]
async fn a_long_list_comes_page_by_page_without_a_gap() {
    let world = World::new().await;
    let owner = world.owner().await;
    sqlx::query(
        "insert into audit (at, deed, noun, detail) select '2026-11-20Z'::timestamptz + make_interval(secs => n / 3),
            'noted', 'number', jsonb_build_object('n', n) from generate_series(1, 130) n",
    )
    .execute(&world.pool)
    .await
    .unwrap();
    let (mut at, mut seen, mut pages) = ("/audit?noun=number".to_owned(), vec![], 0);
    loop {
        let page = owner.get(&at).await;
        let body = page.page();
        seen.extend(
            body.split("n: ").skip(1).map(|rest| rest.split('<').next().unwrap().parse::<i32>().unwrap()),
        );
        pages += 1;
        let Some(next) = body.split("class=\"paging\"").nth(1) else { break };
        at = next
            .split("href=\"")
            .nth(1)
            .unwrap()
            .split('"')
            .next()
            .unwrap()
            .replace("&amp;", "&")
            .replace("&#38;", "&");
    }
    assert_eq!((pages, seen), (3, (1..=130).rev().collect::<Vec<_>>()));
}
