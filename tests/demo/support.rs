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
use sqlx::PgPool;
use uuid::Uuid;

/// The days on which the demo is looked at: an ordinary one, a leap day, both ends of a year,
/// midsummer, and the first of a month.
pub const DAYS: [&str; 7] =
    ["2026-11-25", "2028-02-29", "2026-12-31", "2027-01-01", "2027-07-01", "2027-03-31", "2029-02-28"];

/// The demo on its day.
pub struct Demo {
    pub pool: PgPool,
    pub today: NaiveDate,
}

/// A plant of a scene with what the due engine kept of it.
#[derive(Debug, sqlx::FromRow)]
pub struct Kept {
    pub plant_id: Uuid,
    pub place: String,
    pub wanted_on: NaiveDate,
    pub allowed_on: Option<NaiveDate>,
    pub due_on: Option<NaiveDate>,
    pub held_by: Vec<String>,
    pub why: Vec<String>,
}

impl Demo {
    pub async fn on(day: &str) -> Self {
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
            "select p.id as plant_id, p.place, d.wanted_on, d.allowed_on, d.due_on, d.held_by, d.why
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
