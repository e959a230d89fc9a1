//! The company's own data, for its owner.
use super::{
    AppState, Error, Result,
    account::read_company,
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
};
use crate::{actions::company as verbs, db::company};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Response},
};

#[derive(Template, WebTemplate)]
#[template(path = "company/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
}

fn edit_page(actor: &Actor, form: Form) -> EditPage {
    EditPage { page: Page::of(actor, "The company", "/people"), form }
}

/// GET /company
pub async fn edit_form(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let c = company::find(&mut *state.pool.acquire().await?).await?.ok_or(Error::NotFound)?;
    let form = Form::filled([
        ("company", c.name),
        ("street", c.street),
        ("city", c.city),
        ("state", c.state),
        ("zip", c.zip),
        ("phone", c.phone),
        ("license_number", c.license_number),
        ("time_zone", c.time_zone),
        ("emergency_phone", c.emergency_phone),
    ]);
    Ok(edit_page(&actor, form).into_response())
}

/// POST /company
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let new = read_company(&mut form);
    if form.is_good() {
        match verbs::change(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, "/company", "Saved.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form)).into_response())
}
