//! The customer's own page: what it shows, what may be decided, and whom a link does not open for.
use super::yard::Mailed;
use crate::support::{Answer, Visitor};
use axum::http::{Method, StatusCode};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use calcard::{Entry, Parser};
use chrono::TimeDelta;
use plantward::actions::{customer_mail, reminder};

/// The page's address of a fresh link.
pub async fn link(m: &Mailed) -> String {
    let whole = customer_mail::make_link(&m.world.doer(), m.customer).await.unwrap();
    whole.trim_start_matches("http://127.0.0.1:8080").to_owned()
}

pub fn field(page: &str, name: &str) -> String {
    let rest = page.split(&format!("name=\"{name}\" value=\"")).nth(1).unwrap_or_default();
    rest.split('"').next().unwrap_or_default().to_owned()
}

/// Opens the page and sends its form with this choice.
async fn choose(visitor: &Visitor, link: &str, more: &[(&str, &str)]) -> Answer {
    let page = visitor.get(link).await.body;
    let (id, site, plant) = (field(&page, "id"), field(&page, "site"), field(&page, "plant"));
    let mut fields = vec![("id", id.as_str()), ("site", &site), ("plant", &plant)];
    fields.extend(more);
    visitor.post_bare(&format!("{link}/answers"), &fields).await
}

#[tokio::test]
async fn a_yes_lands_with_the_owner_and_is_answered_by_mail_with_a_calendar() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    let (stranger, link) = (m.world.stranger(), link(&m).await);
    let page = stranger.get(&link).await;
    for said in [
        "14 Tamber Lane",
        "Podocarpus, front (2 plants)",
        "Protected until Jan 9, 2027",
        "Rootward 2F",
        "Keep people and pets out",
        "Yes, come about Jan 9, 2027",
        "picture strip",
    ] {
        assert!(page.page().contains(said), "{said}: {}", page.body);
    }
    assert_eq!(m.count("select count(*) from customer_answer").await, 0, "looking decides nothing");
    let sent = choose(&stranger, &link, &[("choice", "yes"), ("note", "Ring first")]).await;
    sent.went_to(&format!("{link}?said=yes"));
    let after = stranger.get(sent.location()).await;
    assert!(after.page().contains("You said yes: we come about Jan 9, 2027"), "{}", after.body);
    assert!(!after.body.contains("name=\"choice\""), "there is nothing more to decide");
    assert!(m.owner.get("/due").await.page().contains("1 customer answered"));
    let answers = m.owner.get("/answers").await;
    assert!(answers.page().contains("Yes, about Jan 9, 2027") && answers.body.contains("Ring first"));
    assert!(answers.body.contains(&format!("/visits/new?site={}", m.yard.site)), "one step to the booking");
    assert!(
        m.office.get(&format!("/customers/{}", m.customer)).await.page().contains("Yes, about Jan 9, 2027")
    );
    let subject = m.text("select subject from message where kind = 'answer'").await;
    assert_eq!(subject, "Your plants at 14 Tamber Lane: we come about Jan 9, 2027");
    let calendar = m.text("select calendar from message where kind = 'answer'").await;
    let Entry::ICalendar(read) = Parser::new(&calendar).entry() else { panic!("{calendar}") };
    assert_eq!(read.components.iter().filter(|c| c.component_type.as_str() == "VEVENT").count(), 1);
    assert!(calendar.contains("DTSTART;VALUE=DATE:20270109\r\n") && calendar.contains("STATUS:TENTATIVE"));
    assert_eq!(reminder::write_due(&m.world.doer()).await.unwrap(), 0, "who answered is not reminded");
    let id = m.text("select id::text from customer_answer").await;
    m.owner.post(&format!("/answers/{id}/settlements"), &[]).await.went_to("/answers");
    assert!(!m.owner.get("/due").await.page().contains("customer answered"));
}

