//! The outbox: what is written to customers, what became of it, and what somebody can do about it.
mod letters;

pub use letters::{letters, posted};

use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
};
use crate::{
    actions::message as verbs,
    db::message::{self, Counts, Line, Message, Part},
    domain::message::Status,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use serde::Deserialize;
use uuid::Uuid;

/// The outbox belongs to the reminders.
pub(super) const AT: &str = "/reminders";
const PAGE: i64 = 50;

/// What the address may ask for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    show: String,
    before: String,
}

/// A message in a list, in words.
pub struct Row {
    pub line: Line,
    pub badge: &'static str,
    pub state: &'static str,
    pub kind: &'static str,
    pub when: String,
}

impl Row {
    pub(super) fn of(line: Line, zone: Tz) -> Self {
        let (badge, state) = badge(&line.status);
        Self { badge, state, kind: kind(&line.kind), when: moment(line.created_at, zone), line }
    }
}

/// A message's state as a badge: kind and words.
pub(super) fn badge(status: &str) -> (&'static str, &'static str) {
    let Some(status) = Status::from_code(status) else { return ("unsure", "Unknown") };
    let badge = match status {
        Status::Waiting => "soon",
        Status::Sent | Status::Posted => "done",
        Status::Failed | Status::Bounced => "flag",
        Status::Letter => "due",
        Status::Withdrawn => "off",
    };
    (badge, status.words())
}

fn kind(code: &str) -> &'static str {
    match code {
        "reminder" => "Reminder",
        "answer" => "Answer",
        "notice" => "Notice by law",
        "head" => "Head of the records",
        _ => "Test",
    }
}

/// `Nov 25, 2026, 10:00` where the company works.
pub(super) fn moment(at: DateTime<Utc>, zone: Tz) -> String {
    at.with_timezone(&zone).format("%b %-d, %Y, %H:%M").to_string()
}

#[derive(Template, WebTemplate)]
#[template(path = "message/list.html")]
struct ListPage {
    page: Page,
    rows: Vec<Row>,
    counts: Counts,
    /// The part that is shown: `open`, `trouble` or empty for all.
    show: String,
    next: Option<String>,
    /// Whether mail leaves by itself.
    leaves: bool,
    /// What stands in the file of letters, to be marked as posted.
    to_print: Vec<Uuid>,
}

/// GET /messages
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let part = match ask.show.as_str() {
        "trouble" => Part::Trouble,
        "open" => Part::Open,
        _ => Part::All,
    };
    let mut lines = message::list(&mut conn, part, ask.before.parse().ok(), PAGE + 1).await?;
    let full = usize::try_from(PAGE).unwrap_or(usize::MAX);
    let more = lines.len() > full;
    lines.truncate(full);
    let next = lines.last().filter(|_| more).map(|l| format!("/messages?show={}&before={}", ask.show, l.id));
    let leaves = state.config.mail.smtp_host.is_some();
    let to_print = message::to_print(&mut conn, !leaves, letters::MOST).await?;
    Ok(ListPage {
        rows: lines.into_iter().map(|line| Row::of(line, actor.time_zone)).collect(),
        counts: message::counts(&mut conn).await?,
        to_print: to_print.into_iter().map(|m| m.id).collect(),
        page: Page::of(&actor, "Outbox", AT),
        show: ask.show,
        next,
        leaves,
    }
    .into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "message/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    message: Message,
    badge: &'static str,
    state: &'static str,
    kind: &'static str,
    written: String,
    closed: Option<String>,
    next_try: String,
    open: bool,
    trouble: bool,
    sent: bool,
    leaves: bool,
}

async fn page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ShowPage> {
    let found = message::find(&mut *state.pool.acquire().await?, id).await?;
    let m = found.ok_or(Error::NotFound)?;
    let status = Status::from_code(&m.status).unwrap_or(Status::Withdrawn);
    let (badge, said) = badge(&m.status);
    Ok(ShowPage {
        page: Page::of(actor, m.subject.clone(), AT),
        form,
        badge,
        state: said,
        kind: kind(&m.kind),
        written: moment(m.created_at, actor.time_zone),
        closed: m.closed_at.map(|at| moment(at, actor.time_zone)),
        next_try: moment(m.next_try, actor.time_zone),
        open: status.is_open(),
        trouble: status.is_trouble(),
        sent: status == Status::Sent,
        leaves: state.config.mail.smtp_host.is_some(),
        message: m,
    })
}

/// GET /messages/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    Ok(page(&state, &actor, id, Form::default()).await?.into_response())
}

/// Where the verb did its work, back to the message; else the page with what is wrong.
async fn after(
    state: &AppState,
    actor: &Actor,
    id: Uuid,
    mut form: Form,
    done: crate::actions::Result<()>,
    words: &str,
) -> Result<Response> {
    match done {
        Ok(()) => Ok(session::done(state, &format!("/messages/{id}"), words)),
        Err(e) => {
            form.absorb(e)?;
            let again = page(state, actor, id, form).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
        }
    }
}

/// POST /messages/{id}/retries
pub async fn retry(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(form): Posted,
) -> Result<Response> {
    let done = verbs::retry(&actor.doer(), id).await;
    after(&state, &actor, id, form, done, "It goes out again, to the address that the customer has now.")
        .await
}

/// POST /messages/{id}/letters
pub async fn as_letter(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(form): Posted,
) -> Result<Response> {
    let done = verbs::as_letter(&actor.doer(), id).await;
    after(&state, &actor, id, form, done, "It stands among the letters to print.").await
}

/// POST /messages/{id}/withdrawals
pub async fn withdraw(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let reason = form.line("reason");
    let done = if form.is_good() {
        verbs::withdraw(&actor.doer(), id, &reason).await
    } else {
        Err(crate::actions::Error::field("reason", "Write it in fewer words."))
    };
    after(&state, &actor, id, form, done, "Withdrawn: the customer does not get it.").await
}

/// POST /messages/{id}/bounces
pub async fn bounce(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let words = form.line("words");
    let done = if form.is_good() {
        verbs::bounced(&actor.doer(), id, &words).await
    } else {
        Err(crate::actions::Error::field("words", "Write it in fewer words."))
    };
    after(&state, &actor, id, form, done, "Entered: it came back.").await
}
