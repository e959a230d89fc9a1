//! Duties by law and the plan: what comes too late is refused with the way out, another day asks anew, an hour of the
//! plan counts, and what was applied all the same is kept and flagged.
//!
//! The forty-eight hours are those of New York's neighbour notification (Environmental Conservation Law 33-1005 and the
//! county laws by it) as `domain::notice` has them; the company's clocks are California's here.
use super::yard::Mailed;
use crate::{
    plans::town::{Town, WEEK},
    support::Answer,
    yard::{book, certify_in, refused},
};
use axum::http::header;
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use uuid::Uuid;

/// The yard in a county that took the law, with somebody who is certified there.
async fn in_suffolk() -> (Mailed, Uuid, Uuid) {
    let m = Mailed::new().await;
    let plant = m.yard.hedge(&m.world, "front", 2).await;
    let ines = m.world.technician().await;
    for person in [ines.id, m.owner.id] {
        certify_in(&m.world, person, "NY").await;
    }
    m.yard.moved_to(&m.world, "NY").await;
    sqlx::query("update site set county = 'Suffolk'").execute(&m.world.pool).await.unwrap();
    (m, plant, ines.id)
}

/// At that moment, everybody signed in anew.
async fn later(m: &mut Mailed, moment: &str) {
    m.world.clock.set(moment.parse().unwrap());
    m.owner = m.world.sign_in_as(m.owner.id).await;
    m.office = m.world.sign_in_as(m.office.id).await;
}

async fn moved(m: &Mailed, path: &str, technician: Uuid, on: &str, excuse: &str) -> Answer {
    let technician = technician.to_string();
    let fields = [("on", on), ("technician", technician.as_str()), ("excuse", excuse)];
    m.owner.post(&format!("{path}/moves"), &fields).await
}

async fn told(m: &Mailed, path: &str, when: &str) -> Answer {
    let fields = [("how", "letters by hand"), ("when", when)];
    m.office.post(&format!("{path}/duties/ny-48-hours"), &fields).await
}

async fn flags(m: &Mailed) -> Vec<String> {
    sqlx::query_scalar("select words from record_flag where rule = 'notice-lacked'")
        .fetch_all(&m.world.pool)
        .await
        .unwrap()
}

async fn recorded(m: &Mailed, path: &str, plant: Uuid, started: &str) {
    let (id, did) = (Uuid::now_v7().to_string(), format!("did-{plant}"));
    let day: chrono::NaiveDate =
        sqlx::query_scalar("select on_date from visit").fetch_one(&m.world.pool).await.unwrap();
    let day = day.to_string();
    let fields = [("id", id.as_str()), (&did, "planned"), ("on", &day), ("started_at", started)];
    let answer = m.owner.post(&format!("{path}/records"), &fields).await;
    answer.went_to(&format!("/records/{id}"));
}

/// It is Wednesday, 25 November, ten o'clock: eight o'clock of Friday is 46 hours away, of Saturday 70.
#[tokio::test]
async fn a_visit_too_soon_for_its_notice_is_refused_with_the_first_day() {
    let (m, plant, ines) = in_suffolk().await;
    let (_, answer) = book(&m.office, &m.yard, (ines, None), "2026-11-27", plant).await;
    for said in [
        "written notice to abutters within 150 ft",
        "less than 48 hours from now",
        "as no hour is planned",
        "Choose Nov 28, 2026 or a later day",
    ] {
        assert!(refused(&answer).contains(said), "{said}: {}", answer.body);
    }
    assert!(!answer.body.contains("name=\"excuse\""), "the office has no say in it");
    assert_eq!(m.count("select count(*) from visit").await, 0);
    let (path, answer) = book(&m.office, &m.yard, (ines, None), "2026-11-28", plant).await;
    answer.went_to(&path);
    let page = m.office.get(&path).await;
    let by = "At the latest Nov 26, 2026, 08:00: no hour is planned";
    assert!(page.page().contains(by) && page.page().contains("Holds the visit"), "{}", page.body);
    let earlier = moved(&m, &path, ines, "2026-11-27", "").await;
    assert!(refused(&earlier).contains("Choose Nov 28, 2026") && earlier.body.contains("name=\"excuse\""));
    assert_eq!(m.count("select count(*) from visit_duty").await, 0);
}

