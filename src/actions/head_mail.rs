//! Heads that are mailed to somebody outside: once in each period, and by hand.
use super::{Doer, Error, Result, evidence, message, reminder::house};
use crate::{
    db::{
        Conn,
        head_mail::{self, HeadMail},
        message as outbox, person,
    },
    domain::head_mail::Often,
    mail::head as words,
    texts::Language,
};
use serde_json::json;
use uuid::Uuid;

/// Changes where heads are mailed to, and how often.
///
/// # Errors
/// When the address is one of our own people's (field `email`).
pub async fn change(doer: &Doer, new: &HeadMail) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if !new.recipient.is_empty() && person::has_address(&mut tx, &new.recipient).await? {
        return Err(Error::field(
            "email",
            "That is the address of somebody who signs in here. Name somebody outside: an accountant, the county, \
             a friend of the house.",
        ));
    }
    let was = head_mail::lock(&mut tx).await?;
    if was.as_ref() != Some(new) {
        head_mail::save(&mut tx, new).await?;
        doer.note(&mut tx, "changed", "head mail", Uuid::nil(), json!({ "from": was, "to": new })).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Takes a head and mails it where none went out in this period yet; the message.
///
/// # Errors
/// When the database does not answer.
pub async fn mail_due(doer: &Doer) -> Result<Option<Uuid>> {
    let mut conn = doer.pool.acquire().await?;
    if due(&mut conn, doer, false).await?.is_none() {
        return Ok(None);
    }
    drop(conn);
    evidence::link_audit(doer).await?;
    let mut tx = doer.pool.begin().await?;
    // Looked at again with the setting in hand: another copy may have mailed it meanwhile.
    let Some((to, cause)) = due(&mut tx, doer, true).await? else { return Ok(None) };
    let id = evidence::take_in(&mut tx, doer).await?;
    let written = write(&mut tx, doer, id, to, cause).await?;
    tx.commit().await?;
    Ok(written)
}

/// To whom a head is to go now, and under which cause; none: there is nobody, or it went out in this period.
async fn due(conn: &mut Conn, doer: &Doer, hold: bool) -> Result<Option<(String, String)>> {
    let found = if hold { head_mail::lock(conn).await? } else { head_mail::find(conn).await? };
    let Some(own) = found.filter(|own| !own.recipient.is_empty()) else { return Ok(None) };
    let Some(often) = Often::from_code(&own.every) else { return Ok(None) };
    let cause = format!("head {}", often.period(doer.today(conn).await?));
    let done = outbox::has_cause(conn, &cause).await?;
    Ok((!done).then_some((own.recipient, cause)))
}

/// Mails a head that was taken to the address that is set; false: it went there before.
///
/// # Errors
/// When there is no such head, or no address.
pub async fn mail_by_hand(doer: &Doer, id: Uuid) -> Result<bool> {
    let mut tx = doer.pool.begin().await?;
    let own = head_mail::lock(&mut tx).await?.filter(|own| !own.recipient.is_empty());
    let own = own.ok_or_else(|| {
        Error::refused("No address is set to which heads are mailed. The owner sets one on the page before.")
    })?;
    let cause = format!("head {id} to {}", own.recipient);
    let written = write(&mut tx, doer, id, own.recipient, cause).await?;
    tx.commit().await?;
    Ok(written.is_some())
}

/// Puts the head into the outbox, as text and as the file that the page gives.
async fn write(tx: &mut Conn, doer: &Doer, id: Uuid, to: String, cause: String) -> Result<Option<Uuid>> {
    let head = evidence::head(tx, id).await?;
    let new = message::New {
        id: Uuid::now_v7(),
        kind: "head",
        cause,
        language: Language::English,
        recipient: to.clone(),
        recipient_name: to.clone(),
        written: words::head(&house(tx).await?, &head),
        file: Some((words::file_name(&head), head.text())),
        ..message::New::default()
    };
    let written = message::write(tx, doer, new).await?;
    if written.is_some() {
        doer.note(tx, "mailed", "head", id, json!({ "to": to })).await?;
    }
    Ok(written)
}
