//! The counties in which the company is registered, and since when.
use super::AT;
use crate::{
    actions::registration as verbs,
    db::registration::{self, Registration},
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
    extract::{Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;

#[derive(Template, WebTemplate)]
#[template(path = "report/registrations.html")]
struct ListPage {
    page: Page,
    registrations: Vec<Registration>,
    form: Form,
    today: NaiveDate,
}

/// A place to begin the form with.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    state: String,
    county: String,
}

async fn page(state: &AppState, actor: &Actor, form: Form) -> Result<ListPage> {
    let registrations = registration::list(&mut *state.pool.acquire().await?).await?;
    Ok(ListPage { page: Page::of(actor, "Registrations", AT), registrations, form, today: actor.today })
}

/// GET /reports/registrations
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let mut form = Form::for_new();
    form.set("state", ask.state);
    form.set("county", ask.county);
    Ok(page(&state, &actor, form).await?.into_response())
}

/// POST /reports/registrations
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (from, until) = (form.required_date("valid_from"), form.last_day("expires_on"));
    let new = Registration {
        id: form.id()?,
        state: form.state("state"),
        county: form.line("county"),
        number: form.required("number"),
        valid_from: from.unwrap_or_default(),
        expires_on: until.unwrap_or_default(),
    };
    if form.is_good() {
        match verbs::enter(&actor.doer(), &new).await {
            Ok(()) => {
                return Ok(session::done(&state, "/reports/registrations", "The registration is entered."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, form).await?).into_response())
}
