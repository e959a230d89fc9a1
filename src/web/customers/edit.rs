//! The form of a customer.
use super::{
    super::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        seen,
        session::{self, Actor},
    },
    AT,
};
use crate::{
    actions::customer as verbs,
    db::customer::{self, Customer},
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
#[template(path = "customer/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    /// The customer being changed; nobody yet when entering one.
    id: Option<Uuid>,
}

fn edit_page(actor: &Actor, form: Form, id: Option<Uuid>) -> EditPage {
    let title = if id.is_some() { "Change a customer" } else { "Enter a customer" };
    EditPage { page: Page::of(actor, title, AT), form, id }
}

/// Reads the form; what is wrong stays in it.
fn read(form: &mut Form, id: Uuid) -> Customer {
    let state = if form.value("state").is_empty() { String::new() } else { form.state("state") };
    let email = form.line("email").to_lowercase();
    let plausible = email.split_once('@').is_some_and(|(name, host)| !name.is_empty() && host.contains('.'));
    if !email.is_empty() && (!plausible || email.contains(char::is_whitespace)) {
        form.fail("email", "This is not an e-mail address.");
    }
    Customer {
        id,
        name: form.required_line("name"),
        email,
        phone: form.line("phone"),
        street: form.line("street"),
        city: form.line("city"),
        state,
        zip: form.zip("zip"),
        note: form.text("note"),
        retired_at: None,
    }
}

/// The form as the customer stands.
fn filled(c: &Customer) -> Form {
    Form::filled([
        ("name", &c.name),
        ("email", &c.email),
        ("phone", &c.phone),
        ("street", &c.street),
        ("city", &c.city),
        ("state", &c.state),
        ("zip", &c.zip),
        ("note", &c.note),
    ])
}

/// GET /customers/new
pub async fn new_form(actor: Actor) -> Response {
    edit_page(&actor, Form::for_new(), None).into_response()
}

/// POST /customers
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let id = form.id()?;
    let new = read(&mut form, id);
    if form.is_good() {
        match verbs::create(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, &format!("/customers/{id}"), "Entered.")),
            Err(e) => form.absorb_new(e, &format!("/customers/{id}"))?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, None)).into_response())
}

/// GET /customers/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let c = customer::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    Ok(edit_page(&actor, filled(&c).remembered(), Some(id)).into_response())
}

/// POST /customers/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = customer::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    let now = read(&mut form, id);
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), seen::as_they_are) {
        match verbs::change(&actor.doer(), &was, &now).await {
            Ok(()) => return Ok(session::done(&state, &format!("/customers/{id}"), "Changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, Some(id))).into_response())
}
