//! No page shows anything of customers or records without a row of the audit: every line of the router's table is
//! opened over the demo company, and whatever names a customer or a site, or is a file, must have left a row.
use crate::support::{Answer, Visitor, World};
use axum::http::{Method, StatusCode};
use plantward::{demo, web::router};
use sqlx::AssertSqlSafe;

/// Lines that need no address of the demo company, and why: they can show nothing of it.
const UNOPENED: [(&str, &str); 6] = [
    ("/static/{hash}/{name}", "files of the program itself"),
    ("/invitation/{secret}", "a form for a password"),
    ("/setup/{secret}", "a form for the first owner, of a company that is not there yet"),
    ("/u/{link}", "the page that ends offers names nobody"),
    (
        "/calendars/{secret}",
        "programs fetch it every few minutes; it names no customer, and who has it is known",
    ),
    ("/manifest.webmanifest", "what the field page is called"),
];

/// Lines for which the demo company has nothing to open: that they show something must stand in the table.
const DECLARED: [&str; 4] = [
    "/records/{id}/photos/{photo}",
    "/plans/{monday}/stops/new",
    "/plans/{monday}/stops/{id}",
    "/visits/{id}/signs",
];

/// Pages that show something and leave no row, and why.
const EXCUSED: [(&str, &str); 3] = [
    ("/exports", "names of files; taking one of them is a row"),
    ("/documents/{id}", "a label or a data sheet: nothing in it is about a customer or a record"),
    ("/field/documents/{id}", "the same for a phone"),
];

/// An address of each line with a part to fill in, as SQL over the demo company.
const ADDRESSES: &[(&str, &str)] = &[
    ("/people/{id}", "select id from person where role = 'technician' order by id"),
    ("/vehicles/{id}", "select id from vehicle order by id"),
    ("/customers/{id}", "select id from customer where retired_at is null order by id"),
    (
        "/sites/{id}/neighbours/{neighbour}",
        "select site_id || '/neighbours/' || id from site_neighbour order by id",
    ),
    (
        "/sites/{id}",
        "select s.id from site s join customer c on c.id = s.customer_id where s.retired_at is null order by s.id",
    ),
    ("/plants/{id}", "select id from plant where retired_at is null order by id"),
    ("/products/{id}", "select id from product order by id"),
    (
        "/label-versions/{id}/edit",
        "select id || '/edit' from label_version where signed_at is null order by id",
    ),
    (
        "/label-versions/{id}/uses/new",
        "select id || '/uses/new' from label_version where signed_at is null order by id",
    ),
    ("/label-versions/{id}", "select id from label_version order by id"),
    (
        "/label-uses/{id}",
        "select u.id from label_use u join label_version v on v.id = u.label_version_id where v.signed_at is null order by u.id",
    ),
    ("/documents/{id}", "select id from document order by id"),
    ("/field/documents/{id}", "select id from document order by id"),
    ("/state-rules/{code}", "select 'ca-certified-person'"),
    ("/kit/{id}", "select id from kit order by id"),
    ("/plans/{monday}", "select '2026-11-30'"),
    ("/visits/{id}", "select id from visit where status = 'booked' order by id"),
    (
        "/route-sheets/{technician}/{day}",
        "select technician_id || '/' || on_date from visit where status = 'booked' order by id",
    ),
    ("/records/{id}", "select id from application_record order by seq"),
    ("/messages/{id}", "select id from message order by id"),
    ("/agreements/{id}", "select id from agreement where ends_on is null order by id"),
    ("/estimates/{id}", "select id from estimate order by id"),
    ("/incidents/{id}", "select id from incident order by id"),
    ("/imports/templates/{kind}", "select 'customers.csv'"),
    ("/imports/{id}", "select id from import order by id"),
    ("/filings/states/{code}", "select 'CA'"),
    ("/filings/sent/{id}", "select id from filing order by id"),
    (
        "/filings/{rule}/{period}",
        "select rule || '/' || period || '?county=' || county from filing order by id",
    ),
    ("/exports/{name}", "select 'customers.csv'"),
    ("/evidence/heads/{id}/growth/{older}", "select id || '/growth/' || id from chain_head order by id"),
    ("/evidence/heads/{id}", "select id from chain_head order by id"),
];

struct Walk {
    world: World,
    owner: Visitor,
    /// Names of customers and streets of sites.
    names: Vec<String>,
    /// What secrets open: the customer's page, the inspector's, a file in the background.
    secrets: Vec<(&'static str, String)>,
}

impl Walk {
    async fn begin() -> Self {
        let world = World::empty().await;
        demo::fill(&world.pool, "2026-11-25".parse().unwrap()).await.unwrap();
        let who =
            sqlx::query_scalar("select id from person where role = 'owner'").fetch_one(&world.pool).await;
        let owner = world.sign_in_as(who.unwrap()).await;
        let names = sqlx::query_scalar("select name from customer union select street from site");
        let names: Vec<String> = names.fetch_all(&world.pool).await.unwrap();
        assert!(names.len() > 100, "the demo company has customers and sites");
        let mut walk = Self { world, owner, names, secrets: vec![] };
        walk.unlock().await;
        walk
    }

