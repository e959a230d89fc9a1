//! Every page of a technician, in Spanish on a phone: axe finds nothing, and no page moves to the side. Spanish words
//! are longer than the English ones that the pages were drawn with.
use crate::support::{Browser, House, Screen};
use serde_json::Value;
use sqlx::AssertSqlSafe;
use uuid::Uuid;

/// What is opened, as SQL over the demo company; `$1` is the technician.
const PAGES: [&str; 17] = [
    "select '/visits'",
    "select '/visits?show=done'",
    "select '/visits/' || id from visit where technician_id = $1 and status = 'booked' order by on_date, id",
    "select '/visits/' || id || '/records' from visit where technician_id = $1 and status = 'booked' order by on_date, id",
    "select '/sites/' || site_id from visit where technician_id = $1 order by on_date desc, id",
    "select '/sites/' || site_id || '/exemptions' from visit where technician_id = $1 order by on_date desc, id",
    "select '/sites/' || site_id || '/sharings' from visit where technician_id = $1 order by on_date desc, id",
    "select '/plants/' || d.plant_id from planned_dose d join visit v on v.id = d.visit_id where v.technician_id = $1 order by 1",
    "select '/plants/' || d.plant_id || '/measures' from planned_dose d join visit v on v.id = d.visit_id where v.technician_id = $1 order by 1",
    "select '/plants/' || d.plant_id || '/looks' from planned_dose d join visit v on v.id = d.visit_id where v.technician_id = $1 order by 1",
    "select '/route-sheets/' || technician_id || '/' || on_date from visit where technician_id = $1 and status = 'booked' order by on_date",
    "select '/records/' || r.id from application_now r where r.applicator_id = $1 order by r.applied_on desc, r.id",
    "select '/records/' || id || '/amendments' from application_now where applicator_id = $1 order by id",
    "select '/label-versions/' || id from label_version where signed_at is null order by id",
    "select '/state-rules/me-landscapes'",
    "select '/incidents/new'",
    "select '/account'",
];

#[tokio::test(flavor = "multi_thread")]
async fn pages_in_spanish_fit_a_phone_and_pass_axe() {
    let house = House::open().await;
    let own: Uuid = house.id_of("technician").await.parse().unwrap();
    sqlx::query("update person set language = 'es' where id = $1")
        .bind(own)
        .execute(&house.pool)
        .await
        .unwrap();
    let mut phone = Browser::start(&house, Screen::Phone, "spanish").await;
    phone.sign_in(house.person("technician")).await;
    for sql in PAGES {
        let text = format!("select x from ({sql} limit 1) as one(x) where $1::uuid is not null");
        let path: Option<String> =
            sqlx::query_scalar(AssertSqlSafe(text)).bind(own).fetch_optional(&house.pool).await.unwrap();
        let path = path.unwrap_or_else(|| panic!("the demo company has nothing for {sql}"));
        phone.open(&path).await;
        assert_eq!(phone.path().await, path);
        let gloves = phone.script("return document.body.classList.contains('field')", vec![]).await;
        if gloves == Value::Bool(true) {
            phone.is_accessible(&path).await;
        } else {
            phone.passes_axe(&path).await;
        }
    }
    phone.close().await;
}
