//! The harness: a served demo company, and a browser with the verbs that a person has.
mod driver;
mod gate;
mod phone;

pub use gate::Gate;

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use clap::Parser;
use driver::Driver;
use fantoccini::{Client, ClientBuilder, Locator, elements::Element, key::Key, wd::PrintConfiguration};
use plantward::{
    actions::plan::{self, Limit},
    clock::Clock,
    config::{Command, CommandLine},
    demo::{self, SignIn},
    web::{self, AppState},
};
use serde_json::{Map, Value, json};
use sqlx::PgPool;
use std::{
    net::SocketAddr,
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};
use uuid::Uuid;

/// The demo company behind a real port, its clock stopped at ten in the morning of 25 November 2026.
pub struct House {
    pub address: SocketAddr,
    pub pool: PgPool,
    pub today: NaiveDate,
    people: Vec<SignIn>,
}

impl House {
    pub async fn open() -> Self {
        let at: DateTime<Utc> = "2026-11-25T18:00:00Z".parse().unwrap();
        Self::by(Clock::fixed(at)).await
    }

    /// The same by the machine's clock, which a phone goes by too.
    pub async fn now() -> Self {
        Self::by(Clock::system()).await
    }

    async fn by(clock: Clock) -> Self {
        let pool = crate::database::database().await;
        let today = clock.today(demo::ZONE);
        let people = demo::fill(&pool, today).await.expect("the demo company");
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let line =
            CommandLine::try_parse_from(["plantward", "serve", "--listen", &address.to_string()]).unwrap();
        let Command::Serve(config) = line.command else { panic!("serve was asked for") };
        let served = crate::database::served(&pool).await;
        let state = AppState { pool: served, clock, config: Arc::new(config), travel: None };
        let doer = state.nobody();
        tokio::spawn(async move {
            loop {
                plan::work_one(&doer, Limit::Rounds(300)).await.unwrap();
                tokio::time::sleep(Duration::from_millis(800)).await;
            }
        });
        let pages = web::app(state).into_make_service_with_connect_info::<SocketAddr>();
        tokio::spawn(async move { axum::serve(listener, pages).await.unwrap() });
        Self { address, pool, today, people }
    }

    /// The id of the first person of that role.
    pub async fn id_of(&self, role: &str) -> String {
        let email = &self.person(role).email;
        let id: Uuid = sqlx::query_scalar("select id from person where email = $1")
            .bind(email)
            .fetch_one(&self.pool)
            .await
            .unwrap();
        id.to_string()
    }

    /// The site at that street, and a plant there that is overdue and held by nothing.
    pub async fn overdue_at(&self, street: &str) -> (Uuid, Uuid) {
        sqlx::query_as(
            "select d.site_id, d.plant_id from due d join site s on s.id = d.site_id
             where s.street = $1 and d.due_on < $2 and d.held_by = '{}' order by d.plant_id limit 1",
        )
        .bind(street)
        .bind(self.today)
        .fetch_one(&self.pool)
        .await
        .unwrap()
    }

    /// When the plant is due now.
    pub async fn due_of(&self, plant: Uuid) -> NaiveDate {
        sqlx::query_scalar("select due_on from due where plant_id = $1")
            .bind(plant)
            .fetch_one(&self.pool)
            .await
            .unwrap()
    }

    /// The street of the first stop of a day of three stops or more in that week's plan.
    pub async fn first_of(&self, monday: NaiveDate) -> String {
        sqlx::query_scalar(
            "select s.street from plan_stop t join week_plan w on w.id = t.plan_id join site s on s.id = t.site_id
             where w.week_start = $1 and t.position = 1 and exists (select 1 from plan_stop o where o.plan_id = w.id
                and o.technician_id = t.technician_id and o.on_date = t.on_date and o.position = 3)
             order by t.on_date, t.id limit 1",
        )
        .bind(monday)
        .fetch_one(&self.pool)
        .await
        .unwrap()
    }

    /// Who goes to that street in the week, when.
    pub async fn stands(&self, monday: NaiveDate, street: &str) -> (Uuid, NaiveDate, NaiveTime, bool) {
        sqlx::query_as(
            "select t.technician_id, t.on_date, t.starts_at, t.locked from plan_stop t
                join week_plan w on w.id = t.plan_id join site s on s.id = t.site_id
             where w.week_start = $1 and s.street = $2 and t.position is not null",
        )
        .bind(monday)
        .bind(street)
        .fetch_one(&self.pool)
        .await
        .unwrap()
    }

    /// The address of that street's stop in the week's plan.
    pub async fn stop_of(&self, monday: NaiveDate, street: &str) -> String {
        let id: Uuid = sqlx::query_scalar(
            "select t.id from plan_stop t join site s on s.id = t.site_id where s.street = $1 and t.position is not null",
        )
        .bind(street)
        .fetch_one(&self.pool)
        .await
        .unwrap();
        format!("/plans/{monday}/stops/{id}")
    }

