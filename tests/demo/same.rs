//! The same day gives the same rows, and a filled database is left alone.
use crate::{database::database, support::Demo};
use chrono::NaiveDate;
use plantward::{db::company, demo};
use sqlx::PgPool;

const TABLES: &[&str] = &[
    "head_mail",
    "document",
    "plant_look",
    "paper",
    "paper_person",
    "incident",
    "incident_entry",
    "renewal_event",
    "agreement",
    "price_list",
    "estimate",
    "estimate_line",
    "company",
    "county_registration",
    "person",
    "certification",
    "customer",
    "parcel",
    "site",
    "site_window",
    "plant",
    "product",
    "product_registration",
    "label_version",
    "label_ingredient",
    "label_cap",
    "label_use",
    "visit",
    "planned_dose",
    "application_record",
    "application_item",
    "record_flag",
    "due",
    "audit",
    "audit_link",
    "chain_head",
    "inspection_link",
    "vehicle",
    "working_day",
    "day_hold",
    "filing",
    "mail_terms",
    "customer_mail",
    "message",
    "reminder_said",
    "customer_answer",
    "customer_answer_plant",
    "visit_duty",
    "neighbour_proposal",
];

/// A digest per table over every row; only the salted password is left out.
async fn digest(pool: &PgPool) -> Vec<String> {
    let mut all = vec![];
    for table in TABLES {
        let text = format!(
            "select count(*) || ' ' || coalesce(md5(string_agg(t, ';' order by t)), '')
             from (select (to_jsonb({table}) - 'password_hash')::text as t from {table}) as rows"
        );
        let sum: String = sqlx::query_scalar(sqlx::AssertSqlSafe(text)).fetch_one(pool).await.unwrap();
        all.push(format!("{table} {sum}"));
    }
    all
}

#[tokio::test]
async fn two_databases_of_one_day_are_alike() {
    let (one, other) = (Demo::on("2026-11-25").await, Demo::fresh("2026-11-25").await);
    let rows = digest(&one.pool).await;
    assert_eq!(rows, digest(&other.pool).await);
    let empty: Vec<&String> = rows.iter().filter(|row| row.contains(" 0 ")).collect();
    assert!(empty.is_empty(), "tables without a row: {empty:?}");
    let next_day = digest(&Demo::fresh("2026-11-26").await.pool).await;
    assert_ne!(rows, next_day, "the days move with today");
}

#[tokio::test]
async fn filling_again_changes_nothing() {
    let demo = Demo::fresh("2026-11-25").await;
    let before = digest(&demo.pool).await;
    let again: NaiveDate = "2026-12-24".parse().unwrap();
    assert_eq!(demo::fill(&demo.pool, again).await.unwrap().len(), 5);
    assert_eq!(before, digest(&demo.pool).await);
}

#[tokio::test]
async fn another_companys_database_is_refused() {
    let pool = database().await;
    let other = company::Company {
        name: "Heron Gardens".into(),
        street: "1 Mill Road".into(),
        city: "Larkmoor".into(),
        state: "CA".into(),
        zip: "93499".into(),
        phone: "805-555-0142".into(),
        license_number: String::new(),
        time_zone: "America/Los_Angeles".into(),
        emergency_phone: String::new(),
    };
    company::save(&mut pool.acquire().await.unwrap(), &other).await.unwrap();
    let today = "2026-11-25".parse().unwrap();
    let said = demo::fill(&pool, today).await.unwrap_err().to_string();
    assert!(said.contains("Heron Gardens"), "{said}");
    let people: i64 = sqlx::query_scalar("select count(*) from person").fetch_one(&pool).await.unwrap();
    assert_eq!(people, 0, "nothing was left behind");
}
