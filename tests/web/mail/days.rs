//! The exact day of a visit, told by mail to whoever said yes: one event of their calendar through booking, moving and
//! cancelling. And a changed address, told to the old one.
use super::{
    own_page::{field, link},
    smtp::SmtpServer,
    yard::{Mailed, mailer},
};
use crate::yard::{book, certify};
use calcard::{
    Entry, Parser,
    icalendar::{ICalendarComponentType, ICalendarProperty},
};
use mail_parser::{MessageParser, MimeHeaders};
use uuid::Uuid;

/// A plant whose customer said yes, and somebody who is to come.
async fn said_yes() -> (Mailed, Uuid, Uuid) {
    let m = Mailed::new().await;
    let plant = m.treated("front", "2026-01-09").await;
    let ines = m.world.technician().await;
    certify(&m.world, ines.id).await;
    let (stranger, link) = (m.world.stranger(), link(&m).await);
    let page = stranger.get(&link).await.body;
    let (id, site) = (field(&page, "id"), field(&page, "site"));
    let own = plant.to_string();
    let fields = [("id", id.as_str()), ("site", &site), ("plant", &own), ("choice", "yes")];
    stranger.post_bare(&format!("{link}/answers"), &fields).await.went_to(&format!("{link}?said=yes"));
    (m, plant, ines.id)
}

/// What a calendar says, read by another library: method, uid, sequence, status, day.
fn read(calendar: &str) -> [String; 5] {
    let Entry::ICalendar(read) = Parser::new(calendar).entry() else { panic!("{calendar}") };
    let text = |event: &calcard::icalendar::ICalendarComponent, p: &ICalendarProperty| {
        let value = event.property(p).and_then(|entry| entry.values.first());
        value
            .map(|value| value.as_text().map_or_else(|| format!("{value:?}"), str::to_owned))
            .unwrap_or_default()
    };
    let events: Vec<_> =
        read.components.iter().filter(|c| c.component_type == ICalendarComponentType::VEvent).collect();
    assert_eq!(events.len(), 1, "{calendar}");
    let line = |name: &str| {
        let found = calendar.lines().find(|line| line.starts_with(name));
        found.map(|line| line[name.len()..].to_owned()).unwrap_or_default()
    };
    // RFC 5546, 3.2.1 and 3.2.5: the organizer stands in both; a reader of another library finds it too.
    assert!(!text(events[0], &ICalendarProperty::Organizer).is_empty(), "{calendar}");
    let uid = text(events[0], &ICalendarProperty::Uid);
    [line("METHOD:"), uid, line("SEQUENCE:"), line("STATUS:"), line("DTSTART;VALUE=DATE:")]
}

async fn told(m: &Mailed) -> Vec<(String, String, String)> {
    sqlx::query_as("select subject, status, calendar from message where cause like 'visit day %' order by id")
        .fetch_all(&m.world.pool)
        .await
        .unwrap()
}

async fn moved(m: &Mailed, path: &str, technician: Uuid, on: &str) {
    let technician = technician.to_string();
    let fields = [("on", on), ("technician", technician.as_str())];
    m.office.post(&format!("{path}/moves"), &fields).await.went_to(path);
}

