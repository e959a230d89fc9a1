//! Heads that are mailed: through a real server to somebody outside, once in each period, and as the file that the
//! page gives.
use super::{
    smtp::SmtpServer,
    yard::{Mailed, mailer},
};
use crate::support::{Visitor, World};
use axum::http::StatusCode;
use chrono::TimeDelta;
use mail_parser::{MessageParser, MimeHeaders};
use plantward::actions::head_mail;

const KEEPER: &str = "ledger@keeper.test";

async fn every(owner: &Visitor, often: &str) {
    owner.post("/evidence/mail", &[("email", KEEPER), ("every", often)]).await.went_to("/evidence");
}

async fn waiting(world: &World) -> Vec<String> {
    sqlx::query_scalar("select cause from message where kind = 'head' order by id")
        .fetch_all(&world.pool)
        .await
        .unwrap()
}

#[tokio::test]
async fn a_mailed_head_is_the_file_and_finds_a_change() {
    let m = Mailed::new().await;
    m.treated("front", "2026-03-15").await;
    // What the yard wrote is no link of the chain; the head is about what stands there, whatever it is.
    every(&m.owner, "month").await;
    let server = SmtpServer::start(&[]);
    let id = head_mail::mail_due(&m.world.doer()).await.unwrap().expect("the first of its month");
    m.deliver(&mailer(server.port, &[])).await;
    let taken = server.taken();
    let [one] = taken.as_slice() else { panic!("one mail: {}", taken.len()) };
    assert_eq!(one.to, KEEPER);
    let mail = MessageParser::default().parse(&one.content).unwrap();
    let file = mail.attachment(0).unwrap();
    assert_eq!(file.attachment_name(), Some("head_2026-11-25.txt"));
    let text = String::from_utf8(file.contents().to_vec()).unwrap();
    let head = m.text("select id::text from chain_head").await;
    assert_eq!(text, m.office.get(&format!("/evidence/heads/{head}.txt")).await.page(), "byte for byte");
    // The body alone is enough as well: it holds the head without its marks.
    let body = mail.body_text(0).unwrap().replace('\r', "");
    let short = &body[body.find("plantward-head-1").unwrap()..];
    let short = short[..short.find("\n\n").unwrap()].to_owned();
    let root = text.lines().find_map(|l| l.strip_prefix("audit-root: ")).unwrap();
    assert!(short.contains(root));
    let page = m.office.get(&format!("/messages/{id}")).await;
    assert!(
        page.page().contains("Head of the records") && page.body.contains("head_2026-11-25.txt"),
        "{}",
        page.body
    );
    assert!(!page.body.contains("Print it as a letter"), "a letter carries no file");
    let noted = m.text("select detail ->> 'to' from audit where deed = 'mailed' and noun = 'head'").await;
    assert_eq!(noted, KEEPER);
    // A line of the audit is taken out by whoever may do anything: both say so.
    sqlx::raw_sql("set session_replication_role = replica; update audit set deed = 'looked' where id = 1; reset session_replication_role")
        .execute(&m.world.pool)
        .await
        .unwrap();
    for kept in [&text, &short] {
        let found = m.office.post("/evidence/checks", &[("head", kept)]).await;
        assert!(
            found.page().contains("Audit: place 1, audit row 1: it is not as it was written."),
            "{}",
            found.body
        );
    }
}

#[tokio::test]
async fn one_goes_out_in_each_period_and_no_more() {
    let m = Mailed::new().await;
    let doer = m.world.doer();
    assert_eq!(head_mail::mail_due(&doer).await.unwrap(), None, "nobody is named");
    every(&m.owner, "week").await;
    // Several copies of the program ask at once.
    let all = futures_util::future::join_all((0..8).map(|_| head_mail::mail_due(&doer))).await;
    assert_eq!(all.into_iter().filter(|one| one.as_ref().unwrap().is_some()).count(), 1);
    assert_eq!(waiting(&m.world).await, ["head 2026-W48"]);
    assert_eq!(m.count("select count(*) from chain_head").await, 1, "no head is taken in vain");
    // Wednesday, ten in the morning: the week ends with Sunday where the company works.
    m.world.clock.advance(TimeDelta::hours(24 * 4 + 13));
    assert_eq!(head_mail::mail_due(&doer).await.unwrap(), None, "Sunday, eleven at night");
    m.world.clock.advance(TimeDelta::hours(2));
    head_mail::mail_due(&doer).await.unwrap().expect("Monday");
    // Sessions end in four days.
    let owner = m.world.sign_in_as(m.owner.id).await;
    every(&owner, "day").await;
    head_mail::mail_due(&doer).await.unwrap().expect("another step begins at once");
    assert_eq!(waiting(&m.world).await, ["head 2026-W48", "head 2026-W49", "head 2026-11-30"]);
    owner.post("/evidence/mail", &[("email", ""), ("every", "day")]).await.went_to("/evidence");
    m.world.clock.advance(TimeDelta::days(3));
    assert_eq!(head_mail::mail_due(&doer).await.unwrap(), None, "switched off");
}

#[tokio::test]
async fn a_head_taken_by_hand_is_mailed_by_a_button() {
    let m = Mailed::new().await;
    let taken = m.office.post("/evidence/heads", &[]).await;
    let at = taken.location().to_owned();
    assert!(m.office.get(&at).await.page().contains("the owner names somebody"));
    let refused = m.office.post(&format!("{at}/mails"), &[]).await;
    assert!(
        refused.status.is_client_error() && refused.body.contains("No address is set"),
        "{}",
        refused.body
    );
    every(&m.owner, "month").await;
    assert!(m.office.get(&at).await.page().contains("Mail it to whoever keeps them"));
    for _ in 0..2 {
        m.office.post(&format!("{at}/mails"), &[]).await.went_to(&at);
    }
    assert_eq!(waiting(&m.world).await.len(), 1, "pressed twice, it goes once");
    // Without a server nothing of it stands among the letters, and the page says what to do.
    assert!(m.office.get("/evidence").await.page().contains("No mail server is set up"));
    assert!(m.office.get("/messages").await.page().contains("Head of the records of Bellwether Plant Care"));
    assert!(!m.office.paper("/messages/letters.pdf").await.contains("plantward-head-1"));
}

#[tokio::test]
async fn only_the_owner_says_to_whom_and_never_to_our_own_people() {
    let m = Mailed::new().await;
    let office = m.office.post("/evidence/mail", &[("email", KEEPER), ("every", "month")]).await;
    assert_eq!(office.status, StatusCode::NOT_FOUND);
    assert!(!m.office.get("/evidence").await.page().contains("Address of somebody outside"));
    for (email, often, said) in [
        ("ledger", "month", "This is not an e-mail address."),
        ("Tobias.Fenn@bellwether.test", "month", "somebody who signs in here"),
        (KEEPER, "hour", "every"),
    ] {
        let answer = m.owner.post("/evidence/mail", &[("email", email), ("every", often)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(
            answer.body.contains(said) && answer.body.contains(&format!("value=\"{email}\"")),
            "{}",
            answer.body
        );
    }
    assert!(m.owner.get("/evidence").await.page().contains("No head is mailed."));
}
