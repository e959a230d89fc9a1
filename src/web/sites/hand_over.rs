//! A site changes hands: another customer, the same land.
use super::{
    super::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        pager::Asked,
        session::{self, Actor},
    },
    AT,
};
use crate::{
    actions::site as verbs,
    db::{
        customer::{self, Customer},
        seek::Seek,
        site::Site,
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
#[template(path = "site/hand_over.html")]
struct HandOverPage {
    page: Page,
    form: Form,
    site: Site,
    customer: Customer,
    found: Vec<(String, String)>,
    /// Whether more match than are shown.
    more: bool,
}

async fn page(state: &AppState, actor: &Actor, id: Uuid, form: Form, words: &str) -> Result<HandOverPage> {
    let mut conn = state.pool.acquire().await?;
    let site = super::door(&mut conn, actor, id).await?;
    let customer = customer::find(&mut conn, site.customer_id).await?.ok_or(Error::NotFound)?;
    let chunk = match words {
        "" => None,
        words => Some(customer::list(&mut conn, Seek::First, words, false).await?),
    };
    let more = chunk.as_ref().is_some_and(|c| c.later);
    let others = chunk.into_iter().flat_map(|c| c.rows).filter(|r| r.customer.id != site.customer_id);
    let found = others.map(|r| (r.customer.id.to_string(), name_and_place(&r.customer))).collect();
    let title = format!("New customer for {}", site.street);
    Ok(HandOverPage { page: Page::of(actor, title, AT), form, site, customer, found, more })
}

fn name_and_place(c: &Customer) -> String {
    let place: Vec<&str> =
        [c.street.as_str(), c.city.as_str()].into_iter().filter(|p| !p.is_empty()).collect();
    if place.is_empty() { c.name.clone() } else { format!("{} ({})", c.name, place.join(", ")) }
}

/// GET /sites/{id}/customers
pub async fn hand_over_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    asked: Asked,
) -> Result<Response> {
    Ok(page(&state, &actor, id, asked.form, &asked.words).await?.into_response())
}

/// POST /sites/{id}/customers
pub async fn hand_over(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    if let Some(customer) = form.choice("customer", |c| c.parse::<Uuid>().ok()) {
        match verbs::hand_over(&actor.doer(), id, customer).await {
            Ok(()) => {
                let words = "The site has a new customer. Plants, records and the ledger stayed with it.";
                return Ok(session::done(&state, &format!("/sites/{id}"), words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let words: String = form.value("q").chars().filter(|c| !c.is_control()).collect();
    let again = page(&state, &actor, id, form, &words).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}