#[tokio::test]
async fn who_said_yes_is_told_the_day_and_every_change_of_it() {
    let (m, plant, ines) = said_yes().await;
    let first = m.text("select calendar from message where kind = 'answer'").await;
    let Entry::ICalendar(asked) = Parser::new(&first).entry() else { panic!("{first}") };
    let event = asked.components.iter().find(|c| c.component_type == ICalendarComponentType::VEvent).unwrap();
    let uid = event.property(&ICalendarProperty::Uid).unwrap().values[0].as_text().unwrap().to_owned();
    let server = SmtpServer::start(&[]);
    let mailer = mailer(server.port, &[]);
    m.deliver(&mailer).await;
    let (path, answer) = book(&m.office, &m.yard, (ines, None), "2027-01-12", plant).await;
    answer.went_to(&path);
    let one = told(&m).await;
    assert_eq!(one[0].0, "Your plants at 14 Tamber Lane: we come on Jan 12, 2027");
    assert_eq!(read(&one[0].2), ["PUBLISH", uid.as_str(), "1", "CONFIRMED", "20270112"]);
    assert!(m.office.get(&path).await.page().contains("The customer was told this day: no plan moves it"));
    m.deliver(&mailer).await;
    // Another technician on the same day is nothing to them.
    certify(&m.world, m.owner.id).await;
    moved(&m, &path, m.owner.id, "2027-01-12").await;
    assert_eq!(told(&m).await.len(), 1);
    // Twice moved before the first of the two went out: only the second one does.
    moved(&m, &path, ines, "2027-01-13").await;
    moved(&m, &path, ines, "2027-01-14").await;
    let all = told(&m).await;
    let states: Vec<&str> = all.iter().map(|(_, status, _)| status.as_str()).collect();
    assert_eq!(states, ["sent", "withdrawn", "waiting"]);
    assert_eq!(all[2].0, "Your plants at 14 Tamber Lane: we come on another day, Jan 14, 2027");
    assert_eq!(read(&all[2].2), ["PUBLISH", uid.as_str(), "3", "CONFIRMED", "20270114"]);
    m.deliver(&mailer).await;
    m.office.post(&format!("{path}/cancellations"), &[("reason", "ill")]).await.went_to(&path);
    let off = told(&m).await.pop().unwrap();
    assert_eq!(off.0, "Your plants at 14 Tamber Lane: we do not come on Jan 14, 2027");
    assert_eq!(read(&off.2), ["CANCEL", uid.as_str(), "4", "CANCELLED", "20270114"]);
    m.deliver(&mailer).await;
    // And once more: the same event comes back.
    let (_, answer) = book(&m.office, &m.yard, (ines, None), "2027-01-19", plant).await;
    assert!(answer.status.is_redirection(), "{}", answer.body);
    let back = told(&m).await.pop().unwrap();
    assert_eq!(read(&back.2), ["PUBLISH", uid.as_str(), "5", "CONFIRMED", "20270119"]);
    m.deliver(&mailer).await;
    // What went over the wire, read by another library: the part names the calendar's own method (RFC 6047, 2.4).
    let mut methods = vec![];
    for mail in server.taken() {
        let mail = MessageParser::default().parse(&mail.content).unwrap();
        let file = mail.attachment(0).expect("a calendar");
        let kind = file.content_type().unwrap();
        let method = kind.attribute("method").unwrap().to_owned();
        assert_eq!(kind.subtype(), Some("calendar"));
        assert!(file.text_contents().unwrap().contains(&format!("METHOD:{method}\r\n")));
        methods.push(method);
    }
    assert_eq!(methods, ["PUBLISH", "PUBLISH", "PUBLISH", "CANCEL", "PUBLISH"]);
}

#[tokio::test]
async fn who_said_nothing_or_no_is_told_no_day() {
    let (m, plant, ines) = said_yes().await;
    let other = m.treated("back", "2026-01-09").await;
    let (path, answer) = book(&m.office, &m.yard, (ines, None), "2027-01-12", other).await;
    answer.went_to(&path);
    assert_eq!(told(&m).await.len(), 0, "they said nothing of this one");
    sqlx::query("update customer_answer set kind = 'no', wanted_on = null, reason = 'price'")
        .execute(&m.world.pool)
        .await
        .unwrap();
    let (path, answer) = book(&m.office, &m.yard, (ines, None), "2027-01-12", plant).await;
    answer.went_to(&path);
    assert_eq!(told(&m).await.len(), 0);
    assert!(m.office.get(&path).await.page().contains("was not told this day"));
}

