//! Customers: the list, one customer with their sites, retirement.
mod edit;
mod mail;

pub use edit::{create, edit_form, new_form, update};
pub use mail::{change_wishes, end_links, make_link};

use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    pager::{Asked, Pager},
    session::{self, Actor},
};
use crate::{
    actions::customer as verbs,
    db::{
        customer::{self, Customer},
        site,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Response},
};
use uuid::Uuid;

const AT: &str = "/customers";

#[derive(Template, WebTemplate)]
#[template(path = "customer/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    rows: Vec<customer::Line>,
    pager: Pager,
    narrowed: bool,
    /// What the files are asked with.
    query: String,
}

/// GET /customers
pub async fn list(State(state): State<AppState>, actor: Actor, asked: Asked) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let chunk = customer::list(&mut conn, asked.seek, &asked.words, asked.retired).await?;
    let pager = Pager::of(&chunk, AT, &asked, |r| (&r.customer.name, r.customer.id));
    let page = Page::of(&actor, "Customers", AT);
    let (narrowed, query) = (asked.is_narrowed(), asked.query());
    Ok(ListPage { page, form: asked.form, rows: chunk.rows, pager, narrowed, query }.into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "customer/show.html")]
struct ShowPage {
    page: Page,
    customer: Customer,
    sites: Vec<site::Line>,
    form: Form,
    mail: mail::Mail,
}

/// The page of a customer, with a link to their own page where it was just made.
async fn page(
    state: &AppState,
    actor: &Actor,
    id: Uuid,
    form: Option<Form>,
    link: Option<String>,
) -> Result<ShowPage> {
    let mut conn = state.pool.acquire().await?;
    let customer = customer::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let sites = site::of_customer(&mut conn, id).await?;
    let mail = mail::Mail::of(&mut conn, actor, id, link).await?;
    let form = form.unwrap_or_else(|| mail.form());
    Ok(ShowPage { page: Page::of(actor, customer.name.clone(), AT), customer, sites, form, mail })
}

/// GET /customers/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    Ok(page(&state, &actor, id, None, None).await?.into_response())
}

/// POST /customers/{id}/retirements
pub async fn retire(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::retire(&actor.doer(), id).await?;
    Ok(session::done(&state, &format!("/customers/{id}"), "Retired. Records and sites stay."))
}

/// POST /customers/{id}/returns
pub async fn take_back(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::take_back(&actor.doer(), id).await?;
    Ok(session::done(&state, &format!("/customers/{id}"), "A customer again."))
}
