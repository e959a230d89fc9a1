//! The people of the company: who they are, what they are certified for, who may still sign in.
use super::{
    AppState, Error, Result,
    account::{Calendar, email},
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
};
use crate::{
    actions::{account, person as verbs},
    db::person::{self, Certification, Course, Person},
    domain::user::Role,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

const AT: &str = "/people";
const ROLES: [(&str, &str); 3] = [
    ("owner", "Owner: everything"),
    ("office", "Office: plans, records, reports"),
    ("technician", "Technician: own visits"),
];

#[derive(Template, WebTemplate)]
#[template(path = "people/list.html")]
struct ListPage {
    page: Page,
    people: Vec<Person>,
    manages: bool,
}

/// GET /people
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let people = person::list(&mut *state.pool.acquire().await?).await?;
    let manages = actor.role.may_manage_people();
    Ok(ListPage { page: Page::of(&actor, "People", AT), people, manages }.into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "people/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    /// The person being changed; nobody yet when inviting.
    id: Option<Uuid>,
    roles: [(&'static str, &'static str); 3],
}

fn edit_page(actor: &Actor, form: Form, id: Option<Uuid>) -> EditPage {
    let title = if id.is_some() { "Change a person" } else { "Invite a person" };
    EditPage { page: Page::of(actor, title, AT), form, id, roles: ROLES }
}

/// GET /people/new
pub async fn new_form(actor: Actor) -> Response {
    edit_page(&actor, Form::for_new(), None).into_response()
}

/// POST /people
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let new = Person {
        id: form.id()?,
        name: form.required("name"),
        email: email(&mut form),
        role: form.choice("role", Role::from_code).unwrap_or(Role::Technician),
        service_area: form.text("service_area"),
        has_password: false,
        retired_at: None,
    };
    if form.is_good() {
        match verbs::invite(&actor.doer(), &new).await {
            Ok(link) => return show_link(&state, &actor, new.id, &link).await,
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, None)).into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "people/show.html")]
struct ShowPage {
    page: Page,
    person: Person,
    certifications: Vec<Certification>,
    courses: Vec<Course>,
    form: Form,
    /// An invitation just made: it is shown this once, only its hash is kept.
    link: Option<String>,
    manages: bool,
    calendar: Calendar,
    own: bool,
}

async fn show_page(
    state: &AppState,
    actor: &Actor,
    id: Uuid,
    form: Form,
    link: Option<String>,
) -> Result<ShowPage> {
    let mut conn = state.pool.acquire().await?;
    let person = person::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let certifications = person::certifications(&mut conn, id).await?;
    let courses = person::courses(&mut conn, id).await?;
    let page = Page::of(actor, person.name.clone(), AT);
    let calendar = Calendar::of(&mut conn, actor, id, format!("/people/{id}/calendars"), None).await?;
    let manages = actor.role.may_manage_people();
    Ok(ShowPage { page, person, certifications, courses, form, link, manages, calendar, own: false })
}

/// The person's page with their calendar's address, just made.
pub(super) async fn with_calendar(
    state: &AppState,
    actor: &Actor,
    id: Uuid,
    link: String,
) -> Result<Response> {
    let mut page = show_page(state, actor, id, Form::for_new(), None).await?;
    page.calendar.link = Some(link);
    Ok(page.into_response())
}

async fn show_link(state: &AppState, actor: &Actor, id: Uuid, secret: &str) -> Result<Response> {
    let link = format!("{}/invitation/{secret}", state.config.base_url());
    Ok(show_page(state, actor, id, Form::for_new(), Some(link)).await?.into_response())
}

/// GET /people/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    Ok(show_page(&state, &actor, id, Form::for_new(), None).await?.into_response())
}

/// GET /people/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let p = person::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    let form = Form::filled([
        ("name", p.name.as_str()),
        ("email", &p.email),
        ("role", p.role.code()),
        ("service_area", &p.service_area),
    ]);
    Ok(edit_page(&actor, form, Some(id)).into_response())
}

/// POST /people/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (name, area) = (form.required("name"), form.text("service_area"));
    let role = form.choice("role", Role::from_code);
    if let (true, Some(role)) = (form.is_good(), role) {
        match verbs::change(&actor.doer(), id, &name, role, &area).await {
            Ok(()) => return Ok(session::done(&state, &format!("/people/{id}"), "Changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, Some(id))).into_response())
}

/// POST /people/{id}/invitations
pub async fn invite_again(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let link = verbs::invite_again(&actor.doer(), id).await?;
    show_link(&state, &actor, id, &link).await
}

/// POST /people/{id}/retirements
pub async fn retire(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::set_retired(&actor.doer(), id, true).await?;
    Ok(session::done(&state, &format!("/people/{id}"), "Retired; every session is ended."))
}

/// POST /people/{id}/returns
pub async fn take_back(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::set_retired(&actor.doer(), id, false).await?;
    Ok(session::done(&state, &format!("/people/{id}"), "Back at work."))
}

/// POST /people/{id}/sign-outs
pub async fn sign_out_everywhere(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let count = account::sign_out_everywhere(&actor.doer(), id).await?;
    Ok(session::done(&state, &format!("/people/{id}"), &format!("Sessions ended: {count}.")))
}

/// POST /people/{id}/certifications
pub async fn certify(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (from, until) = (form.required_date("valid_from"), form.required_date("expires_on"));
    let new = Certification {
        id: form.id()?,
        person_id: id,
        state: form.state("state"),
        category: form.required("category"),
        number: form.required("number"),
        valid_from: from.unwrap_or_default(),
        expires_on: until.unwrap_or_default(),
    };
    if form.is_good() {
        match verbs::certify(&actor.doer(), &new).await {
            Ok(()) => {
                return Ok(session::done(&state, &format!("/people/{id}"), "The certification is entered."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let again = show_page(&state, &actor, id, form, None).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// POST /people/{id}/courses
pub async fn took_course(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let taken_on = form.required_date("taken_on");
    let new = Course {
        id: form.id()?,
        person_id: id,
        state: form.state("course_state"),
        name: form.required_line("course_name"),
        taken_on: taken_on.unwrap_or_default(),
        valid_until: form.date("valid_until"),
        proof: form.required_line("proof"),
    };
    if form.is_good() {
        match verbs::took_course(&actor.doer(), &new, actor.today).await {
            Ok(()) => return Ok(session::done(&state, &format!("/people/{id}"), "The course is entered.")),
            Err(e) => form.absorb(e)?,
        }
    }
    let again = show_page(&state, &actor, id, form, None).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}