#[tokio::test]
async fn a_changed_address_is_told_to_the_old_one() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    let (stranger, link) = (m.world.stranger(), link(&m).await);
    let details = format!("{link}/details");
    let send = |email: &'static str| {
        let (stranger, details) = (stranger.clone(), details.clone());
        async move {
            let fields = [("email", email), ("phone", "805-555-0123"), ("language", "en"), ("offers", "yes")];
            stranger.post_bare(&details, &fields).await
        }
    };
    send("odile@farrant.test").await;
    assert_eq!(m.count("select count(*) from message").await, 0, "nothing has changed");
    for _ in 0..2 {
        send("new@farrant.test").await.went_to(&format!("{link}?said=details"));
    }
    let all: Vec<(String, String, String)> =
        sqlx::query_as("select recipient, subject, body_text from message")
            .fetch_all(&m.world.pool)
            .await
            .unwrap();
    assert_eq!(all.len(), 1, "{all:?}");
    assert_eq!(
        (all[0].0.as_str(), m.text("select email from customer").await.as_str()),
        ("odile@farrant.test", "new@farrant.test")
    );
    assert_eq!(all[0].1, "Your e-mail address at Bellwether Plant Care was changed");
    assert!(!all[0].2.contains("/c/") && !all[0].2.contains("new@"), "nothing to follow: {}", all[0].2);
    send("").await;
    assert_eq!(m.count("select count(*) from message where recipient = 'new@farrant.test'").await, 1);
    send("third@farrant.test").await;
    assert_eq!(m.count("select count(*) from message").await, 2, "nobody to tell");
}

#[tokio::test]
async fn a_neighbour_whom_the_customer_names_waits_for_the_office() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    let (stranger, link) = (m.world.stranger(), link(&m).await);
    let (at, site) = (format!("{link}/neighbours"), m.yard.site.to_string());
    let list = format!("/sites/{site}/neighbours");
    let id = Uuid::now_v7().to_string();
    let named = |id: &str, name: &str, email: &str| {
        [
            ("id", id),
            ("neighbour-site", &site),
            ("name", name),
            ("their-email", email),
            ("why", "bees & <hives>"),
        ]
        .map(|(n, v)| (n.to_owned(), v.to_owned()))
    };
    let send = |fields: [(String, String); 5]| {
        let (stranger, at) = (stranger.clone(), at.clone());
        async move {
            let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
            stranger.post_bare(&at, &fields).await
        }
    };
    let wrong = send(named(&id, "", "nowhere")).await;
    assert_eq!(wrong.status.as_u16(), 422);
    for said in [
        "Write a name or a place.",
        "This is not an e-mail address.",
        "bees &#38; &#60;hives&#62;",
        "nowhere",
    ] {
        assert!(wrong.body.contains(said), "{said}: {}", wrong.body);
    }
    for _ in 0..2 {
        send(named(&id, "Wilma Tarrant", "wilma@tarrant.test"))
            .await
            .went_to(&format!("{link}?said=neighbour"));
    }
    assert!(stranger.get(&link).await.page().contains("You named: Wilma Tarrant."));
    assert_eq!(m.count("select count(*) from site_neighbour").await, 0, "it is no second list");
    assert!(m.office.get("/answers").await.page().contains("1 to decide about"));
    let page = m.office.get(&list).await;
    assert!(page.page().contains("Named by the customer") && page.body.contains("wilma@tarrant.test"));
    let one = format!("{list}/proposals/{id}");
    for _ in 0..2 {
        m.office.post(&one, &[("step", "take")]).await.went_to(&list);
    }
    let taken = m.text("select name || ' ' || email || ' ' || note from site_neighbour").await;
    assert_eq!(taken, "Wilma Tarrant wilma@tarrant.test bees & <hives>");
    let second = Uuid::now_v7().to_string();
    send(named(&second, "Somebody", "")).await;
    m.office.post(&format!("{list}/proposals/{second}"), &[("step", "aside")]).await.went_to(&list);
    assert_eq!(m.count("select count(*) from site_neighbour").await, 1);
    assert!(!m.office.get(&list).await.page().contains("Named by the customer"));
    // Another customer's site is none of theirs.
    let other = m.another_site().await;
    let mut fields = named(&Uuid::now_v7().to_string(), "Sly", "");
    fields[1].1 = other.to_string();
    assert_eq!(send(fields).await.status.as_u16(), 404);
    for _ in 0..25 {
        send(named(&Uuid::now_v7().to_string(), "Many", "")).await;
    }
    assert_eq!(m.count("select count(*) from neighbour_proposal where settled_at is null").await, 20);
}