#[tokio::test]
async fn a_no_keeps_the_plants_out_of_the_plan_and_asks_why() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    let (stranger, link) = (m.world.stranger(), link(&m).await);
    let until = "2027-02-01".parse().unwrap();
    let mut conn = m.world.pool.acquire().await.unwrap();
    assert_eq!(plantward::db::plan::due_in(&mut conn, until).await.unwrap().len(), 1);
    for (fields, wrong) in [
        (&[("choice", "no"), ("note", "kept words")][..], "Choose a reason."),
        (&[("choice", "other"), ("note", "kept words")], "Choose a day."),
        (&[("note", "kept words")], "Choose one of these."),
        (&[("choice", "other"), ("day", "2026-11-28"), ("note", "kept words")], "This day is no longer free"),
    ] {
        let answer = choose(&stranger, &link, fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(
            answer.body.contains(wrong) && answer.body.contains("kept words"),
            "{wrong}: {}",
            answer.body
        );
    }
    choose(&stranger, &link, &[("choice", "no"), ("reason", "price")]).await;
    assert_eq!(plantward::db::plan::due_in(&mut conn, until).await.unwrap().len(), 0);
    assert!(m.owner.get("/answers").await.page().contains("No: the price"));
    let subject = m.text("select subject from message where kind = 'answer'").await;
    assert_eq!(subject, "Your plants at 14 Tamber Lane: no treatment for now");
    let event = m.text("select kind || ' ' || reason || ' ' || came_by from renewal_event").await;
    assert_eq!(event, "declined price link", "the list of renewals knows it");
}

#[tokio::test]
async fn another_day_is_one_that_somebody_has_room_for() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    let (stranger, link) = (m.world.stranger(), link(&m).await);
    assert!(
        stranger.get(&link).await.page().contains("No other day can be offered here"),
        "no hours are entered"
    );
    let ines = m.world.technician().await;
    sqlx::query(
        "insert into working_day (person_id, weekday, starts, ends) values ($1, 2, '08:00', '16:00')",
    )
    .bind(ines.id)
    .execute(&m.world.pool)
    .await
    .unwrap();
    let page = stranger.get(&link).await;
    assert!(page.page().contains("<option value=\"2027-01-12\">Jan 12, 2027</option>"), "{}", page.body);
    assert!(!page.body.contains("value=\"2026-12-01\""), "its label does not allow it before");
    choose(&stranger, &link, &[("choice", "other"), ("day", "2027-01-12")])
        .await
        .went_to(&format!("{link}?said=yes"));
    let mut conn = m.world.pool.acquire().await.unwrap();
    let due = plantward::db::plan::due_in(&mut conn, "2027-01-31".parse().unwrap()).await.unwrap();
    assert_eq!(due[0].due_on.to_string(), "2027-01-12", "the planner takes the day that they chose");
}

#[tokio::test]
async fn details_are_theirs_to_change_in_their_language() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    let (stranger, link) = (m.world.stranger(), link(&m).await);
    let own = format!("{link}/details");
    let bad = stranger.post_bare(&own, &[("email", "nowhere"), ("phone", "1"), ("language", "es")]).await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(bad.body.contains("This is not an e-mail address.") && bad.body.contains("value=\"nowhere\""));
    let fields = [("email", "new@farrant.test"), ("phone", "805-555-0155"), ("language", "es")];
    stranger.post_bare(&own, &fields).await.went_to(&format!("{link}?said=details"));
    let page = stranger.get(&link).await;
    assert!(page.page().contains("<html lang=\"es\">") && page.body.contains("Sus plantas"), "{}", page.body);
    assert!(page.body.contains("Protegida hasta el 9 ene 2027"), "{}", page.body);
    assert_eq!(m.text("select email from customer").await, "new@farrant.test");
    assert_eq!(reminder::write_due(&m.world.doer()).await.unwrap(), 0, "the box for offers was not ticked");
}

