//! The outbox: writing a message, handing it to the server, and what people do about it.
use super::{Doer, Error, Result};
use crate::{
    db::{
        Conn, company,
        customer::{self, Customer},
        mail_terms,
        message::{self, Message, Outcome},
    },
    domain::message::{Answer, Next, Status, next},
    mail::{Mailer, Written, compose::Outgoing},
    texts::Language,
};
use chrono::TimeDelta;
use serde_json::json;
use uuid::Uuid;

/// A message to be put into the outbox. What a message does not have is left to the default; every one has an id.
#[derive(Debug, Clone, Default)]
pub struct New<'a> {
    pub id: Uuid,
    pub customer: Option<&'a Customer>,
    pub site: Option<Uuid>,
    pub kind: &'static str,
    pub cause: String,
    pub language: Language,
    pub recipient: String,
    pub recipient_name: String,
    pub written: Written,
    pub link: String,
    /// Empty: it is no offer.
    pub unsubscribe: String,
    pub calendar: String,
    /// A file that goes with it: its name and its text.
    pub file: Option<(String, String)>,
    /// After so long it says nothing true any more.
    pub lasts: Option<TimeDelta>,
}

/// Writes a message in the transaction of its cause; its id, or nothing where that cause has one already.
///
/// # Errors
/// When the database does not answer.
pub async fn write(tx: &mut Conn, doer: &Doer, new: New<'_>) -> Result<Option<Uuid>> {
    let (id, now) = (new.id, doer.clock.now());
    let host = doer.host().split([':', '/']).next().unwrap_or_default();
    let (file_name, file_text) = new.file.unwrap_or_default();
    let status = if new.recipient.is_empty() { Status::Letter } else { Status::Waiting };
    let message = Message {
        id,
        message_id: format!("<{id}@{host}>"),
        customer_id: new.customer.map(|c| c.id),
        site_id: new.site,
        kind: new.kind.to_owned(),
        cause: new.cause,
        language: new.language.code().to_owned(),
        recipient: new.recipient,
        recipient_name: new.recipient_name,
        subject: new.written.subject,
        body_text: new.written.text,
        body_html: new.written.html,
        link: new.link,
        unsubscribe: new.unsubscribe,
        calendar: new.calendar,
        file_name,
        file_text,
        status: status.code().to_owned(),
        tries: 0,
        next_try: now,
        expires_at: new.lasts.map(|lasts| now + lasts),
        last_answer: String::new(),
        created_at: now,
        closed_at: None,
    };
    Ok(message::insert(tx, &message).await?.then_some(id))
}

/// What a worker's look into the outbox came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Delivery {
    /// Nothing is to go out now.
    Nothing,
    /// The server took a message, or refused it; there may be more.
    Settled(Uuid),
    /// The message is tried again later; with no connection at all there is no use in going on.
    Later { id: Uuid, server_silent: bool },
}

/// Hands the next message to the server. The row is held while the server is asked: when this program ends half
/// way, the message is as it was before, and goes out again under the same name.
///
/// # Errors
/// When the database does not answer.
pub async fn deliver_one(doer: &Doer, mailer: &Mailer) -> Result<Delivery> {
    let mut tx = doer.pool.begin().await?;
    let today = doer.today(&mut tx).await?;
    // A quiet day holds offers back that could not go out before it.
    let offers = mail_terms::find(&mut tx).await?.is_none_or(|terms| !terms.dates().is_quiet(today));
    let Some(m) = message::take(&mut tx, doer.clock.now(), offers).await? else {
        return Ok(Delivery::Nothing);
    };
    let house = company::find(&mut tx).await?.map(|c| c.name).unwrap_or_default();
    let answer = mailer
        .send(&Outgoing {
            message_id: &m.message_id,
            written_at: m.created_at,
            from_name: &house,
            to: &m.recipient,
            to_name: &m.recipient_name,
            subject: &m.subject,
            text: &m.body_text,
            html: &m.body_html,
            language: &m.language,
            unsubscribe: &m.unsubscribe,
            calendar: &m.calendar,
            file: (&m.file_name, &m.file_text),
        })
        .await;
    let now = doer.clock.now();
    let tries = m.tries.saturating_add(1);
    let follows = next(&answer, u32::try_from(tries).unwrap_or(u32::MAX), now - m.created_at);
    let words = match &answer {
        Answer::Taken(words) | Answer::Later(words) | Answer::Never(words) | Answer::Unknown(words) => words,
    };
    let (status, next_try, closed_at) = match follows {
        Next::Close(status) => (status, m.next_try, Some(now)),
        Next::Again(pause) => (Status::Waiting, now + pause, None),
    };
    let outcome = Outcome {
        status: status.code(),
        tries,
        next_try,
        last_answer: words,
        closed_at,
        recipient: &m.recipient,
    };
    message::settle(&mut tx, m.id, &outcome).await?;
    tx.commit().await?;
    Ok(match follows {
        Next::Close(_) => Delivery::Settled(m.id),
        Next::Again(_) => Delivery::Later { id: m.id, server_silent: matches!(answer, Answer::Unknown(_)) },
    })
}