#[tokio::test]
async fn only_the_owner_says_that_the_law_leaves_it_open_and_stays_named() {
    let (mut m, plant, ines) = in_suffolk().await;
    let (path, answer) = book(&m.office, &m.yard, (ines, None), "2026-11-28", plant).await;
    answer.went_to(&path);
    let why = "An order of the health department, section 4";
    let technician = ines.to_string();
    let fields = [("on", "2026-11-26"), ("technician", technician.as_str()), ("excuse", why)];
    refused(&m.office.post(&format!("{path}/moves"), &fields).await);
    moved(&m, &path, ines, "2026-11-26", why).await.went_to(&path);
    let page = m.office.get(&path).await;
    let named = format!("{why} (Not asked for, says the owner)");
    assert!(page.page().contains(&named), "{}", page.body);
    assert!(!page.page().contains("Do not begin before"), "{}", page.body);
    // Another day is another question.
    moved(&m, &path, ines, "2026-11-30", "").await.went_to(&path);
    assert!(m.office.get(&path).await.page().contains("Do not begin before"));
    let exception = format!("{path}/duties/ny-48-hours/exceptions");
    assert_eq!(m.office.post(&exception, &[("excuse", why)]).await.status.as_u16(), 404);
    refused(&m.owner.post(&exception, &[("excuse", " ")]).await);
    m.world.clock.advance(chrono::TimeDelta::minutes(1));
    m.owner.post(&exception, &[("excuse", why)]).await.went_to(&path);
    assert!(!m.office.get(&path).await.page().contains("Do not begin before"));
    later(&mut m, "2026-11-30T20:00:00Z").await;
    recorded(&m, &path, plant, "09:00").await;
    assert_eq!(flags(&m).await, [""; 0]);
    assert_eq!(m.count("select count(*) from audit where deed = 'duty left open'").await, 2);
}

#[tokio::test]
async fn another_day_asks_anew_and_keeps_what_was_done() {
    let (mut m, plant, ines) = in_suffolk().await;
    let (path, answer) = book(&m.office, &m.yard, (ines, None), "2026-12-01", plant).await;
    answer.went_to(&path);
    let early = told(&m, &path, "2026-11-26T09:00").await;
    assert!(refused(&early).contains("still to come"), "{}", early.body);
    let kept =
        early.body.contains("value=\"letters by hand\"") && early.body.contains("value=\"2026-11-26T09:00\"");
    assert!(kept, "nothing typed is lost: {}", early.body);
    told(&m, &path, "").await.went_to(&path);
    assert!(!m.office.get(&path).await.page().contains("Do not begin before"));
    moved(&m, &path, ines, "2026-12-04", "").await.went_to(&path);
    let page = m.office.get(&path).await;
    assert!(page.page().contains("Do not begin before") && page.page().contains("(for Dec 1, 2026)"));
    // Back, and nobody was told of another day meanwhile: what was done counts again, however late it is.
    later(&mut m, "2026-11-30T20:00:00Z").await;
    refused(&moved(&m, &path, ines, "2026-12-02", "").await);
    moved(&m, &path, ines, "2026-12-01", "").await.went_to(&path);
    assert!(!m.office.get(&path).await.page().contains("Do not begin before"));
    // Told of the fourth, they would come to a closed door on the first.
    moved(&m, &path, ines, "2026-12-04", "").await.went_to(&path);
    told(&m, &path, "").await.went_to(&path);
    refused(&moved(&m, &path, ines, "2026-12-01", "").await);
    let all = m.count("select count(*) from visit_duty").await;
    assert_eq!(all, 2, "one for each day");
}

#[tokio::test]
async fn the_hour_of_the_plan_is_what_counts() {
    let (mut m, plant, ines) = in_suffolk().await;
    let (path, answer) = book(&m.office, &m.yard, (ines, None), "2026-11-28", plant).await;
    answer.went_to(&path);
    later(&mut m, "2026-11-26T22:00:00Z").await;
    // Two in the afternoon of Thursday; the day begins at eight on Saturday: 42 hours.
    told(&m, &path, "2026-11-26T13:30").await.went_to(&path);
    let late = m.office.get(&path).await;
    assert!(late.page().contains("work may not begin before Nov 28, 2026, 13:30"), "{}", late.body);
    let sheet = format!("/route-sheets/{ines}/2026-11-28");
    let said = "OPEN: done late, do not begin before Nov 28, 13:30";
    assert!(m.office.get(&sheet).await.page().contains(said));
    let set = |time: &'static str| {
        let text = format!("update visit set stop_number = 1, arrives_at = '{time}', leaves_at = '16:00'");
        sqlx::query(sqlx::AssertSqlSafe(text)).execute(&m.world.pool)
    };
    set("13:29").await.unwrap();
    assert!(m.office.get(&path).await.page().contains("Do not begin before"));
    set("13:30").await.unwrap();
    let page = m.office.get(&path).await;
    assert!(!page.page().contains("Do not begin before"), "{}", page.body);
    assert!(page.page().contains("At the latest Nov 26, 2026, 13:30.") && !page.page().contains("no hour"));
    later(&mut m, "2026-11-28T23:00:00Z").await;
    recorded(&m, &path, plant, "13:00").await;
    let flagged = flags(&m).await;
    let words = "work could begin on Nov 28, 2026, 13:30; it began on Nov 28, 2026, 13:00.";
    assert!(flagged.len() == 1 && flagged[0].contains(words), "{flagged:?}");
}

