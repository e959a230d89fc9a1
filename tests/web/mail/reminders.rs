//! Reminders: on the company's dates, in the customer's language, once, and not to who does not want them.
use super::yard::Mailed;
use chrono::TimeDelta;
use plantward::actions::reminder;

const WRITTEN: &str = "select count(*) from message where kind = 'reminder'";

#[tokio::test]
async fn a_reminder_goes_out_on_its_day_and_once() {
    let m = Mailed::new().await;
    // 365 days and 45 before: due on Jan 9, 2027; 45 days before is today, Nov 25, 2026.
    m.treated("front", "2026-01-09").await;
    let doer = m.world.doer();
    assert_eq!(reminder::write_due(&doer).await.unwrap(), 1);
    assert_eq!(reminder::write_due(&doer).await.unwrap(), 0, "said is said");
    let text = m.text("select body_text from message").await;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("Podocarpus, front (2 plants): Rootward 2F on Jan 9, 2026 against aphids"),
        "{text}"
    );
    assert!(
        text.contains("protected until Jan 9, 2027") && text.contains("Keep people and pets out"),
        "{text}"
    );
    assert!(text.contains("http://127.0.0.1:8080/c/") && text.contains("/u/"), "{text}");
    assert!(text.contains("3 Orchard Row, Quillan Springs, CA 93499"), "a postal address: {text}");
    assert_eq!(m.text("select recipient from message").await, "odile@farrant.test");
    // The next one comes 21 days before, on Saturday Dec 19, and so on Monday the 21st.
    for (days, written) in [(24, 1), (25, 1), (26, 2), (27, 2)] {
        m.world.clock.set("2026-11-25T18:00:00Z".parse().unwrap());
        m.world.clock.advance(TimeDelta::days(days));
        reminder::write_due(&doer).await.unwrap();
        assert_eq!(m.count(WRITTEN).await, written, "after {days} days");
    }
}

#[tokio::test]
async fn nobody_is_written_to_at_night_or_on_a_quiet_day() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    for (at, written) in [
        ("2026-11-26T05:00:00Z", 0), // nine in the evening
        ("2026-11-26T15:30:00Z", 0), // half past seven in the morning
        ("2026-11-28T18:00:00Z", 0), // Saturday
        ("2026-12-24T18:00:00Z", 0), // the company's own quiet day
        ("2026-12-28T16:30:00Z", 1), // half past eight on a Monday
    ] {
        m.world.clock.set(at.parse().unwrap());
        assert_eq!(reminder::write_due(&m.world.doer()).await.unwrap(), written, "{at}");
    }
}

#[tokio::test]
async fn who_is_paused_or_wants_no_offers_or_has_booked_is_not_written_to() {
    let m = Mailed::new().await;
    let plant = m.treated("front", "2026-01-09").await;
    let path = format!("/customers/{}/wishes", m.customer);
    let doer = m.world.doer();
    m.office.post(&path, &[("language", "en"), ("offers", "yes"), ("paused", "yes")]).await;
    assert_eq!(reminder::write_due(&doer).await.unwrap(), 0);
    assert!(m.office.get("/reminders").await.page().contains("Paused for this customer"));
    m.office.post(&path, &[("language", "en")]).await;
    assert_eq!(reminder::write_due(&doer).await.unwrap(), 0);
    assert!(m.office.get("/reminders").await.page().contains("Wants no offers"));
    m.office.post(&path, &[("language", "es"), ("offers", "yes")]).await;
    let ines = m.world.technician().await;
    crate::yard::certify(&m.world, ines.id).await;
    let (visit, booked) = crate::yard::book(&m.office, &m.yard, (ines.id, None), "2027-01-11", plant).await;
    booked.went_to(&visit);
    assert_eq!(reminder::write_due(&doer).await.unwrap(), 0, "what is booked needs no reminder");
    m.office.post(&format!("{visit}/cancellations"), &[("reason", "rain")]).await.went_to(&visit);
    assert_eq!(reminder::write_due(&doer).await.unwrap(), 1);
    let subject = m.text("select subject from message").await;
    assert_eq!(subject, "Sus plantas en 14 Tamber Lane: próxima aplicación el 9 ene 2027");
    // Whoever ends offers gets nothing more of what waits.
    m.office.post(&path, &[("language", "es")]).await;
    assert_eq!(m.text("select status from message").await, "withdrawn");
}

#[tokio::test]
async fn plants_that_go_together_stand_in_one_message_and_what_comes_is_told_beforehand() {
    let m = Mailed::new().await;
    m.treated("front", "2026-01-09").await;
    m.treated("back", "2026-01-20").await;
    let page = m.office.get("/reminders").await;
    assert!(page.page().contains("45 days before Jan 9, 2027, when the podocarpus is due"), "{}", page.body);
    assert!(page.body.contains("Podocarpus and 1 more record"), "{}", page.body);
    let path = format!("/sites/{}/reminders", m.yard.site);
    let preview = m.office.get(&path).await;
    assert!(preview.page().contains("Podocarpus, back (2 plants)"), "{}", preview.body);
    assert_eq!(m.count(WRITTEN).await, 0, "looking sends nothing");
    assert_eq!(reminder::write_due(&m.world.doer()).await.unwrap(), 1);
    assert_eq!(m.count("select count(*) from reminder_said").await, 2);
    let test = m.office.post(&format!("{path}/tests"), &[]).await;
    assert!(test.location().starts_with("/messages/"), "{}", test.body);
    let sent = m.text("select recipient || ' ' || subject from message where kind = 'test'").await;
    assert!(sent.starts_with("tobias.fenn@bellwether.test [Test] Your plants at 14 Tamber Lane"), "{sent}");
}

#[tokio::test]
async fn dates_that_are_none_are_refused_and_nothing_typed_is_lost() {
    let m = Mailed::new().await;
    for (before, weekdays, wrong) in [
        ("45, soon", 0, "Write up to six whole numbers"),
        ("1,2,3,4,5,6,7", 0, "Write up to six whole numbers"),
        ("-3", 0, "Write up to six whole numbers"),
        ("45", 7, "Leave at least one day"),
    ] {
        let days: Vec<String> = (1..=weekdays).map(|d: i32| d.to_string()).collect();
        let mut fields =
            vec![("running", "yes"), ("days_before", before), ("link_days", "90"), ("quiet_dates", "")];
        fields.extend(days.iter().map(|day| ("quiet_weekdays", day.as_str())));
        let answer = m.owner.post("/reminders/terms", &fields).await;
        assert_eq!(answer.status.as_u16(), 422, "{before}");
        assert!(answer.body.contains(wrong) && answer.body.contains(before), "{}", answer.body);
    }
    let kept: Vec<i32> =
        sqlx::query_scalar("select days_before from mail_terms").fetch_one(&m.world.pool).await.unwrap();
    assert_eq!(kept, [45, 21, 7]);
}
