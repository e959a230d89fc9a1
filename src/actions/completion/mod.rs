//! Completions from the field, by the rules of the Idempotency-Key draft (draft-ietf-httpapi-idempotency-key-
//! header-07, sections 2.6 and 2.7): no key 400, the same key with other content 422, still at work 409, and
//! whoever sends again is given the stored answer. What was done is written in one transaction with its answer.
mod read;
mod sent;

pub use read::{CANCELLED, REASSIGNED, REPLACED, TWICE};
pub use sent::{
    Bloom, Completion, Did, NeighbourTold, Note, Outcome, PlantDone, Rain, Signature, SiteFound, Slope, Soil,
    State, StopFacts, Wind,
};

use super::{Doer, Error, Result, record};
use crate::{
    db::{
        Conn,
        completion::{self as db, Answered},
        record::{person_on, present, restricted_among},
        signature, sync,
    },
    domain::record::missing,
};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use sqlx::Acquire;
use uuid::Uuid;

/// A completion with what came along with it.
#[derive(Debug, Clone)]
pub struct Sent {
    /// Empty: none was sent.
    pub key: String,
    /// The phone's clock while it sent.
    pub sent_at: DateTime<Utc>,
    /// Ours when it came.
    pub received_at: DateTime<Utc>,
    /// The completion, whatever it is.
    pub content: Value,
}

impl Sent {
    /// Seconds by which the phone's clock was ahead; the way here makes it look that much behind.
    fn ahead(&self) -> i64 {
        (self.sent_at - self.received_at).num_seconds()
    }
}

const LONGEST_KEY: usize = 200;
/// So long an answer waits for a phone that asks again.
const KEPT: TimeDelta = TimeDelta::days(90);
/// Further apart than this, somebody should set the phone's clock.
const CLOCK_SECONDS: i64 = 120;

/// Accepts one completion. Whatever goes wrong is its outcome, so that it keeps no other back.
pub async fn accept(doer: &Doer, today: NaiveDate, zone: Tz, sent: &Sent) -> Outcome {
    let outcome = match once(doer, today, zone, sent).await {
        Ok(outcome) => outcome,
        Err(reason) => {
            tracing::error!(%reason, detail = ?reason, "a completion failed");
            refusal(
                sent,
                500,
                "failed",
                "Something went wrong on our side, and nothing was done. Send it again later.",
            )
        }
    };
    Outcome { key: sent.key.clone(), ..outcome }
}

/// Forgets what no phone asks for any more: answers of [`KEPT`] days ago and changes of visits that later ones
/// stand for. A completion that comes again after that is known by its id and makes no second record.
///
/// # Errors
/// When the database does not answer.
pub async fn sweep(doer: &Doer) -> Result<()> {
    let mut conn = doer.pool.acquire().await?;
    db::forget_answers(&mut conn, doer.clock.now() - KEPT).await?;
    sync::forget_overtaken(&mut conn).await?;
    Ok(())
}

async fn once(doer: &Doer, today: NaiveDate, zone: Tz, sent: &Sent) -> Result<Outcome> {
    if sent.key.trim().is_empty() || sent.key.len() > LONGEST_KEY || sent.key.contains('\0') {
        let words = "A completion is sent with an idempotency key of its own, 200 letters at most.";
        return Ok(refusal(sent, 400, "missing-key", words));
    }
    let mut tx = doer.pool.begin().await?;
    let (outcome, is_new) = under_key(doer, &mut tx, today, zone, sent).await?;
    // Ended here, and not when the connection is used the next time: whoever sends again finds the key free.
    if is_new {
        tx.commit().await?
    } else {
        tx.rollback().await?
    }
    Ok(outcome)
}

/// The outcome, and whether it is one that was written just now.
async fn under_key(
    doer: &Doer,
    tx: &mut Conn,
    today: NaiveDate,
    zone: Tz,
    sent: &Sent,
) -> Result<(Outcome, bool)> {
    let person = doer.person.ok_or(Error::NotFound)?;
    let text = sent.content.to_string();
    let fingerprint = Sha256::digest(&text).to_vec();
    let refused = |status, code, words| Ok((refusal(sent, status, code, words), false));
    if !db::hold_key(tx, person, &sent.key).await? {
        return refused(409, "in-progress", "This is being worked on just now. Ask again in a moment.");
    }
    if let Some(known) = db::answered(tx, person, &sent.key).await? {
        if known.fingerprint == fingerprint {
            return Ok((serde_json::from_value(known.answer).map_err(anyhow::Error::from)?, false));
        }
        let words = "This key was used for another completion. What it says is not recorded; send it under a key of \
            its own.";
        return refused(422, "key-used", words);
    }
    let Some(outcome) = decide(doer, tx, today, zone, sent, &text).await? else {
        let words = "A completion of this id is here already, sent under another key. Open the record and amend it \
            instead.";
        return refused(422, "key-used", words);
    };
    let answer = serde_json::to_value(&outcome).map_err(anyhow::Error::from)?;
    db::keep_answer(tx, person, &sent.key, &Answered { fingerprint, answer }, sent.received_at).await?;
    Ok((outcome, true))
}

