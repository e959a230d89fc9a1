//! Proof of the records: heads to keep outside, and comparing the chains with one that was.
mod growth;
mod mail;
mod proof;

pub use growth::show as growth;
pub use mail::{change as change_mail, send as mail_head};
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
use growth::Grown;
use mail::Shown;
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
    /// The head before it.
    before: Option<Uuid>,
}

/// What a form of the page came back with.
#[derive(Default)]
pub(super) struct Asked {
    compared: Form,
    outcome: Option<Outcome>,
    mail: Option<Form>,
}

/// What a comparison found.
struct Outcome {
    taken: String,
    company: String,
    records: u64,
    rows: u64,
    faults: Vec<String>,
    /// With a second head: what lies between.
    grown: Option<Grown>,
}

#[derive(Template, WebTemplate)]
#[template(path = "evidence/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    heads: Vec<Row>,
    outcome: Option<Outcome>,
    mail: Shown,
    owner: bool,
}

fn moment(at: chrono::DateTime<chrono::Utc>, actor: &Actor) -> String {
    at.with_timezone(&actor.time_zone).format("%b %-d, %Y, %H:%M").to_string()
}

async fn page(state: &AppState, actor: &Actor, asked: Asked) -> Result<ListPage> {
    let taken = head::newest(&mut *state.pool.acquire().await?, LISTED).await?;
    let before: Vec<Option<Uuid>> = (1..=taken.len()).map(|at| taken.get(at).map(|older| older.id)).collect();
    let heads = taken.into_iter().zip(before).map(|(taken, before)| Row {
        before,
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
        form: asked.compared,
        outcome: asked.outcome,
        mail: mail::shown(state, asked.mail).await?,
        owner,
    })
}

/// GET /evidence
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    Ok(page(&state, &actor, Asked::default()).await?.into_response())
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
    /// To whom it can be mailed, in words.
    mail: Option<String>,
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
    drop(conn);
    let mail = mail::shown(&state, None).await?.set;
    Ok(HeadPage { page, id, when, parts: lines(&head), head, mail }.into_response())
}

/// A text to be saved under this name.
///
/// # Errors
/// When the name holds what no header may.
pub(super) fn text(name: &str, text: String) -> Result<Response> {
    files::attachment(name, "text/plain; charset=utf-8", text)
}

/// The head that was pasted; what is none is said at its field.
fn pasted(form: &mut Form, name: &str) -> Option<Head> {
    match Head::parse(form.value(name)) {
        Ok(head) => Some(head),
        Err(reason) => {
            form.fail(name, format!("{}.", capital(&reason.to_string())));
            None
        }
    }
}

/// POST /evidence/checks
pub async fn check(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let first = pasted(&mut form, "head");
    let second = if form.value("other").is_empty() { None } else { pasted(&mut form, "other") };
    let (Some(head), true) = (first, form.is_good()) else {
        let asked = Asked { compared: form, ..Asked::default() };
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, asked).await?).into_response());
    };
    let mut faults = differences(&state, &head).await?;
    let mut grown = None;
    if let Some(other) = second {
        faults.extend(differences(&state, &other).await?);
        grown = Some(growth::between(&mut *state.pool.acquire().await?, &actor, &head, &other).await?);
    }
    let outcome = Outcome {
        taken: moment(head.taken_at, &actor),
        company: head.company.clone(),
        records: head.records.size,
        rows: head.audit.size,
        faults,
        grown,
    };
    let asked = Asked { compared: form, outcome: Some(outcome), mail: None };
    Ok(page(&state, &actor, asked).await?.into_response())
}

/// What is not as the head says.
async fn differences(state: &AppState, head: &Head) -> Result<Vec<String>> {
    let records = chain::verify(&state.pool, Some(&head.records)).await?;
    let rows = audit::verify(&state.pool, Some(&head.audit)).await?;
    let told = |what: &str, faults: Vec<String>| -> Vec<String> {
        faults.into_iter().map(|fault| format!("{what}: {fault}.")).collect()
    };
    Ok([told("Records", records.faults), told("Audit", rows.faults)].concat())
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
