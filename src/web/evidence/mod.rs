//! Proof of the records: heads to keep outside, and comparing the chains with one that was.
mod proof;

pub use proof::{proof, write as write_proof};

use super::{
    AppState, Result,
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
};
use crate::web::files;
use crate::{
    actions::evidence as verbs,
    db::{audit, chain, head},
    domain::{chain::hex, head::Head},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// It belongs to the reports.
const AT: &str = "/filings";
/// So many heads are listed.
const LISTED: i64 = 50;

struct Row {
    id: Uuid,
    when: String,
    who: String,
    records: i64,
    audit: i64,
    root: String,
}

/// What a comparison found.
struct Outcome {
    taken: String,
    company: String,
    records: u64,
    rows: u64,
    faults: Vec<String>,
}

#[derive(Template, WebTemplate)]
#[template(path = "evidence/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    heads: Vec<Row>,
    outcome: Option<Outcome>,
    owner: bool,
}

fn moment(at: chrono::DateTime<chrono::Utc>, actor: &Actor) -> String {
    at.with_timezone(&actor.time_zone).format("%b %-d, %Y, %H:%M").to_string()
}

async fn page(state: &AppState, actor: &Actor, form: Form, outcome: Option<Outcome>) -> Result<ListPage> {
    let mut conn = state.pool.acquire().await?;
    let heads = head::newest(&mut conn, LISTED).await?.into_iter().map(|taken| Row {
        id: taken.id,
        when: moment(taken.taken_at, actor),
        who: taken.taken_by.unwrap_or_else(|| "the program".to_owned()),
        records: taken.records_size,
        audit: taken.audit_size,
        root: hex(&taken.records_root)[..16].to_owned(),
    });
    let owner = actor.role == crate::domain::user::Role::Owner;
    Ok(ListPage {
        heads: heads.collect(),
        page: Page::of(actor, "Proof of the records", AT),
        form,
        outcome,
        owner,
    })
}

/// GET /evidence
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    Ok(page(&state, &actor, Form::default(), None).await?.into_response())
}

/// POST /evidence/heads
pub async fn take(State(state): State<AppState>, actor: Actor, _form: Posted) -> Result<Response> {
    let id = verbs::take_head(&actor.doer()).await?;
    Ok(session::done(&state, &format!("/evidence/heads/{id}"), "Taken. Keep it outside this program."))
}

#[derive(Template, WebTemplate)]
#[template(path = "evidence/head.html")]
struct HeadPage {
    page: Page,
    id: Uuid,
    when: String,
    head: Head,
    parts: Vec<PartLine>,
}

struct PartLine {
    name: &'static str,
    size: u64,
    root: String,
    last: String,
}

fn lines(head: &Head) -> Vec<PartLine> {
    let parts = [("Versions of records", &head.records), ("Lines of the audit", &head.audit)];
    let line = |(name, part): (&'static str, &crate::domain::head::Part)| PartLine {
        name,
        size: part.size,
        root: hex(&part.root),
        last: hex(&part.last),
    };
    parts.into_iter().map(line).collect()
}

/// GET /evidence/heads/{id} : the head to print, or with `.txt` its file.
pub async fn show(State(state): State<AppState>, actor: Actor, Path(name): Path<String>) -> Result<Response> {
    let bare = name.strip_suffix(".txt");
    let id: Uuid = bare.unwrap_or(&name).parse().map_err(|_| super::Error::NotFound)?;
    let mut conn = state.pool.acquire().await?;
    let head = verbs::head(&mut conn, id).await?;
    if bare.is_some() {
        verbs::exported(&actor.doer(), &mut conn, "head", serde_json::json!({ "id": id })).await?;
        return text(&format!("head_{}.txt", head.taken_at.format("%Y-%m-%d")), head.text());
    }
    let when = moment(head.taken_at, &actor);
    let page = Page::of(&actor, "Head of the records", AT);
    Ok(HeadPage { page, id, when, parts: lines(&head), head }.into_response())
}

/// A text to be saved under this name.
///
/// # Errors
/// When the name holds what no header may.
pub(super) fn text(name: &str, text: String) -> Result<Response> {
    files::attachment(name, "text/plain; charset=utf-8", text)
}

/// POST /evidence/checks
pub async fn check(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let head = match Head::parse(form.value("head")) {
        Ok(head) => head,
        Err(reason) => {
            form.fail("head", format!("{}.", capital(&reason.to_string())));
            let page = page(&state, &actor, form, None).await?;
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
        }
    };
    let records = chain::verify(&state.pool, Some(&head.records)).await?;
    let rows = audit::verify(&state.pool, Some(&head.audit)).await?;
    let told = |what: &str, faults: Vec<String>| -> Vec<String> {
        faults.into_iter().map(|fault| format!("{what}: {fault}.")).collect()
    };
    let outcome = Outcome {
        taken: moment(head.taken_at, &actor),
        company: head.company.clone(),
        records: head.records.size,
        rows: head.audit.size,
        faults: [told("Records", records.faults), told("Audit", rows.faults)].concat(),
    };
    Ok(page(&state, &actor, form, Some(outcome)).await?.into_response())
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
