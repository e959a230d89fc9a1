//! Links for inspectors: the owner's list of them, and what is read under one.
mod reading;

pub use reading::{file, list as read, proof, record};

use super::{
    AppState, Result,
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
    words,
};
use crate::{
    actions::inspection as verbs,
    db::inspection::{self, Link, Used},
    domain::us,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{Datelike, Days, NaiveDate};
use uuid::Uuid;

const AT: &str = "/filings";
/// A link opens for so many days unless somebody says otherwise.
const USUAL_DAYS: u64 = 14;

struct Row {
    id: Uuid,
    reader: String,
    scope: String,
    last_day: NaiveDate,
    state: (&'static str, &'static str),
    uses: String,
    made: String,
    stands: bool,
}

#[derive(Template, WebTemplate)]
#[template(path = "inspection/links.html")]
struct LinksPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
    /// The address that was just made.
    link: Option<String>,
}

/// `CA, San Luis Obispo County, Oct 1, 2026 to Oct 31, 2026`
fn scope(link: &Link) -> String {
    let county = if link.county.is_empty() { String::new() } else { format!(", {} County", link.county) };
    format!("{}{county}, {} to {}", link.state, words::day(link.from_day), words::day(link.until_day))
}

fn row(used: Used, actor: &Actor) -> Row {
    let state = match (used.link.revoked_at, used.link.last_day < actor.today) {
        (Some(_), _) => ("off", "Revoked"),
        (None, true) => ("off", "Over"),
        (None, false) => ("done", "Opens"),
    };
    let when = |at: chrono::DateTime<chrono::Utc>| at.with_timezone(&actor.time_zone).date_naive();
    let last = used.last_use.map(|at| format!(", last on {}", words::day(when(at)))).unwrap_or_default();
    Row {
        id: used.link.id,
        scope: scope(&used.link),
        last_day: used.link.last_day,
        state,
        uses: if used.uses == 0 { "never".to_owned() } else { format!("{} times{last}", used.uses) },
        made: format!("{}, {}", used.made_by, words::day(when(used.link.made_at))),
        stands: state.1 == "Opens",
        reader: used.link.reader,
    }
}

async fn page(state: &AppState, actor: &Actor, form: Form, link: Option<String>) -> Result<LinksPage> {
    let rows = inspection::list(&mut *state.pool.acquire().await?).await?;
    let rows = rows.into_iter().map(|used| row(used, actor)).collect();
    Ok(LinksPage { page: Page::of(actor, "Links for inspectors", AT), form, rows, link })
}

/// The form as it is first shown: last year and this one, for two weeks.
fn fresh(actor: &Actor) -> Form {
    let mut form = Form::for_new();
    let first = NaiveDate::from_ymd_opt(actor.today.year() - 1, 1, 1).unwrap_or(actor.today);
    form.set("from_day", first.to_string());
    form.set("until_day", actor.today.to_string());
    form.set("last_day", (actor.today + Days::new(USUAL_DAYS)).to_string());
    form
}

/// GET /inspections
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    Ok(page(&state, &actor, fresh(&actor), None).await?.into_response())
}

/// POST /inspections
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let made_at = actor.doer().clock.now();
    let (from, until) = (form.required_date("from_day"), form.required_date("until_day"));
    let link = Link {
        id: form.id()?,
        reader: form.required_line("reader"),
        state: form.state("state"),
        county: form.line("county"),
        from_day: from.unwrap_or(actor.today),
        until_day: until.unwrap_or(actor.today),
        last_day: form.required_date("last_day").unwrap_or(actor.today),
        made_at,
        revoked_at: None,
    };
    if form.is_good() && us::state_name(&link.state).is_none() {
        form.fail("state", "Give a state by its two letters, such as CA.");
    }
    if form.is_good() {
        match verbs::make(&actor.doer(), &link).await {
            Ok(secret) => {
                let address = format!("{}/inspection/{secret}", state.config.base_url());
                return Ok(page(&state, &actor, fresh(&actor), Some(address)).await?.into_response());
            }
            Err(error) => form.absorb(error)?,
        }
    }
    let page = page(&state, &actor, form, None).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// POST /inspections/{id}/revocations
pub async fn revoke(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::revoke(&actor.doer(), id).await?;
    Ok(session::done(&state, "/inspections", "Revoked. Whoever has the link sees nothing any more."))
}