#[tokio::test]
async fn a_link_opens_for_nobody_else_and_not_for_ever() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    let (stranger, first) = (m.world.stranger(), link(&m).await);
    stranger.get(&first).await.page();
    // Every bit of it counts.
    let bytes = URL_SAFE_NO_PAD.decode(first.trim_start_matches("/c/")).unwrap();
    for bit in (0..bytes.len() * 8).step_by(7) {
        let mut changed = bytes.clone();
        changed[bit / 8] ^= 1 << (bit % 8);
        let path = format!("/c/{}", URL_SAFE_NO_PAD.encode(&changed));
        let answer = stranger.get(&path).await;
        assert_eq!(answer.status, StatusCode::GONE, "bit {bit}");
        assert!(!answer.body.contains("Farrant") && !answer.body.contains("Tamber"), "{}", answer.body);
        assert_eq!(stranger.post_bare(&format!("{path}/details"), &[]).await.status, StatusCode::GONE);
    }
    for odd in ["/c/x", "/c/%00", "/c/..%2F..", &format!("/u/{}", first.trim_start_matches("/c/"))] {
        let answer = stranger.get(odd).await;
        assert!(answer.status.is_client_error(), "{odd}: {}", answer.status);
    }
    // Another customer's site cannot be answered for with it.
    let other = m.another_site().await.to_string();
    let id = uuid::Uuid::now_v7().to_string();
    let fields = [("id", id.as_str()), ("site", other.as_str()), ("choice", "yes")];
    let answer = stranger.post_bare(&format!("{first}/answers"), &fields).await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND, "{}", answer.body);
    assert_eq!(m.count("select count(*) from customer_answer").await, 0);
    // It is ended by hand, or by its day.
    m.office.post(&format!("/customers/{}/links/ends", m.customer), &[]).await;
    assert_eq!(stranger.get(&first).await.status, StatusCode::GONE);
    let second = link(&m).await;
    m.world.clock.advance(TimeDelta::days(90) - TimeDelta::seconds(1));
    stranger.get(&second).await.page();
    m.world.clock.advance(TimeDelta::seconds(1));
    assert_eq!(stranger.get(&second).await.status, StatusCode::GONE);
}

/// RFC 8058: looking at the address changes nothing, since programs look at every address of a mail; one POST with
/// exactly this body ends offers, from anywhere and without a session.
#[tokio::test]
async fn offers_end_by_one_click_and_not_by_looking() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    let doer = m.world.doer();
    reminder::write_due(&doer).await.unwrap();
    let whole = m.text("select unsubscribe from message").await;
    let path = whole.trim_start_matches("http://127.0.0.1:8080");
    let stranger = m.world.stranger();
    let stopped = "select count(*) from customer_mail where offers_stopped_at is not null";
    let form: &[u8] = b"application/x-www-form-urlencoded";
    let cross_site = [("sec-fetch-site", "cross-site"), ("origin", "https://mail.elsewhere.test")];
    let get = stranger.get(path).await;
    assert!(get.page().contains("End offers"), "{}", get.body);
    assert_eq!(m.count(stopped).await, 0, "looking ends nothing");
    let wrong = m_post(&m, path, &[], (form, b"List-Unsubscribe=Later".to_vec())).await;
    assert_eq!((wrong.status, m.count(stopped).await), (StatusCode::OK, 0));
    let ended = m_post(&m, path, &cross_site, (form, b"List-Unsubscribe=One-Click".to_vec())).await;
    assert_eq!(ended.status, StatusCode::OK, "no redirect: {}", ended.body);
    assert_eq!(m.count(stopped).await, 1);
    assert_eq!(m.text("select status from message").await, "withdrawn", "what had not gone out does not");
    let page = m.office.get(&format!("/customers/{}", m.customer)).await;
    assert!(page.page().contains("by one click in their mail"), "{}", page.body);
    m.world.clock.set("2026-12-21T18:00:00Z".parse().unwrap());
    assert_eq!(reminder::write_due(&doer).await.unwrap(), 0);
    assert!(stranger.get(path).await.page().contains("no more offers"));
    assert_eq!(stranger.get("/u/AAAA").await.status, StatusCode::GONE);
}

async fn m_post(m: &Mailed, path: &str, headers: &[(&str, &str)], body: (&[u8], Vec<u8>)) -> Answer {
    m.world.stranger().request(Method::POST, path, headers, Some(body)).await
}
