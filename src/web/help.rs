//! Where help is in an emergency, for the company and for a site that lies elsewhere.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
};
use crate::{
    actions::help as verbs,
    db::{
        record,
        sync::{self, Help},
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

#[derive(Template, WebTemplate)]
#[template(path = "company/help.html")]
struct HelpPage {
    page: Page,
    form: Form,
    /// Address and id of the site; none: for the company.
    site: Option<(String, Uuid)>,
}

fn company_page(actor: &Actor, form: Form) -> HelpPage {
    HelpPage { page: Page::of(actor, "Where help is", "/people"), form, site: None }
}

/// GET /company/help
pub async fn show(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let help = sync::help(&mut *state.pool.acquire().await?).await?;
    let form = Form::filled([
        ("poison_center_phone", help.poison_center_phone),
        ("emergency_place", help.emergency_place),
    ]);
    Ok(company_page(&actor, form).into_response())
}

/// POST /company/help
pub async fn save(State(state): State<AppState>, actor: Actor, Posted(mut form): Posted) -> Result<Response> {
    let help = Help {
        poison_center_phone: form.line("poison_center_phone"),
        emergency_place: form.text("emergency_place"),
    };
    if form.is_good() {
        verbs::change(&actor.doer(), &help).await?;
        return Ok(session::done(&state, "/company/help", "Saved."));
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, company_page(&actor, form)).into_response())
}

async fn site_page(state: &AppState, actor: &Actor, id: Uuid, form: Option<Form>) -> Result<HelpPage> {
    let mut conn = state.pool.acquire().await?;
    let place = record::place(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let known = sync::place(&mut conn, id).await?.emergency_place;
    Ok(HelpPage {
        page: Page::of(actor, format!("Where help is, {}", place.site_address), "/sites"),
        form: form.unwrap_or_else(|| Form::filled([("emergency_place", known)])),
        site: Some((place.site_address, id)),
    })
}

/// GET /sites/{id}/emergency-place
pub async fn show_of_site(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    Ok(site_page(&state, &actor, id, None).await?.into_response())
}

/// POST /sites/{id}/emergency-place
pub async fn save_of_site(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let place = form.text("emergency_place");
    if form.is_good() {
        verbs::change_of_site(&actor.doer(), id, &place).await?;
        return Ok(session::done(&state, &format!("/sites/{id}"), "Saved."));
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, site_page(&state, &actor, id, Some(form)).await?).into_response())
}