    /// The person's stops from that Monday on, as their list names them.
    pub async fn order_of(&self, role: &str, monday: NaiveDate) -> Vec<String> {
        let rows: Vec<(NaiveDate, i32, NaiveTime)> = sqlx::query_as(
            "select on_date, stop_number, arrives_at from visit where technician_id = $1::uuid and status = 'booked'
                and on_date between $2 and $2 + 6 and stop_number is not null order by on_date, stop_number",
        )
        .bind(self.id_of(role).await)
        .bind(monday)
        .fetch_all(&self.pool)
        .await
        .unwrap();
        let words = |(on, number, at): (NaiveDate, i32, NaiveTime)| {
            format!("{}, stop {number}, {}", on.format("%b %-d, %Y"), at.format("%-I:%M %P"))
        };
        rows.into_iter().map(words).collect()
    }

    /// The first person of that role.
    pub fn person(&self, role: &str) -> &SignIn {
        self.people.iter().find(|p| p.role == role).expect(role)
    }
}

/// How large the window is, and whether it is a phone's.
#[derive(Clone, Copy)]
pub enum Screen {
    Desk,
    Phone,
}

/// Somebody at a browser of their own.
pub struct Browser {
    client: Client,
    base: String,
    story: &'static str,
    step: usize,
    profile: Option<PathBuf>,
    _driver: Driver,
}

impl Browser {
    pub async fn start(house: &House, screen: Screen, story: &'static str) -> Self {
        Self::at(house.address, screen, story, None).await
    }

    /// A browser that keeps its profile in this folder, and reaches the server at this address.
    pub async fn at(
        address: SocketAddr,
        screen: Screen,
        story: &'static str,
        profile: Option<PathBuf>,
    ) -> Self {
        let driver = Driver::start().await;
        let http = hyper_util::client::legacy::connect::HttpConnector::new();
        let client = ClientBuilder::new(http)
            .capabilities(capabilities(screen, profile.as_deref()))
            .connect(&driver.address())
            .await
            .expect("chromium, by chromedriver");
        Self { client, base: format!("http://{address}"), story, step: 0, profile, _driver: driver }
    }

    pub async fn open(&self, path: &str) {
        self.client.goto(&format!("{}{path}", self.base)).await.unwrap();
    }

    pub async fn sign_in(&mut self, person: &SignIn) {
        self.open("/sign-in").await;
        self.fill("email", &person.email).await;
        self.fill("password", &person.password).await;
        self.press("Sign in").await;
    }

    async fn find(&self, locator: Locator<'_>, what: &str) -> Element {
        let found = self.client.wait().at_most(Duration::from_secs(10)).for_element(locator).await;
        match found {
            Ok(element) => element,
            Err(e) => panic!("no {what} on {}: {e}\n{}", self.path().await, self.text().await),
        }
    }

    /// Types into the field of that name, in the place of what stands there.
    pub async fn fill(&self, name: &str, value: &str) {
        let field = self.find(Locator::Css(&format!("[name='{name}']:not([type=hidden])")), name).await;
        field.clear().await.unwrap();
        field.send_keys(value).await.unwrap();
    }

    /// Sets a time field, which every browser types in its own way.
    pub async fn fill_time(&self, name: &str, time: &str) {
        let script = "document.querySelector(`[name='${arguments[0]}']`).value = arguments[1]";
        self.client.execute(script, vec![json!(name), json!(time)]).await.unwrap();
    }

    /// Chooses the first radio of that value, whatever its name.
    pub async fn choose_first(&self, value: &str) {
        let css = format!("input[type='radio'][value='{value}']");
        self.find(Locator::Css(&css), value).await.click().await.unwrap();
    }

    /// Opens every explanation on the page.
    pub async fn open_every_reason(&self) {
        let script = "document.querySelectorAll('details').forEach(d => d.open = true)";
        self.client.execute(script, vec![]).await.unwrap();
    }

    /// What the address gives within this session, as text.
    pub async fn download(&self, path: &str) -> String {
        let script = "const done = arguments[1]; fetch(arguments[0]).then(r => r.text()).then(done)";
        let text = self.client.execute_async(script, vec![json!(path)]).await.unwrap();
        text.as_str().unwrap().to_owned()
    }

    /// Ticks a box or chooses a radio by name and value.
    pub async fn choose(&self, name: &str, value: &str) {
        let css = format!("input[name='{name}'][value='{value}']");
        self.find(Locator::Css(&css), &format!("{name}={value}")).await.click().await.unwrap();
    }

    /// Chooses an option of a list by its value.
    pub async fn select(&self, name: &str, value: &str) {
        let list = self.find(Locator::Css(&format!("select[name='{name}']")), name).await;
        list.select_by_value(value).await.unwrap();
    }

