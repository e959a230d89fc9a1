//! Sites: the list, one site with its plants and its land, retirement.
mod badge;
mod edit;
mod exemptions;
mod hand_over;
mod land;
mod neighbours;

pub(super) use edit::read_position;
pub use edit::{create, edit_form, new_form, update};
pub use exemptions::{end_exemption, enter_exemption, exemptions};
pub use hand_over::{hand_over, hand_over_form};
pub use land::{answer_earlier_use, cap_area_form, choose_cap_area, earlier_use_form};
pub use neighbours::{
    add_neighbour, change_neighbour, decide_proposal, neighbour_form, neighbours, remove_neighbour,
};

use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    kit::Kit,
    page::Page,
    pager::{Asked, Pager},
    plants::badge::{Badge, PlantRow},
    protection::{self, Protection},
    session::{self, Actor},
    sharing,
    ways_out::{self, Undo},
};
use crate::{
    actions::site as verbs,
    db::{
        Conn,
        customer::{self, Customer},
        fact, neighbour,
        parcel::{self, Parcel},
        plant::{self, Plant},
        site::{self, Site, Window},
    },
    domain::{
        facts::Facts,
        site::{CapArea, cap_area},
        user::Role,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use uuid::Uuid;

const AT: &str = "/sites";

/// The one door to a site: owner and office see every site, a technician those where a visit of
/// theirs is booked or done. Everything else is not there.
///
/// # Errors
/// [`Error::NotFound`] when the site is not theirs to see.
pub async fn door(conn: &mut Conn, actor: &Actor, id: Uuid) -> Result<Site> {
    let site = site::find(conn, id).await?.ok_or(Error::NotFound)?;
    if actor.role == Role::Technician && !site::is_visited_by(conn, id, actor.id).await? {
        return Err(Error::NotFound);
    }
    Ok(site)
}

#[derive(Template, WebTemplate)]
#[template(path = "site/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    rows: Vec<site::Line>,
    pager: Pager,
    narrowed: bool,
    /// What the files are asked with.
    query: String,
}

/// GET /sites
pub async fn list(State(state): State<AppState>, actor: Actor, asked: Asked) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let chunk = site::list(&mut conn, asked.seek, &asked.words, asked.retired).await?;
    let pager = Pager::of(&chunk, AT, &asked, |r| (&r.street, r.id));
    let page = Page::of(&actor, "Sites", AT);
    let (narrowed, query) = (asked.is_narrowed(), asked.query());
    Ok(ListPage { page, form: asked.form, rows: chunk.rows, pager, narrowed, query }.into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "site/show.html")]
struct ShowPage {
    page: Page,
    site: Site,
    customer: Customer,
    land: Parcel,
    cap_area: Option<CapArea>,
    neighbours: Vec<site::Line>,
    windows: Vec<Window>,
    plants: Vec<PlantRow>,
    missing: Vec<Badge>,
    protection: Protection,
    /// How many neighbours are told before the work.
    told: usize,
    /// Exemptions in force today.
    exemptions: usize,
    /// What other sharing would change.
    sharing: Option<String>,
    /// Choices of today that can be taken back.
    undo: Vec<Undo>,
    /// How many held plants have their ways out on their own page only.
    more_held: usize,
    manages: bool,
}

/// GET /sites/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let site = door(&mut conn, &actor, id).await?;
    let customer = customer::find(&mut conn, site.customer_id).await?.ok_or(Error::NotFound)?;
    let land = parcel::find(&mut conn, site.parcel_id).await?.ok_or(Error::NotFound)?;
    let cap_area = cap_area(&land.areas, land.cap_area);
    let plants = plant::of_site(&mut conn, id).await?;
    let in_care = plants.iter().filter(|l| l.plant.retired_at.is_none()).map(|l| l.plant.clone());
    let in_care: Vec<Plant> = in_care.collect();
    let manages = actor.role.may_manage_customers();
    let facts = protection::facts(&mut conn, land.id, actor.today).await?;
    let kit = Kit::read(&mut conn).await?;
    let ids: Vec<Uuid> = in_care.iter().map(|p| p.id).collect();
    let mut protection = protection::drawn(&facts, &ids, &kit, actor.reads())?;
    let more_held =
        if manages { add_ways(&mut conn, &facts, &in_care, &mut protection, actor.today).await? } else { 0 };
    let undo = if manages { ways_out::undoable(&mut conn, &in_care, actor.today).await? } else { vec![] };
    let page = ShowPage {
        page: Page::of(&actor, site.street.clone(), AT),
        neighbours: site::neighbours(&mut conn, &site).await?,
        windows: site::windows(&mut conn, id).await?,
        plants: plants.into_iter().map(|p| PlantRow::of(p, actor.today, actor.reads())).collect(),
        told: neighbour::of_site(&mut conn, id).await?.len(),
        exemptions: exemptions::in_force(&mut conn, land.id, actor.today).await?,
        sharing: sharing::hint(actor.reads(), &facts, protection.plants.iter().any(|l| l.by_cap)),
        protection,
        undo,
        more_held,
        missing: badge::missing(actor.reads(), &site, &land, cap_area),
        manages,
        site,
        customer,
        land,
        cap_area,
    };
    Ok(page.into_response())
}

/// So many held plants show their ways out on the site's page; the others do on their own.
const WITH_WAYS: usize = 4;

/// Adds the ways out to plants that are held back; how many more are.
async fn add_ways(
    conn: &mut Conn,
    facts: &Facts,
    plants: &[Plant],
    protection: &mut Protection,
    today: NaiveDate,
) -> Result<usize> {
    let held: Vec<usize> = (0..protection.plants.len()).filter(|n| protection.plants[*n].is_held).collect();
    if held.is_empty() {
        return Ok(0);
    }
    let known = fact::offerable(conn, today).await?;
    for line in held.iter().take(WITH_WAYS).copied() {
        let line = &mut protection.plants[line];
        if let Some(plant) = plants.iter().find(|p| p.id == line.plant) {
            line.ways = ways_out::of(facts, &known, plant)?;
        }
    }
    Ok(held.len().saturating_sub(WITH_WAYS))
}

/// POST /sites/{id}/retirements
pub async fn retire(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::retire(&actor.doer(), id).await?;
    Ok(session::done(
        &state,
        &format!("/sites/{id}"),
        "Retired. Its plants are wanted no more; its records stay.",
    ))
}

/// POST /sites/{id}/returns
pub async fn take_back(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::take_back(&actor.doer(), id).await?;
    Ok(session::done(&state, &format!("/sites/{id}"), "In use again."))
}
