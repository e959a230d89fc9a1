//! The outbox as people see it: what went wrong and what can be done, letters, and mail that came back.
use super::{
    smtp::SmtpServer,
    yard::{Mailed, mailer},
};
use plantward::actions::{message, reminder};
use uuid::Uuid;

async fn one_waiting(m: &Mailed) -> Uuid {
    m.treated("front", "2026-01-09").await;
    assert_eq!(reminder::write_due(&m.world.doer()).await.unwrap(), 1);
    sqlx::query_scalar("select id from message").fetch_one(&m.world.pool).await.unwrap()
}

#[tokio::test]
async fn what_cannot_be_delivered_stands_at_the_customer_with_what_to_do() {
    let m = Mailed::new().await;
    sqlx::query("update customer set email = 'never@farrant.test'").execute(&m.world.pool).await.unwrap();
    let id = one_waiting(&m).await;
    let server = SmtpServer::start(&[]);
    m.deliver(&mailer(server.port, &[])).await;
    let path = format!("/customers/{}", m.customer);
    let page = m.office.get(&path).await;
    assert!(page.page().contains("A message did not reach them"), "{}", page.body);
    assert!(page.body.contains("no such person here"), "{}", page.body);
    let own = format!("/messages/{id}");
    assert!(m.office.get(&own).await.page().contains("Ask the customer for another address"));
    assert!(m.office.get("/messages?show=trouble").await.page().contains("Odile Farrant"));
    let fields =
        [("name", "Odile Farrant"), ("email", "odile@farrant.test"), ("state", "CA"), ("zip", "93499")];
    m.office.change(&path, &fields).await.went_to(&path);
    m.office.post(&format!("{own}/retries"), &[]).await.went_to(&own);
    m.deliver(&mailer(server.port, &[])).await;
    assert_eq!(server.taken().len(), 1, "to the address that they have now");
    assert_eq!(server.taken()[0].to, "odile@farrant.test");
    let again = m.office.post(&format!("{own}/retries"), &[]).await;
    assert_eq!(again.status.as_u16(), 422, "what arrived is not sent again");
}

#[tokio::test]
async fn returned_mail_is_entered_by_hand_or_by_its_name() {
    let m = Mailed::new().await;
    let id = one_waiting(&m).await;
    let (doer, own) = (m.world.doer(), format!("/messages/{id}"));
    let name = m.text("select message_id from message").await;
    assert!(!message::bounced_by_name(&doer, &name, "550 no").await.unwrap(), "it was not even sent");
    let early = m.office.post(&format!("{own}/bounces"), &[("words", "no such address")]).await;
    assert_eq!(early.status.as_u16(), 422);
    let server = SmtpServer::start(&[]);
    m.deliver(&mailer(server.port, &[])).await;
    assert!(!message::bounced_by_name(&doer, "<another@there.test>", "550 no").await.unwrap());
    assert!(message::bounced_by_name(&doer, &name, "550 mailbox gone").await.unwrap());
    assert!(m.office.get(&own).await.page().contains("550 mailbox gone"));
    m.office.post(&format!("{own}/letters"), &[]).await.went_to(&own);
    assert_eq!(m.text("select status from message").await, "letter");
    m.office.post(&format!("{own}/withdrawals"), &[("reason", "moved away")]).await.went_to(&own);
    let late = m.office.post(&format!("{own}/withdrawals"), &[("reason", "again")]).await;
    assert_eq!(late.status.as_u16(), 422);
    assert!(late.body.contains("settled"), "{}", late.body);
}

#[tokio::test]
async fn who_has_no_address_gets_a_letter() {
    let m = Mailed::new().await;
    sqlx::query("update customer set email = ''").execute(&m.world.pool).await.unwrap();
    let id = one_waiting(&m).await;
    assert_eq!(m.text("select status from message").await, "letter");
    let server = SmtpServer::start(&[]);
    assert!(m.deliver(&mailer(server.port, &[])).await.is_empty(), "a letter is not handed to a mail server");
    let page = m.office.get("/messages").await;
    assert!(page.page().contains("1 message is to be printed"), "{}", page.body);
    let pdf = m.office.request(axum::http::Method::GET, "/messages/letters.pdf", &[], None).await;
    assert_eq!(pdf.headers["content-type"], "application/pdf");
    m.office.post("/messages/postings", &[("message", &id.to_string())]).await.went_to("/messages");
    assert_eq!(m.text("select status from message").await, "posted");
    assert!(!m.office.get("/messages").await.page().contains("to be printed, one"));
}

#[tokio::test]
async fn a_message_keeps_its_words_in_the_database_itself() {
    let m = Mailed::new().await;
    one_waiting(&m).await;
    let tried = sqlx::query("update message set body_text = 'something else'").execute(&m.world.pool).await;
    assert!(tried.unwrap_err().to_string().contains("keeps its words"));
    let twice =
        sqlx::query("insert into reminder_said select plant_id, season, step, message_id from reminder_said");
    assert!(twice.execute(&m.world.pool).await.is_err(), "a step is said once");
}