    /// Presses the button with these words, and waits until the next page is there.
    pub async fn press(&mut self, words: &str) {
        let xpath = format!("//button[normalize-space()={}]", quoted(words));
        self.find(Locator::XPath(&xpath), &format!("button {words:?}")).await.click().await.unwrap();
        self.settle().await;
        self.picture(words).await;
    }

    /// Goes to the button of that value in the line with these words by the tab key, and presses it with the
    /// space bar.
    pub async fn key_to(&mut self, value: &str, line: &str) {
        let here = "const e = document.activeElement, r = e && e.closest('tr');
            return !!r && e.value === arguments[0] && r.innerText.includes(arguments[1])";
        for _ in 0..400 {
            self.client
                .active_element()
                .await
                .unwrap()
                .send_keys(&char::from(Key::Tab).to_string())
                .await
                .unwrap();
            let found = self.client.execute(here, vec![json!(value), json!(line)]).await.unwrap();
            if found == json!(true) {
                self.client.active_element().await.unwrap().send_keys(" ").await.unwrap();
                self.settle().await;
                self.picture(&format!("{value} by keyboard")).await;
                return;
            }
        }
        panic!("the tab key never reaches {value} of {line}");
    }

    /// Follows the first link with these words.
    pub async fn follow(&mut self, words: &str) {
        let xpath = format!("//a[normalize-space()={}]", quoted(words));
        self.find(Locator::XPath(&xpath), &format!("link {words:?}")).await.click().await.unwrap();
        self.settle().await;
        self.picture(words).await;
    }

    /// Waits until the page that is being loaded has come.
    async fn settle(&self) {
        for _ in 0..200 {
            let ready = self.client.execute("return document.readyState", vec![]).await;
            if ready.is_ok_and(|state| state == json!("complete")) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        panic!("the page never came");
    }

    pub async fn text(&self) -> String {
        let body = self.client.execute("return document.body.innerText", vec![]).await.unwrap();
        body.as_str().unwrap_or_default().to_owned()
    }

    /// Fails unless the page says so.
    pub async fn sees(&self, words: &str) {
        let text = self.text().await;
        assert!(text.contains(words), "no {words:?} on {}:\n{text}", self.path().await);
    }

    pub async fn path(&self) -> String {
        let url = self.client.current_url().await.unwrap();
        url.query().map_or(url.path().to_owned(), |q| format!("{}?{q}", url.path()))
    }

    /// Fails when the page is wider than the window: nobody scrolls sideways.
    pub async fn fits_its_width(&self) {
        let script = "return [document.documentElement.scrollWidth, window.innerWidth]";
        let widths = self.client.execute(script, vec![]).await.unwrap();
        let [content, window] = [0, 1].map(|i| widths[i].as_i64().unwrap());
        assert!(content <= window, "{} is {content} wide in a window of {window}", self.path().await);
    }

    /// A picture of the whole page.
    pub async fn picture(&mut self, words: &str) {
        self.step += 1;
        let plain: String = words.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("../screenshots");
        std::fs::create_dir_all(&folder).unwrap();
        let png = self.client.screenshot().await.unwrap();
        std::fs::write(folder.join(format!("{}-{:02}-{plain}.png", self.story, self.step)), png).unwrap();
    }

    /// What the page's paper says, as the browser prints it and another program reads it.
    pub async fn paper(&mut self, words: &str) -> String {
        self.step += 1;
        let pdf = self.client.print(PrintConfiguration::default()).await.unwrap();
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("../screenshots");
        std::fs::create_dir_all(&folder).unwrap();
        let file = folder.join(format!("{}-{:02}-{words}.pdf", self.story, self.step));
        std::fs::write(&file, pdf).unwrap();
        let read = std::process::Command::new("pdftotext").arg("-layout").arg(&file).arg("-").output();
        let read = read.expect("pdftotext of Debian's poppler-utils is needed");
        assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
        String::from_utf8(read.stdout).unwrap()
    }

    pub async fn close(self) {
        self.client.close().await.unwrap();
    }
}

/// Words as an XPath text.
fn quoted(words: &str) -> String {
    format!("\"{words}\"")
}

/// The browser reaches this machine and nothing else.
fn capabilities(screen: Screen, profile: Option<&Path>) -> Map<String, Value> {
    let mut args: Vec<String> = [
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-dev-shm-usage",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-default-apps",
        "--disable-sync",
        "--no-first-run",
        "--hide-scrollbars",
        "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
    ]
    .map(str::to_owned)
    .to_vec();
    args.extend(profile.map(|folder| format!("--user-data-dir={}", folder.display())));
    let mut options = json!({});
    match screen {
        Screen::Desk => args.push("--window-size=1280,1400".to_owned()),
        Screen::Phone => {
            options["mobileEmulation"] = json!({
                "deviceMetrics": { "width": 360, "height": 740, "pixelRatio": 2.0, "touch": true }
            });
        }
    }
    options["args"] = json!(args);
    json!({ "goog:chromeOptions": options }).as_object().unwrap().clone()
}