/// Records it or keeps it; none: its id is taken.
async fn decide(
    doer: &Doer,
    tx: &mut Conn,
    today: NaiveDate,
    zone: Tz,
    sent: &Sent,
    text: &str,
) -> Result<Option<Outcome>> {
    let id = sent.content.get("id").and_then(Value::as_str).and_then(|id| id.parse::<Uuid>().ok());
    if let Some(id) = id
        && db::is_taken(tx, id).await?
    {
        return Ok(None);
    }
    let outcome = match serde_json::from_value::<Completion>(sent.content.clone()) {
        Ok(done) => record_or_keep(doer, tx, today, zone, sent, &done).await?,
        Err(why) => kept(
            sent,
            id.unwrap_or_else(Uuid::now_v7),
            note(
                "unreadable",
                format!("It cannot be read: {why}."),
                "It is kept as it was sent. The office reads it and records the visit.",
            ),
        ),
    };
    store(doer, tx, sent, text, &outcome).await?;
    Ok(Some(outcome))
}

/// What cannot be recorded is kept: everything that the attempt wrote is taken back first.
async fn record_or_keep(
    doer: &Doer,
    tx: &mut Conn,
    today: NaiveDate,
    zone: Tz,
    sent: &Sent,
    done: &Completion,
) -> Result<Outcome> {
    let person = doer.person.ok_or(Error::NotFound)?;
    if !db::was_theirs(tx, done.visit, person).await? {
        let words = "No visit of yours is known under what this names.";
        let to_do = "It is kept as it was sent. Tell the office which visit it was.";
        return Ok(kept(sent, done.id, note("visit-unknown", words, to_do)));
    }
    let mut attempt = tx.begin().await?;
    let why = match recorded(doer, &mut attempt, today, zone, sent, done).await {
        Ok(outcome) => {
            attempt.commit().await?;
            return Ok(outcome);
        }
        Err(Error::Refused { words, .. }) => words,
        Err(Error::NotFound) => {
            "It names a plant, a product's use or a person that is not known here.".to_owned()
        }
        Err(Error::Database(e)) if cannot_hold(&e) => "It holds a value that cannot be stored.".to_owned(),
        Err(other) => return Err(other),
    };
    attempt.rollback().await?;
    let to_do = "It is kept as it was sent. The office reads it and records the visit.";
    Ok(kept(sent, done.id, note("unreadable", why, to_do)))
}

/// The database refused a value: a broken rule of a table, or something that its columns cannot hold.
fn cannot_hold(error: &sqlx::Error) -> bool {
    let code = error.as_database_error().and_then(|e| e.code());
    code.is_some_and(|code| code.starts_with("22") || code == "23514")
}

async fn recorded(
    doer: &Doer,
    tx: &mut Conn,
    today: NaiveDate,
    zone: Tz,
    sent: &Sent,
    done: &Completion,
) -> Result<Outcome> {
    let (held, visit) = record::hold_any(tx, done.visit).await?;
    let read = read::read(doer, tx, today, zone, sent, done, &visit).await?;
    let said = record::of_phone(doer, tx, today, &held, &visit, &read.done).await?;
    let mut notes: Vec<Note> = said.flags.iter().map(|(rule, words)| flag_note(rule, words)).collect();
    notes.extend(read.notes);
    let Some(version) = said.version else {
        let words = "Nothing was applied; the visit is closed with the reasons.";
        return Ok(outcome(sent, done.id, State::Closed, 201, None, words, notes));
    };
    notes.extend(lacking(tx, &version).await?);
    match &done.signature {
        Some(signed) if !signed.name.trim().is_empty() => sign(doer, tx, sent, &version, signed).await?,
        _ => notes.push(note("unsigned", "It is not signed.", "Sign it on the record's page.")),
    }
    let (state, words) = if notes.is_empty() {
        (State::Recorded, "Recorded.".to_owned())
    } else {
        let all: Vec<&str> = notes.iter().map(|n| n.words.as_str()).collect();
        (State::Flagged, format!("Recorded. {}", all.join(" ")))
    };
    Ok(outcome(sent, done.id, state, 201, Some(done.id), &words, notes))
}

