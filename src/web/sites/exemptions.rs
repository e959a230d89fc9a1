//! Exemptions that a regulator has granted for the land: the list, entering one, ending one.
use super::{
    super::{
        AppState, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
    },
    AT,
};
use crate::{
    actions::exemption::{self as verbs, Granted},
    db::{
        Conn,
        parcel::{self, Exemption},
        site::{self, Site},
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
use uuid::Uuid;

/// How many of a parcel's exemptions hold on that day.
pub(super) async fn in_force(conn: &mut Conn, land: Uuid, on: NaiveDate) -> Result<usize> {
    let all = parcel::exemptions(conn, &[land]).await?;
    Ok(all.iter().filter(|one| badge(one, on).0 == "done").count())
}

/// Where an exemption stands, as a badge: kind and the name of its text.
fn badge(one: &Exemption, on: NaiveDate) -> (&'static str, &'static str) {
    match one {
        _ if one.ended_at.is_some() => ("off", "exemption-ended"),
        _ if on < one.valid_from => ("soon", "exemption-to-come"),
        _ if on > one.valid_until => ("off", "exemption-run-out"),
        _ => ("done", "exemption-in-force"),
    }
}

struct Row {
    one: Exemption,
    state: (&'static str, String),
    /// It may still be ended.
    stands: bool,
}

#[derive(Template, WebTemplate)]
#[template(path = "site/exemptions.html")]
struct ExemptionsPage {
    page: Page,
    form: Form,
    site: Site,
    neighbours: Vec<site::Line>,
    rows: Vec<Row>,
}

impl ExemptionsPage {
    /// The streets of those who share the land.
    fn streets(&self) -> String {
        self.neighbours.iter().map(|n| n.street.as_str()).collect::<Vec<_>>().join(", ")
    }
}

async fn list(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ExemptionsPage> {
    let mut conn = state.pool.acquire().await?;
    let site = super::door(&mut conn, actor, id).await?;
    let language = actor.reads();
    let row = |one: Exemption| {
        let ((kind, text), stands) = (badge(&one, actor.today), one.ended_at.is_none());
        let state = (kind, language.say(text));
        Row { stands: stands && one.valid_until >= actor.today, state, one }
    };
    Ok(ExemptionsPage {
        page: Page::of(actor, language.say("exemption-title"), AT),
        form: form.speaking(language),
        neighbours: site::neighbours(&mut conn, &site).await?,
        rows: parcel::exemptions(&mut conn, &[site.parcel_id]).await?.into_iter().map(row).collect(),
        site,
    })
}

/// GET /sites/{id}/exemptions
pub async fn exemptions(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    Ok(list(&state, &actor, id, Form::for_new()).await?.into_response())
}

/// POST /sites/{id}/exemptions
pub async fn enter_exemption(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    super::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let ingredient = form.line("ingredient").to_lowercase();
    let (from, until) = (form.required_date("from"), form.required_date("until"));
    let granted = Granted {
        id: form.id()?,
        ingredient: (!ingredient.is_empty()).then_some(ingredient),
        from: from.unwrap_or_default(),
        until: until.unwrap_or_default(),
        reason: form.required("exemption_reason"),
        document: form.required_line("document"),
    };
    if form.is_good() {
        match verbs::enter(&actor.doer(), id, &granted, actor.today).await {
            Ok(()) => {
                let words = "The exemption is entered; the due days of the land are worked out anew.";
                return Ok(session::done(&state, &format!("/sites/{id}/exemptions"), words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let again = list(&state, &actor, id, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// POST /sites/{id}/exemptions/{exemption}/ends
pub async fn end_exemption(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, exemption)): Path<(Uuid, Uuid)>,
    Posted(mut form): Posted,
) -> Result<Response> {
    super::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let reason = form.required("reason");
    if form.is_good() {
        match verbs::end(&actor.doer(), id, exemption, &reason, actor.today).await {
            Ok(()) => {
                let words = "The exemption is ended.";
                return Ok(session::done(&state, &format!("/sites/{id}/exemptions"), words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    form.set("id", Uuid::now_v7().to_string());
    let again = list(&state, &actor, id, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}
