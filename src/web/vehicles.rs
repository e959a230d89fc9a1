//! The company's vehicles: the list, entering, changing, retiring.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    seen::as_they_are,
    session::{self, Actor},
};
use crate::{
    actions::vehicle as verbs,
    db::vehicle::{self, Vehicle},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use rust_decimal::Decimal;
use uuid::Uuid;

const AT: &str = "/people";

#[derive(Template, WebTemplate)]
#[template(path = "vehicle/list.html")]
struct ListPage {
    page: Page,
    /// Each with who drives it.
    vehicles: Vec<(Vehicle, Vec<String>)>,
}

/// GET /vehicles
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let vehicles = vehicle::list(&mut *state.pool.acquire().await?).await?;
    Ok(ListPage { page: Page::of(&actor, "Vehicles", AT), vehicles }.into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "vehicle/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    /// The vehicle being changed; none yet when entering one.
    vehicle: Option<Vehicle>,
}

fn edit_page(actor: &Actor, form: Form, vehicle: Option<Vehicle>) -> EditPage {
    let title = if vehicle.is_some() { "Change a vehicle" } else { "Add a vehicle" };
    EditPage { page: Page::of(actor, title, AT), form, vehicle }
}

fn read(form: &mut Form, id: Uuid) -> Vehicle {
    let name = form.required_line("name");
    if form.value("tank_gal").is_empty() {
        form.fail("tank_gal", "Please fill this in.");
    }
    let tank_gal = form.positive("tank_gal").unwrap_or(Decimal::ONE);
    Vehicle { id, name, tank_gal, retired_at: None }
}

fn filled(v: &Vehicle) -> Form {
    Form::filled([("name", v.name.clone()), ("tank_gal", v.tank_gal.normalize().to_string())])
}

/// GET /vehicles/new
pub async fn new_form(actor: Actor) -> Response {
    edit_page(&actor, Form::for_new(), None).into_response()
}

/// POST /vehicles
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let id = form.id()?;
    let new = read(&mut form, id);
    if form.is_good() {
        match verbs::enter(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, "/vehicles", "The vehicle is entered.")),
            Err(e) => form.absorb_new(e, &format!("/vehicles/{id}/edit"))?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, None)).into_response())
}

async fn find(state: &AppState, id: Uuid) -> Result<Vehicle> {
    vehicle::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)
}

/// GET /vehicles/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let vehicle = find(&state, id).await?;
    Ok(edit_page(&actor, filled(&vehicle).remembered(), Some(vehicle)).into_response())
}

/// POST /vehicles/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = find(&state, id).await?;
    let now = read(&mut form, id);
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), as_they_are) {
        match verbs::change(&actor.doer(), &was, &now).await {
            Ok(()) => return Ok(session::done(&state, "/vehicles", "Changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, Some(was))).into_response())
}

/// POST /vehicles/{id}/retirements
pub async fn retire(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::set_retired(&actor.doer(), id, true).await?;
    Ok(session::done(&state, "/vehicles", "Retired; nobody drives it any more."))
}

/// POST /vehicles/{id}/returns
pub async fn take_back(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::set_retired(&actor.doer(), id, false).await?;
    Ok(session::done(&state, "/vehicles", "In use again; choose who drives it on the person's page."))
}