    async fn one(&self, sql: &str) -> Option<String> {
        let text = format!("select x::text from ({sql} limit 1) as found(x)");
        sqlx::query_scalar(AssertSqlSafe(text)).fetch_optional(&self.world.pool).await.unwrap()
    }

    /// Makes a link for an inspector, one for a customer, and a file in the background.
    async fn unlock(&mut self) {
        let record = self.one("select id from application_record order by seq").await.unwrap();
        let place: (String, String, String) = sqlx::query_as(
            "select site_state, site_county, applied_on::text from application_record where id = $1::uuid limit 1",
        )
        .bind(&record)
        .fetch_one(&self.world.pool)
        .await
        .unwrap();
        let id = uuid::Uuid::now_v7().to_string();
        let fields = [
            ("id", id.as_str()),
            ("reader", "County office"),
            ("state", &place.0),
            ("county", &place.1),
            ("from_day", &place.2),
            ("until_day", "2026-11-25"),
            ("last_day", "2026-12-09"),
        ];
        let page = self.owner.post("/inspections", &fields).await;
        let secret = part(page.page(), "/inspection/", '<');
        let customer =
            self.one("select id from customer where retired_at is null order by id").await.unwrap();
        let page = self.owner.post(&format!("/customers/{customer}/links"), &[]).await;
        let link = part(page.page(), "/c/", '<');
        let job = self.owner.post("/exports/customers.csv", &[]).await.location().to_owned();
        for _ in 0..200 {
            if self.owner.get(&job).await.body.contains("Ready") {
                break;
            }
            tokio::time::sleep(std::time::Duration::from_millis(20)).await;
        }
        self.secrets = vec![
            (
                "/inspection/{secret}/records/{id}/proof",
                format!("/inspection/{secret}/records/{record}/proof"),
            ),
            ("/inspection/{secret}/records/{id}", format!("/inspection/{secret}/records/{record}")),
            ("/inspection/{secret}/files/{name}", format!("/inspection/{secret}/files/log.csv")),
            ("/inspection/{secret}", format!("/inspection/{secret}")),
            ("/c/{link}", format!("/c/{link}")),
            ("/exports/jobs/{id}/file", format!("{job}/file")),
            ("/exports/jobs/{id}", job),
        ];
    }

    /// The line's path with every part filled in.
    async fn address(&self, path: &str) -> Result<String, String> {
        match path {
            "/papers/new" => return Ok("/papers/new?kind=insurance".to_owned()),
            "/records/new" => {
                let site = self.one("select id from site where retired_at is null order by id").await;
                return Ok(format!("/records/new?site={}", site.unwrap()));
            }
            _ if !path.contains('{') => return Ok(path.to_owned()),
            _ => {}
        }
        if let Some((_, whole)) = self.secrets.iter().find(|(line, _)| *line == path) {
            return Ok(whole.clone());
        }
        let found = ADDRESSES.iter().find(|(line, _)| {
            path == *line
                || path.strip_prefix(line).is_some_and(|rest| rest.starts_with('/') || rest.starts_with('.'))
        });
        let (line, sql) = found.ok_or_else(|| format!("a new line: say here what fills {path}"))?;
        let value =
            self.one(sql).await.unwrap_or_else(|| panic!("the demo company has nothing for {path}: {sql}"));
        let (value, query) = value.split_once('?').map_or((value.as_str(), String::new()), |(v, q)| {
            let (name, words) = q.split_once('=').unwrap();
            (v, format!("?{}", serde_urlencoded::to_string([(name, words)]).unwrap()))
        });
        let stem = line.split('{').next().unwrap();
        Ok(format!("{stem}{value}{}{query}", &path[line.len()..]))
    }

    async fn rows(&self) -> i64 {
        let count = "select count(*) from audit where deed in ('seen', 'exported', 'opened')";
        sqlx::query_scalar(count).fetch_one(&self.world.pool).await.unwrap()
    }