/// Withdraws what waited so long that it is no longer true; how many.
///
/// # Errors
/// When the database does not answer.
pub async fn withdraw_expired(doer: &Doer) -> Result<u64> {
    let why = "It could not go out in time and would not be true any more.";
    let mut conn = doer.pool.acquire().await?;
    Ok(message::withdraw_expired(&mut conn, doer.clock.now(), why).await?)
}

/// Brings a held message into another state by somebody's hand.
async fn put(
    tx: &mut Conn,
    doer: &Doer,
    m: &Message,
    status: Status,
    words: &str,
    recipient: &str,
) -> Result<()> {
    let now = doer.clock.now();
    let open = matches!(status, Status::Waiting | Status::Letter);
    let outcome = Outcome {
        status: status.code(),
        tries: m.tries,
        next_try: now,
        last_answer: words,
        closed_at: (!open).then_some(now),
        recipient,
    };
    message::settle(tx, m.id, &outcome).await?;
    doer.note(tx, status.words(), "message", m.id, json!({ "was": m.status })).await
}

async fn held(tx: &mut Conn, id: Uuid, may: fn(Status) -> bool, otherwise: &str) -> Result<Message> {
    let m = message::lock(tx, id).await?.ok_or(Error::NotFound)?;
    if Status::from_code(&m.status).is_some_and(may) { Ok(m) } else { Err(Error::refused(otherwise)) }
}

/// Sends a message that failed or came back once more, to the address that the customer has now.
///
/// # Errors
/// When the message did neither, or the customer has no address.
pub async fn retry(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let m = held(&mut tx, id, Status::is_trouble, "Only what failed or came back is sent again.").await?;
    let to = match m.customer_id {
        Some(customer) => customer::find(&mut tx, customer).await?.ok_or(Error::NotFound)?.email,
        None => m.recipient.clone(),
    };
    if to.is_empty() {
        return Err(Error::refused(
            "The customer has no e-mail address: enter one first, or print the letter.",
        ));
    }
    put(&mut tx, doer, &m, Status::Waiting, "", &to).await?;
    tx.commit().await?;
    Ok(())
}

/// Makes a letter of a message, so that it stands among those to print.
///
/// # Errors
/// When it is closed.
pub async fn as_letter(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let m = held(&mut tx, id, Status::is_open, "This message is settled; it cannot become a letter.").await?;
    if !m.file_name.is_empty() {
        return Err(Error::refused("A letter cannot carry the file that goes with this message."));
    }
    put(&mut tx, doer, &m, Status::Letter, "", &m.recipient).await?;
    tx.commit().await?;
    Ok(())
}

/// Notes that these letters were printed and posted; how many were still open.
///
/// # Errors
/// When the database does not answer.
pub async fn posted(doer: &Doer, ids: &[Uuid]) -> Result<usize> {
    let mut tx = doer.pool.begin().await?;
    let mut done = 0;
    for id in ids {
        let Some(m) = message::lock(&mut tx, *id).await? else { continue };
        if Status::from_code(&m.status).is_some_and(Status::is_open) {
            put(&mut tx, doer, &m, Status::Posted, &m.last_answer, &m.recipient).await?;
            done += 1;
        }
    }
    tx.commit().await?;
    Ok(done)
}

/// Withdraws a message that is not out.
///
/// # Errors
/// When it is out, or no reason is given (field `reason`).
pub async fn withdraw(doer: &Doer, id: Uuid, reason: &str) -> Result<()> {
    if reason.is_empty() {
        return Err(Error::field("reason", "Say why it is withdrawn."));
    }
    let mut tx = doer.pool.begin().await?;
    let m = held(&mut tx, id, Status::is_open, "This message is settled; it cannot be called back.").await?;
    put(&mut tx, doer, &m, Status::Withdrawn, reason, &m.recipient).await?;
    tx.commit().await?;
    Ok(())
}

/// Enters that a message came back.
///
/// # Errors
/// When it was not sent, or nothing is said of it (field `words`).
pub async fn bounced(doer: &Doer, id: Uuid, words: &str) -> Result<()> {
    if words.is_empty() {
        return Err(Error::field("words", "Write what the returned mail says."));
    }
    let mut tx = doer.pool.begin().await?;
    let m = held(&mut tx, id, |s| s == Status::Sent, "Only what was sent can come back.").await?;
    put(&mut tx, doer, &m, Status::Bounced, words, &m.recipient).await?;
    tx.commit().await?;
    Ok(())
}

/// Enters a report that names a message of ours; whether it named one that was sent.
///
/// # Errors
/// When the database does not answer.
pub async fn bounced_by_name(doer: &Doer, message_id: &str, words: &str) -> Result<bool> {
    let mut tx = doer.pool.begin().await?;
    let Some(m) = message::lock_named(&mut tx, message_id).await? else { return Ok(false) };
    if m.status != Status::Sent.code() {
        return Ok(false);
    }
    put(&mut tx, doer, &m, Status::Bounced, words, &m.recipient).await?;
    tx.commit().await?;
    Ok(true)
}
