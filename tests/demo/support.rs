//! A filled demo and questions to it.
use chrono::NaiveDate;
use plantward::{
    actions::Doer,
    clock::Clock,
    db::fact,
    demo,
    domain::{
        due::{Outlook, outlook},
        facts::Facts,
    },
};
use sqlx::{
    PgPool,
    postgres::{PgConnectOptions, PgPoolOptions},
};
use std::collections::HashMap;
use tokio::sync::Mutex;
use uuid::Uuid;

/// The days on which the demo is looked at: an ordinary one, a leap day, both ends of a year,
/// midsummer, and the first of a month.
pub const DAYS: [&str; 7] =
    ["2026-11-25", "2028-02-29", "2026-12-31", "2027-01-01", "2027-07-01", "2027-03-31", "2029-02-28"];

/// The databases that tests only read, one a day; each test opens a pool of its own.
static FILLED: Mutex<Option<HashMap<String, PgConnectOptions>>> = Mutex::const_new(None);

/// The demo on its day.
pub struct Demo {
    pub pool: PgPool,
    pub today: NaiveDate,
}

/// A plant of a scene with what the due engine kept of it.
#[derive(Debug, sqlx::FromRow)]
pub struct Kept {
    pub wanted_on: NaiveDate,
    pub allowed_on: Option<NaiveDate>,
    pub due_on: Option<NaiveDate>,
    pub held_by: Vec<String>,
    pub why: Vec<String>,
}

impl Demo {
    /// The demo on that day, to be read and not changed.
    pub async fn on(day: &str) -> Self {
        let mut filled = FILLED.lock().await;
        let known = filled.get_or_insert_default();
        if let Some(options) = known.get(day) {
            let pool = PgPoolOptions::new().max_connections(2).connect_with(options.clone()).await.unwrap();
            return Self { pool, today: day.parse().unwrap() };
        }
        let demo = Self::fresh(day).await;
        known.insert(day.to_owned(), demo.pool.connect_options().as_ref().clone());
        demo
    }

    /// The demo on that day in a database of its own.
    pub async fn fresh(day: &str) -> Self {
        let pool = crate::database::database().await;
        let today = day.parse().unwrap();
        demo::fill(&pool, today).await.unwrap();
        Self { pool, today }
    }

    /// The demo on every one of the days.
    pub async fn on_each_day() -> Vec<Self> {
        let mut all = vec![];
        for day in DAYS {
            all.push(Self::on(day).await);
        }
        all
    }

    pub async fn count(&self, query: &'static str) -> i64 {
        sqlx::query_scalar(query).fetch_one(&self.pool).await.unwrap()
    }

    /// The parcel under the site of that street.
    pub async fn parcel(&self, street: &str) -> Uuid {
        let found = sqlx::query_scalar("select parcel_id from site where street = $1");
        found.bind(street).fetch_one(&self.pool).await.unwrap()
    }

    pub async fn facts(&self, parcel: Uuid) -> Facts {
        let mut conn = self.pool.acquire().await.unwrap();
        let applicator = fact::company_as_applicator(&mut conn, parcel, self.today).await.unwrap();
        fact::of_parcel(&mut conn, parcel, self.today, applicator).await.unwrap()
    }

    pub async fn outlook(&self, street: &str) -> Outlook {
        outlook(&self.facts(self.parcel(street).await).await).unwrap()
    }

    /// What is kept of the plant at that place of that street.
    pub async fn due(&self, street: &str, place: &str) -> Kept {
        self.maybe_due(street, place).await.unwrap_or_else(|| panic!("{street}, {place}: no due day is kept"))
    }

    pub async fn maybe_due(&self, street: &str, place: &str) -> Option<Kept> {
        sqlx::query_as(
            "select d.wanted_on, d.allowed_on, d.due_on, d.held_by, d.why
             from due d join plant p on p.id = d.plant_id join site s on s.id = p.site_id
             where s.street = $1 and p.place = $2",
        )
        .bind(street)
        .bind(place)
        .fetch_optional(&self.pool)
        .await
        .unwrap()
    }

    pub fn doer(&self) -> Doer {
        let noon = self.today.and_hms_opt(20, 0, 0).unwrap().and_utc();
        Doer::program(&self.pool, &Clock::fixed(noon))
    }
}
