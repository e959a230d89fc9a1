//! The pests that states list for an exemption of their own.
use super::AT;
use crate::{
    actions::state_rule::{self as verbs, NewPest},
    db::state_rule::{self, Pest},
    domain::permission::Mark,
    web::{
        AppState, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// Each with the name of its text.
const MARKS: [(&str, &str); 3] =
    [("checked", "pest-checked"), ("part-checked", "pest-part-checked"), ("unverified", "pest-unverified")];

#[derive(Template, WebTemplate)]
#[template(path = "state_rule/pests.html")]
struct PestsPage {
    page: Page,
    form: Form,
    rows: Vec<Pest>,
    marks: [(&'static str, String); 3],
}

#[must_use]
/// How far an entry was read, as a badge: kind and the name of its words.
pub fn pest_badge(mark: &str) -> (&'static str, &'static str) {
    match Mark::from_code(mark) {
        Some(Mark::Checked) => ("done", "rule-checked"),
        Some(Mark::PartChecked) => ("due", "rule-part-checked"),
        _ => ("unsure", "pest-opens-nothing"),
    }
}

async fn page(state: &AppState, actor: &Actor, form: Form) -> Result<PestsPage> {
    let rows = state_rule::pests(&mut *state.pool.acquire().await?).await?;
    let language = actor.reads();
    let page = Page::of(actor, language.say("pest-title"), AT);
    let marks = MARKS.map(|(code, name)| (code, language.say(name)));
    Ok(PestsPage { page, form: form.speaking(language), rows, marks })
}

/// GET /listed-pests
pub async fn pests(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    Ok(page(&state, &actor, Form::for_new()).await?.into_response())
}

/// POST /listed-pests
pub async fn list_pest(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mark = form.choice("mark", Mark::from_code);
    let new = NewPest {
        id: form.id()?,
        state: form.state("state"),
        pest: form.required_line("pest"),
        source: form.required_line("source"),
        mark: mark.unwrap_or(Mark::Unverified),
    };
    if form.is_good() {
        match verbs::list_pest(&actor.doer(), &new, actor.today).await {
            Ok(()) => return Ok(session::done(&state, "/listed-pests", "The pest is listed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, form).await?).into_response())
}

/// POST /listed-pests/{id}/removals
pub async fn unlist_pest(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::unlist_pest(&actor.doer(), id, actor.today).await?;
    Ok(session::done(&state, "/listed-pests", "The pest is off the list."))
}
