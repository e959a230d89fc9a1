//! The calendar's address: made, read by whoever has it, revoked.
use crate::{sheets::Day, support::Answer};
use axum::http::StatusCode;
use calcard::{
    Entry, Parser,
    icalendar::{ICalendar, ICalendarComponentType, ICalendarProperty},
};
use plantward::domain::user::Role;

/// The address that the page shows this once.
fn link(page: &Answer) -> String {
    let rest = page.page().split("<code>").nth(1).unwrap_or_else(|| panic!("{}", page.body));
    let whole = rest.split("</code>").next().unwrap();
    let at = whole.find("/calendars/").unwrap();
    whole[at..].to_owned()
}

fn read(answer: &Answer) -> ICalendar {
    assert_eq!(answer.headers["content-type"], "text/calendar; charset=utf-8");
    match Parser::new(answer.page()).entry() {
        Entry::ICalendar(read) => read,
        other => panic!("{other:?}"),
    }
}

fn texts(calendar: &ICalendar, property: &ICalendarProperty) -> Vec<String> {
    let events = calendar.components.iter().filter(|c| c.component_type == ICalendarComponentType::VEvent);
    let text = |c: &calcard::icalendar::ICalendarComponent| {
        c.property(property).and_then(|e| e.values.first()).and_then(|v| v.as_text()).map(str::to_owned)
    };
    events.filter_map(text).collect()
}

#[tokio::test]
async fn a_technicians_visits_reach_their_telephone() {
    let day = Day::new().await;
    let (front, back) =
        (day.yard.hedge(&day.world, "front", 4).await, day.yard.hedge(&day.world, "back", 1).await);
    let visit = day.book(front, "2026-11-30", "3").await;
    let other = day.book(back, "2026-12-01", "3").await;
    day.run(
        "update visit set stop_number = 1, arrives_at = '09:30', leaves_at = '10:05' where id = $1",
        &[visit],
    )
    .await;
    let path = link(&day.ines.post("/account/calendars", &[]).await);
    let stranger = day.world.stranger();
    let answer = stranger.get(&path).await;
    let calendar = read(&answer);
    let uid = |id| format!("{id}@127.0.0.1:8080");
    assert_eq!(texts(&calendar, &ICalendarProperty::Uid), [uid(visit), uid(other)]);
    assert_eq!(
        texts(&calendar, &ICalendarProperty::Summary),
        ["14 Tamber Lane: 4 plants", "14 Tamber Lane: 1 plant"]
    );
    assert_eq!(
        texts(&calendar, &ICalendarProperty::Location)[0],
        "14 Tamber Lane, Quillan Springs, CA 93499"
    );
    // Half past nine in California is half past five in Greenwich in winter; the other takes the day.
    assert!(answer.body.contains("DTSTART:20261130T173000Z\r\n"), "{}", answer.body);
    assert!(answer.body.contains("DTSTART;VALUE=DATE:20261201\r\n"), "{}", answer.body);
    for kept in ["Farrant", "805-555", "Rootward", "mL", "Gate"] {
        assert!(!answer.body.contains(kept), "{kept} is nobody else's business: {}", answer.body);
    }
    day.world.clock.advance(chrono::TimeDelta::hours(3));
    let later = read(&stranger.get(&path).await);
    assert_eq!(texts(&later, &ICalendarProperty::Uid), [uid(visit), uid(other)], "an event keeps its name");
    day.ines.post("/account/languages", &[("language", "es")]).await;
    day.run("update visit set waiting_reason = 'Storm', waiting_since = now() where id = $1", &[other]).await;
    let spanish = read(&stranger.get(&path).await);
    assert_eq!(
        texts(&spanish, &ICalendarProperty::Summary),
        ["14 Tamber Lane: 4 plantas", "14 Tamber Lane: 1 planta"]
    );
    assert_eq!(texts(&spanish, &ICalendarProperty::Description), ["Espera un día nuevo en el plan."]);
}

#[tokio::test]
async fn an_address_ends_when_it_is_revoked_replaced_or_its_person_leaves() {
    let day = Day::new().await;
    let stranger = day.world.stranger();
    let first = link(&day.ines.post("/account/calendars", &[]).await);
    let kept = "select count(*) from calendar_feed where encode(secret_hash, 'escape') like '%' || $1 || '%'";
    let secret = first.trim_start_matches("/calendars/").trim_end_matches(".ics");
    let found: i64 = sqlx::query_scalar(kept).bind(secret).fetch_one(&day.world.pool).await.unwrap();
    assert_eq!(found, 0, "only the hash is kept");
    assert!(!day.ines.get("/account").await.page().contains(secret), "it is shown once");
    let second = link(&day.ines.post("/account/calendars", &[]).await);
    assert_eq!(stranger.get(&first).await.status, StatusCode::NOT_FOUND, "a new one ends the old one");
    assert_eq!(stranger.get(&second).await.status, StatusCode::OK);
    day.ines.post("/account/calendars/revocations", &[]).await.went_to("/account");
    assert_eq!(stranger.get(&second).await.status, StatusCode::NOT_FOUND);
    let path = format!("/people/{}/calendars", day.ines.id);
    let third = link(&day.owner.post(&path, &[]).await);
    assert_eq!(stranger.get(&third).await.status, StatusCode::OK);
    assert_eq!(day.office.post(&path, &[]).await.status, StatusCode::NOT_FOUND);
    day.owner.post(&format!("/people/{}/retirements", day.ines.id), &[]).await;
    assert_eq!(stranger.get(&third).await.status, StatusCode::NOT_FOUND, "who has left has no calendar");
    for odd in ["/calendars/x.ics", "/calendars/.ics", &second.replace(".ics", ""), "/calendars/"] {
        assert_eq!(stranger.get(odd).await.status, StatusCode::NOT_FOUND, "{odd}");
    }
}

#[tokio::test]
async fn a_calendar_holds_nobody_elses_visits() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front", 1).await;
    day.book(hedge, "2026-11-30", "3").await;
    let dario = day.world.sign_in("Dario Velm", Role::Technician).await;
    let path = link(&dario.post("/account/calendars", &[]).await);
    let calendar = read(&dario.get(&path).await);
    assert_eq!(texts(&calendar, &ICalendarProperty::Uid), Vec::<String>::new());
}
