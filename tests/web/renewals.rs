//! Renewals: where each site stands, what was said, the money at stake, and how many treatments were renewed.
use crate::{
    records::record,
    support::{Answer, Visitor, World},
    yard::Yard,
};
use axum::http::StatusCode;
use chrono::Duration;
use plantward::{
    actions::renewal::{self, Said},
    domain::user::Role,
};
use uuid::Uuid;

struct Story {
    world: World,
    maren: Visitor,
    tobias: Visitor,
    yard: Yard,
}

impl Story {
    /// A hedge of three that was treated on the last day of 2025 and is due on the last of 2026, at $102.
    async fn new() -> Self {
        let world = World::new().await;
        let (maren, tobias) = (world.owner().await, world.office().await);
        let yard = Yard::new(&world, &maren).await;
        let hedge = yard.hedge(&world, "front hedge", 3).await;
        let fields = [("measure-0", "8"), ("count-0", "3"), ("on", "2025-12-31")];
        let (path, answer) = record(&maren, &yard, Some(hedge), "72", &fields).await;
        answer.went_to(&path);
        let (id, at) = (Uuid::now_v7().to_string(), format!("/sites/{}/agreements", yard.site));
        let fields = [("id", id.as_str()), ("basis", "foot"), ("price", "4.25"), ("starts_on", "2025-01-05")];
        tobias.post(&at, &fields).await.went_to(&at);
        Self { world, maren, tobias, yard }
    }

    /// So many days later, with new sessions: a long time ends every one.
    async fn later(&mut self, days: i64) {
        self.world.clock.advance(Duration::days(days));
        self.maren = self.world.sign_in(&format!("Maren {days}"), Role::Owner).await;
        self.tobias = self.world.sign_in(&format!("Tobias {days}"), Role::Office).await;
    }

    async fn say(&self, fields: &[(&str, &str)]) -> Answer {
        let id = Uuid::now_v7().to_string();
        let mut all = vec![("id", id.as_str()), ("came_by", "telephone")];
        all.extend(fields);
        self.tobias.post(&format!("/sites/{}/renewals", self.yard.site), &all).await
    }

    async fn said(&self, fields: &[(&str, &str)]) {
        self.say(fields).await.went_to(&format!("/sites/{}/renewals", self.yard.site));
    }

    /// The page's part under that heading.
    async fn part(&self, heading: &str) -> String {
        let page = self.tobias.get("/renewals").await;
        let rest = page.page().split(&format!("<h2>{heading}")).nth(1).unwrap_or_default();
        rest.split("<h2>").next().unwrap_or_default().to_owned()
    }
}

#[tokio::test]
async fn each_answer_moves_the_site_and_its_money() {
    let s = Story::new().await;
    let open = s.part("Money at stake").await;
    assert!(
        open.contains("$102.00") && open.contains("Due to lapse") && open.contains("Odile Farrant"),
        "{open}"
    );
    let reminder = Said {
        id: Uuid::now_v7(),
        site: s.yard.site,
        kind: "reminded",
        wished_on: None,
        reason: None,
        words: "",
        came_by: "program",
        price: None,
    };
    for _ in 0..2 {
        renewal::enter(&s.world.doer(), &reminder).await.unwrap();
    }
    assert!(s.part("Money at stake").await.contains("Reminded on Nov 25, 2026"));
    let rows: i64 =
        sqlx::query_scalar("select count(*) from renewal_event").fetch_one(&s.world.pool).await.unwrap();
    assert_eq!(rows, 1, "the same event twice is one");
    s.said(&[("kind", "other-day"), ("wished_on", "2027-01-20")]).await;
    assert!(s.part("Money at stake").await.contains("Wishes Jan 20, 2027"));
    s.said(&[("kind", "declined"), ("reason", "price"), ("words", "Too <dear>")]).await;
    let declined = s.part("Declined").await;
    assert!(declined.contains("The price: Too &#60;dear&#62;") && declined.contains("$102.00"), "{declined}");
    assert!(s.part("Money at stake: $0.00").await.contains("Nothing here."));
    s.said(&[("kind", "taken-back")]).await;
    assert!(
        s.part("Money at stake").await.contains("Reminded on"),
        "the answer is gone, the reminder is not"
    );
    s.said(&[("kind", "accepted")]).await;
    assert!(s.part("Accepted: $102.00").await.contains("Accepted, to be booked"));
    let page = s.tobias.get(&format!("/sites/{}/renewals", s.yard.site)).await;
    for said in
        ["No: The price, by telephone; due Dec 31, 2026; price then $102.00: Too", "Reminded, by the program"]
    {
        assert!(page.page().contains(said), "{said}\n{}", page.body);
    }
    let refused =
        sqlx::query("update renewal_event set kind = 'accepted'").execute(&s.world.pool).await.unwrap_err();
    assert_eq!(plantward::db::broken_constraint(&refused), Some("renewal_event_stays"));
}

