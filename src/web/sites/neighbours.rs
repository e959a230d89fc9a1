//! Who is told before something is applied at a site: the list, one more, a change, one less.
use super::{
    super::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        seen::as_they_are,
        session::{self, Actor},
    },
    AT,
};
use crate::{
    actions::{neighbour as verbs, neighbour_proposal as proposals},
    db::{
        neighbour::{self, Neighbour},
        neighbour_proposal::{self, Proposal},
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
use uuid::Uuid;

#[derive(Template, WebTemplate)]
#[template(path = "site/neighbours.html")]
struct NeighboursPage {
    page: Page,
    form: Form,
    site: Site,
    rows: Vec<Neighbour>,
    /// Whom the customer named.
    named: Vec<Proposal>,
    /// Who is being changed.
    changed: Option<Uuid>,
}

async fn shown(
    state: &AppState,
    actor: &Actor,
    id: Uuid,
    form: Form,
    changed: Option<Uuid>,
) -> Result<NeighboursPage> {
    let mut conn = state.pool.acquire().await?;
    let site = site::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let rows = neighbour::of_site(&mut conn, id).await?;
    let named = neighbour_proposal::open_of_site(&mut conn, id).await?;
    Ok(NeighboursPage { page: Page::of(actor, "Neighbours to tell", AT), form, site, rows, named, changed })
}

fn read(form: &mut Form, site_id: Uuid, id: Uuid) -> Neighbour {
    let email = form.line("email").to_lowercase();
    if !email.is_empty() && !email.split_once('@').is_some_and(|(a, b)| !a.is_empty() && b.contains('.')) {
        form.fail("email", "This is not an e-mail address; write it as name@example.test.");
    }
    Neighbour {
        id,
        site_id,
        name: form.required_line("name"),
        address: form.line("address"),
        phone: form.line("phone"),
        email,
        note: form.text("note"),
    }
}

fn filled(n: &Neighbour) -> Form {
    let Neighbour { name, address, phone, email, note, .. } = n.clone();
    Form::filled([("name", name), ("address", address), ("phone", phone), ("email", email), ("note", note)])
}

async fn one(state: &AppState, site: Uuid, id: Uuid) -> Result<Neighbour> {
    neighbour::find(&mut *state.pool.acquire().await?, site, id).await?.ok_or(Error::NotFound)
}

/// GET /sites/{id}/neighbours
pub async fn neighbours(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    Ok(shown(&state, &actor, id, Form::for_new(), None).await?.into_response())
}

/// POST /sites/{id}/neighbours
pub async fn add_neighbour(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let new_id = form.id()?;
    let new = read(&mut form, id, new_id);
    let at = format!("/sites/{id}/neighbours");
    if form.is_good() {
        match verbs::create(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, &at, "They are on the list.")),
            Err(e) => form.absorb_new(e, &at)?,
        }
    }
    let again = shown(&state, &actor, id, form, None).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// GET /sites/{id}/neighbours/{neighbour}
pub async fn neighbour_form(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, who)): Path<(Uuid, Uuid)>,
) -> Result<Response> {
    let form = filled(&one(&state, id, who).await?).remembered();
    Ok(shown(&state, &actor, id, form, Some(who)).await?.into_response())
}

/// POST /sites/{id}/neighbours/{neighbour}
pub async fn change_neighbour(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, who)): Path<(Uuid, Uuid)>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = one(&state, id, who).await?;
    let now = read(&mut form, id, who);
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), as_they_are) {
        match verbs::change(&actor.doer(), &was, &now).await {
            Ok(()) => return Ok(session::done(&state, &format!("/sites/{id}/neighbours"), "Changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    let again = shown(&state, &actor, id, form, Some(who)).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// POST /sites/{id}/neighbours/{neighbour}/removals
pub async fn remove_neighbour(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, who)): Path<(Uuid, Uuid)>,
    _form: Posted,
) -> Result<Response> {
    verbs::remove(&actor.doer(), id, who).await?;
    Ok(session::done(&state, &format!("/sites/{id}/neighbours"), "They are off the list."))
}

/// POST /sites/{id}/neighbours/proposals/{proposal} : `take` puts them on the list, anything else sets them aside.
pub async fn decide_proposal(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, proposal)): Path<(Uuid, Uuid)>,
    Posted(form): Posted,
) -> Result<Response> {
    let take = form.is("step", "take");
    proposals::decide(&actor.doer(), id, proposal, take).await?;
    let words = if take { "They are on the list." } else { "Set aside." };
    Ok(session::done(&state, &format!("/sites/{id}/neighbours"), words))
}