    /// Whether the answer holds something of customers or records: it names one, or is no text.
    fn tells(&self, answer: &Answer) -> Option<String> {
        let kind = answer.headers.get("content-type").map_or("", |v| v.to_str().unwrap());
        if !kind.starts_with("text/") {
            return Some(kind.to_owned());
        }
        self.names.iter().find(|name| answer.body.contains(&escaped(name))).cloned()
    }
}

fn escaped(name: &str) -> String {
    name.replace('&', "&#38;").replace('\'', "&#39;")
}

fn part(page: &str, before: &str, end: char) -> String {
    let rest = page.split(before).nth(1).unwrap_or_else(|| panic!("no {before} in {page}"));
    rest.split([end, '"']).next().unwrap().to_owned()
}

#[tokio::test]
async fn whatever_shows_a_customer_or_a_record_leaves_a_row() {
    let walk = Walk::begin().await;
    let (mut faults, mut told, mut excused) = (vec![], 0, vec![]);
    for line in router::table().into_iter().filter(|line| line.method == Method::GET) {
        if UNOPENED.iter().any(|(path, _)| *path == line.path) {
            continue;
        }
        if DECLARED.contains(&line.path) {
            assert!(line.shows.is_some(), "{}", line.path);
            continue;
        }
        let address = match walk.address(line.path).await {
            Ok(address) => address,
            Err(why) => {
                faults.push(why);
                continue;
            }
        };
        let before = walk.rows().await;
        let answer = walk.owner.get(&address).await;
        if !answer.status.is_success() {
            if !answer.status.is_redirection() {
                faults.push(format!("{} as {address}: {}", line.path, answer.status));
            }
            continue;
        }
        let noted = walk.rows().await > before;
        let Some(what) = walk.tells(&answer) else { continue };
        told += 1;
        if EXCUSED.iter().any(|(path, _)| *path == line.path) {
            excused.push(line.path);
        } else if !noted {
            faults.push(format!("{} shows {what} and leaves no row", line.path));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(told > 60, "most pages show something: {told}");
    for (path, reason) in EXCUSED.iter().chain(&UNOPENED) {
        assert!(
            router::table().iter().any(|line| line.path == *path),
            "{path} ({reason}) is no line any more"
        );
    }
    println!("{told} pages and files, {} excused", excused.len());
}

#[tokio::test]
async fn a_row_says_who_which_page_and_what_was_asked_for() {
    let walk = Walk::begin().await;
    let site = walk.one("select id from site where retired_at is null order by id").await.unwrap();
    let visit = walk.one("select id from visit where status = 'booked' order by id").await.unwrap();
    let sheet = walk.address("/route-sheets/{technician}/{day}").await.unwrap();
    walk.owner.get(&format!("/sites/{site}/neighbours")).await.page();
    walk.owner.get("/customers?q=aldous&retired=").await.page();
    assert_eq!(walk.owner.get(&format!("{sheet}.pdf")).await.status, StatusCode::OK);
    walk.owner.get(&format!("/visits/{visit}")).await.page();
    assert_eq!(
        walk.owner.get(&format!("/visits/{}", uuid::Uuid::now_v7())).await.status,
        StatusCode::NOT_FOUND
    );
    walk.owner.send(Method::HEAD, &format!("/visits/{visit}"), None).await;
    let rows: Vec<(String, String, Option<String>, serde_json::Value)> = sqlx::query_as(
        "select deed, noun, noun_id::text, detail from audit where person_id = $1 and deed in ('seen', 'exported')
            and at >= '2026-11-25T18:00Z' and noun not in ('file', 'customers') or noun = 'customers' and deed = 'seen'
         order by id",
    )
    .bind(walk.owner.id)
    .fetch_all(&walk.world.pool)
    .await
    .unwrap();
    let day = sheet.rsplit('/').next().unwrap();
    let technician = sheet.split('/').nth(2).unwrap().to_owned();
    let row = |deed: &str, noun: &str, id: Option<&str>, detail: serde_json::Value| {
        (deed.to_owned(), noun.to_owned(), id.map(str::to_owned), detail)
    };
    assert_eq!(
        rows,
        [
            row("seen", "site", Some(&site), serde_json::json!({ "part": "neighbours" })),
            row("seen", "customers", None, serde_json::json!({ "asked for": "q aldous" })),
            row(
                "exported",
                "route sheet",
                Some(&technician),
                serde_json::json!({ "part": format!("{day}.pdf") })
            ),
            row("seen", "visit", Some(&visit), serde_json::json!({})),
        ],
        "what is not there and what shows nothing leaves no row"
    );
}

#[tokio::test]
async fn what_a_phone_took_is_a_row_with_its_visits() {
    let walk = Walk::begin().await;
    let sql = "select technician_id from visit where status = 'booked' and on_date >= '2026-11-25' order by on_date, id";
    let technician = walk.one(sql).await.unwrap().parse().unwrap();
    let phone = walk.world.sign_in_as(technician).await;
    let rows = async || -> Vec<serde_json::Value> {
        let sql = "select detail from audit where noun = 'visits on a phone' and person_id = $1 order by id";
        sqlx::query_scalar(sql).bind(technician).fetch_all(&walk.world.pool).await.unwrap()
    };
    let first: serde_json::Value = serde_json::from_str(phone.get("/api/visits").await.page()).unwrap();
    let ids: Vec<_> = first["visits"].as_array().unwrap().iter().map(|v| v["id"].clone()).collect();
    assert!(!ids.is_empty());
    assert_eq!(rows().await, [serde_json::json!({ "visits": ids })]);
    let cursor = first["cursor"].as_str().unwrap();
    let again: serde_json::Value =
        serde_json::from_str(phone.get(&format!("/api/visits?since={cursor}")).await.page()).unwrap();
    let new = again["visits"].as_array().unwrap().len();
    assert_eq!(rows().await.len(), 1 + usize::from(new > 0), "a sync that brings nothing is no row");
}