async fn sign(
    doer: &Doer,
    tx: &mut Conn,
    sent: &Sent,
    version: &crate::db::record::Version,
    signed: &Signature,
) -> Result<()> {
    let person = doer.person.ok_or(Error::NotFound)?;
    let head = &version.head;
    let named = person_on(tx, person, &head.site_state, head.applied_on).await?.ok_or(Error::NotFound)?;
    let signature = signature::Signature {
        version: head.version,
        person_id: person,
        capacity: "applicator".to_owned(),
        name: signed.name.trim().to_owned(),
        certification: named.number,
        record_hash: vec![],
        signed_at: sent.received_at,
    };
    signature::insert(tx, head.id, &signature).await?;
    doer.note(tx, "signed", "record", head.id, json!({ "capacity": "applicator", "phone": signed.at })).await
}

/// What the state asks for and the record does not hold.
async fn lacking(tx: &mut Conn, version: &crate::db::record::Version) -> Result<Vec<Note>> {
    let labels: Vec<Uuid> = version.items.iter().map(|i| i.label_version_id).collect();
    let restricted = !restricted_among(tx, &labels).await?.is_empty();
    let lacks = missing(&version.head.site_state, restricted, &present(version));
    let words = |m: crate::domain::record::Missing| {
        let words =
            format!("The {} is missing, asked by {} ({}).", m.field.words(), m.source, m.mark.words());
        note("missing-field", words, "Amend the record.")
    };
    let mut notes: Vec<Note> = lacks.into_iter().map(words).collect();
    let found = version.head.conditions.as_ref();
    let injected = version.items.iter().any(|i| i.method == "soil-injection");
    if injected && found.is_none_or(|c| c.utility_ticket.is_empty()) {
        let words = "Something was injected into the soil and no utility-locate ticket is named.";
        notes.push(note("missing-field", words, "Tell the office the number of the ticket."));
    }
    Ok(notes)
}

fn flag_note(rule: &str, words: &str) -> Note {
    let ours = [read::REASSIGNED, read::CANCELLED, read::TWICE, read::REPLACED];
    let code = ours.into_iter().find(|code| *code == rule).unwrap_or("limit-broken");
    note(code, words, "Nothing on the phone: a licensed person answers the flag on the record's page.")
}

fn note(code: &str, words: impl Into<String>, to_do: &str) -> Note {
    Note { code: code.to_owned(), words: words.into(), to_do: to_do.to_owned() }
}

fn kept(sent: &Sent, id: Uuid, why: Note) -> Outcome {
    let words = format!("{} {}", why.words, why.to_do);
    outcome(sent, id, State::Kept, 202, None, &words, vec![why])
}

fn refusal(sent: &Sent, status: u16, code: &str, words: &str) -> Outcome {
    let id = sent.content.get("id").and_then(Value::as_str).and_then(|id| id.parse().ok());
    let notes = vec![note(code, words, "It stays on the phone.")];
    outcome(sent, id.unwrap_or_default(), State::Refused, status, None, words, notes)
}

fn outcome(
    sent: &Sent,
    id: Uuid,
    state: State,
    status: u16,
    record: Option<Uuid>,
    words: &str,
    notes: Vec<Note>,
) -> Outcome {
    Outcome {
        id,
        key: sent.key.clone(),
        status,
        state,
        record,
        words: words.to_owned(),
        notes,
        clock_ahead_seconds: Some(sent.ahead()),
        received_at: Some(sent.received_at),
    }
}

async fn store(doer: &Doer, tx: &mut Conn, sent: &Sent, text: &str, outcome: &Outcome) -> Result<()> {
    let text_of = |name: &str| sent.content.get(name).and_then(Value::as_str);
    let row = db::New {
        id: outcome.id,
        person_id: doer.person.ok_or(Error::NotFound)?,
        visit_id: text_of("visit").and_then(|id| id.parse().ok()),
        sent: text,
        state: match outcome.state {
            State::Recorded => "recorded",
            State::Flagged => "flagged",
            State::Closed => "closed",
            State::Kept | State::Refused => "kept",
        },
        words: &outcome.words.replace('\0', ""),
        record_id: outcome.record,
        phone_completed_at: text_of("completed_at").and_then(|at| at.parse().ok()),
        phone_sent_at: sent.sent_at,
        received_at: sent.received_at,
    };
    db::insert(tx, &row).await?;
    let detail = json!({ "state": row.state, "visit": row.visit_id });
    doer.note(tx, "accepted", "completion", outcome.id, detail).await
}

/// Writes down what came of a completion that was kept as it was sent.
///
/// # Errors
/// When there is no such one, or somebody settled it.
pub async fn settle(doer: &Doer, id: Uuid, words: &str) -> Result<()> {
    let person = doer.person.ok_or(Error::NotFound)?;
    let mut tx = doer.pool.begin().await?;
    if !db::settle(&mut tx, id, person, words, doer.clock.now()).await? {
        return Err(Error::refused("It is not there, or somebody has settled it meanwhile."));
    }
    doer.note(&mut tx, "settled", "completion", id, json!({ "words": words })).await?;
    tx.commit().await?;
    Ok(())
}