#[tokio::test]
async fn a_treatment_closes_the_renewal_and_silence_loses_it() {
    let mut s = Story::new().await;
    s.said(&[("kind", "declined"), ("reason", "not-said")]).await;
    s.later(40).await;
    let hedge: Uuid = sqlx::query_scalar("select id from plant").fetch_one(&s.world.pool).await.unwrap();
    let fields = [("measure-0", "8"), ("count-0", "3"), ("on", "2027-01-04")];
    let (path, answer) = record(&s.maren, &s.yard, Some(hedge), "72", &fields).await;
    answer.went_to(&path);
    let after = s.tobias.get("/renewals").await;
    assert!(!after.page().contains("Declined</") && !after.body.contains("$102.00"), "due in a year again");
    // Renewed in time: 2025-12-31 protects to 2026-12-31, and the next came four days later.
    let rate = after.body.split("<caption>By the year").nth(1).unwrap();
    assert!(rate.contains("2026") && rate.contains("100.0 %"), "{rate}");
    s.later(440).await;
    let lost = s.part("Lost without a word").await;
    assert!(lost.contains("Protection ended Jan 4, 2028"), "{lost}");
    let page = s.tobias.get("/renewals").await;
    assert!(page.page().contains("0.0 %"), "and the rate of its year says so");
}

#[tokio::test]
async fn what_is_wrong_comes_back_and_prices_that_are_not_known_are_not_zero() {
    let s = Story::new().await;
    for (fields, told) in [
        (&[("kind", "")][..], "Please choose one of these."),
        (&[("kind", "other-day")], "Please fill this in."),
        (&[("kind", "other-day"), ("wished_on", "2026-11-24")], "This day is past."),
        (&[("kind", "declined")], "Please choose one of these."),
        (&[("kind", "declined"), ("reason", "whim")], "Please choose one of these."),
    ] {
        let all = [fields, &[("words", "typed <already>")]].concat();
        let answer = s.say(&all).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(answer.body.contains(told) && answer.body.contains("typed &#60;already&#62;"), "{fields:?}");
    }
    sqlx::query("delete from agreement").execute(&s.world.pool).await.unwrap();
    let open = s.part("Money at stake").await;
    assert!(open.contains("Not counted: 1") && open.contains("not known"), "{open}");
    let ines = s.world.technician().await;
    for closed in ["/renewals".to_owned(), format!("/sites/{}/renewals", s.yard.site)] {
        assert_eq!(ines.get(&closed).await.status, StatusCode::NOT_FOUND, "{closed}");
    }
}

#[tokio::test]
async fn a_retired_site_is_named_among_the_lost() {
    let s = Story::new().await;
    let site = format!("/sites/{}", s.yard.site);
    s.tobias.post(&format!("{site}/retirements"), &[]).await.went_to(&site);
    let page = s.tobias.get("/renewals").await;
    assert!(
        page.page().contains("14 Tamber Lane, Quillan Springs</a>, Odile Farrant: retired"),
        "{}",
        page.body
    );
}
