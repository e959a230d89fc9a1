//! One rule with all that was answered about it, and the form by which a licensed person answers.
use super::{AT, Row, book};
use crate::{
    actions::state_rule::{self as verbs, Finding},
    db::state_rule::{self, Given},
    web::{
        AppState, Error, Result,
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
use chrono::NaiveDate;

/// Each with the name of its text.
const FINDINGS: [(&str, &str); 3] =
    [("holds", "rule-find-holds"), ("set-aside", "rule-find-set-aside"), ("open", "rule-find-open")];

#[derive(Template, WebTemplate)]
#[template(path = "state_rule/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    rule: Row,
    given: Vec<Given>,
    findings: [(&'static str, String); 3],
}

async fn show_page(state: &AppState, actor: &Actor, code: &str, form: Form) -> Result<ShowPage> {
    let mut conn = state.pool.acquire().await?;
    let book = book(&mut conn).await?;
    let rule = book.find(code).ok_or(Error::NotFound)?;
    let language = actor.reads();
    let row = Row::of(language, rule, &book);
    let page = Page::of(actor, format!("{}: {}", row.place, row.ingredients), AT);
    let given = state_rule::answers(&mut conn, code).await?;
    let findings = FINDINGS.map(|(code, name)| (code, language.say(name)));
    Ok(ShowPage { page, form: form.speaking(language), rule: row, given, findings })
}

/// GET /state-rules/{code}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(code): Path<String>) -> Result<Response> {
    Ok(show_page(&state, &actor, &code, Form::for_new()).await?.into_response())
}

/// POST /state-rules/{code}/answers
pub async fn answer(
    State(state): State<AppState>,
    actor: Actor,
    Path(code): Path<String>,
    Posted(mut form): Posted,
) -> Result<Response> {
    book(&mut *state.pool.acquire().await?).await?.find(&code).ok_or(Error::NotFound)?;
    let id = form.id()?;
    let found = read(&mut form);
    if let (true, Some(found)) = (form.is_good(), found) {
        match verbs::answer(&actor.doer(), id, &code, &found, actor.today).await {
            Ok(()) => {
                let words = "The answer is kept; the due days of the state's sites are worked out anew.";
                return Ok(session::done(&state, &format!("/state-rules/{code}"), words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let again = show_page(&state, &actor, &code, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

fn read(form: &mut Form) -> Option<Finding> {
    match form.value("answer") {
        "holds" => {
            let (citation, on) = (form.required_line("citation"), form.required_date("verified_on"));
            Some(Finding::Holds { citation, on: on.unwrap_or(NaiveDate::MIN) })
        }
        "set-aside" => Some(Finding::SetAside { reason: form.required("reason") }),
        "open" => Some(Finding::Open { reason: form.required("reason") }),
        _ => {
            form.fail("answer", form.say("form-choose"));
            None
        }
    }
}