#[tokio::test]
async fn what_was_applied_without_its_notice_is_kept_and_flagged() {
    let (mut m, plant, ines) = in_suffolk().await;
    let (path, answer) = book(&m.office, &m.yard, (ines, None), "2026-11-28", plant).await;
    answer.went_to(&path);
    later(&mut m, "2026-11-28T20:00:00Z").await;
    let form = m.owner.get(&format!("{path}/records")).await;
    assert!(form.page().contains("Note on the visit what was done of this before the work"), "{}", form.body);
    recorded(&m, &path, plant, "").await;
    let flagged = flags(&m).await;
    assert!(flagged.len() == 1 && flagged[0].contains("Nothing is noted as done of it."), "{flagged:?}");
    let record: Uuid =
        sqlx::query_scalar("select record_id from record_flag").fetch_one(&m.world.pool).await.unwrap();
    let page = m.owner.get(&format!("/records/{record}")).await;
    assert!(page.page().contains("A notice or sign by law was not done in time"), "{}", page.body);
}

#[tokio::test]
async fn a_week_is_not_given_out_where_a_notice_came_too_late() {
    let mut town = Town::new().await;
    town.three().await;
    certify_in(&town.world, town.ines.id, "NY").await;
    town.sql("insert into product_registration (state, product_id, expires_on) select 'NY', id, '2027-12-31' from product")
        .await;
    town.planned().await;
    let ines = town.ines.id;
    for (street, day) in
        [("1 Quarry Road", "2026-11-30"), ("2 Quarry Road", "2026-12-02"), ("3 Quarry Road", "2026-12-03")]
    {
        if town.stand(street).await.on_date.unwrap().to_string() != day {
            town.move_to(street, ines, day).await;
        }
    }
    town.sql("update site set state = 'NY', county = 'Nassau' where street <> '3 Quarry Road'").await;
    // Sunday, noon: Monday's stop comes too late, Wednesday's does not, the third is in California.
    town.world.clock.set("2026-11-29T20:00:00Z".parse().unwrap());
    town.office = town.world.sign_in_as(town.office.id).await;
    let released = town.release().await;
    released.went_to(WEEK);
    let told = "2 stops are released to the technicians. One was refused; it says why below. One of them may not \
                begin before a notice or sign by law is done: its visit says which.";
    let cookies = released.headers.get_all(header::SET_COOKIE).iter().filter_map(|v| v.to_str().ok());
    let encoded = URL_SAFE_NO_PAD.encode(told);
    assert!(cookies.into_iter().any(|cookie| cookie.contains(&encoded)), "{:?}", released.headers);
    let first = town.stand("1 Quarry Road").await.unserved_why;
    assert!(first.contains("48 hours") && !first.contains("no hour is planned"), "{first}");
    // The day before, the second is neither told nor given out again, though it stands where it was.
    town.world.clock.set("2026-12-01T20:00:00Z".parse().unwrap());
    town.office = town.world.sign_in_as(town.office.id).await;
    let again = town.release().await;
    again.went_to(WEEK);
    assert!(town.stand("2 Quarry Road").await.unserved_why.contains("48 hours"));
    assert_eq!(town.stand("3 Quarry Road").await.unserved_why, "");
}

/// Friday noon: of the week that follows, Monday is 68 hours away. On Sunday noon it is not far enough any more.
#[tokio::test]
async fn no_stop_is_planned_on_a_day_too_soon_for_its_notice() {
    let mut town = Town::new().await;
    town.three().await;
    certify_in(&town.world, town.ines.id, "NY").await;
    town.sql("insert into product_registration (state, product_id, expires_on) select 'NY', id, '2027-12-31' from product")
        .await;
    town.sql("update site set state = 'NY', county = 'Nassau' where street = '2 Quarry Road'").await;
    town.world.clock.set("2026-11-29T20:00:00Z".parse().unwrap());
    town.office = town.world.sign_in_as(town.office.id).await;
    town.planned().await;
    let day = town.stand("2 Quarry Road").await.on_date.unwrap().to_string();
    assert!(day.as_str() >= "2026-12-01", "{day}");
    let refused = town.move_to("2 Quarry Road", town.ines.id, "2026-11-30").await;
    assert_eq!(refused.status.as_u16(), 422);
    let said = "48 hours ahead by law (New York, county neighbour notification): not before Dec 1, 2026.";
    assert!(refused.body.contains(said), "{}", refused.body);
}
