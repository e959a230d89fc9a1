//! A licensed person's answers about the land: the area that caps are counted on, and earlier use.
use super::{
    super::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
    },
    AT,
};
use crate::{
    actions::parcel as verbs,
    db::{
        parcel::{self, Parcel},
        site::{self, Site},
    },
    domain::site::{AreaKind, cap_area},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use fluent_bundle::FluentArgs;
use uuid::Uuid;

/// The site, its land and those who share it.
struct Matter {
    site: Site,
    land: Parcel,
    neighbours: Vec<site::Line>,
}

impl Matter {
    /// The streets of those who share the land.
    fn streets(&self) -> String {
        self.neighbours.iter().map(|n| n.street.as_str()).collect::<Vec<_>>().join(", ")
    }
}

async fn matter(state: &AppState, actor: &Actor, id: Uuid) -> Result<Matter> {
    let mut conn = state.pool.acquire().await?;
    let site = super::door(&mut conn, actor, id).await?;
    let land = parcel::find(&mut conn, site.parcel_id).await?.ok_or(Error::NotFound)?;
    let neighbours = site::neighbours(&mut conn, &site).await?;
    Ok(Matter { site, land, neighbours })
}

#[derive(Template, WebTemplate)]
#[template(path = "site/cap_area.html")]
struct CapAreaPage {
    page: Page,
    form: Form,
    matter: Matter,
    /// The known areas, with the one that holds now told apart.
    areas: Vec<(&'static str, String)>,
}

async fn cap_area_page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<CapAreaPage> {
    let (matter, language) = (matter(state, actor, id).await?, actor.reads());
    let holds = cap_area(&matter.land.areas, matter.land.cap_area).map(|c| c.which);
    let areas = matter.land.area_lines().into_iter().filter_map(|(kind, words)| {
        let text = if holds == Some(kind) { "cap-area-line-now" } else { "cap-area-line" };
        let area = language.say(kind.words_text());
        Some((kind.code(), language.fill(text, &FluentArgs::from_iter([("area", area), ("figure", words?)]))))
    });
    let areas = areas.collect();
    let page = Page::of(actor, language.say("site-cap-area"), AT);
    Ok(CapAreaPage { page, form: form.speaking(language), matter, areas })
}

/// GET /sites/{id}/cap-areas
pub async fn cap_area_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    Ok(cap_area_page(&state, &actor, id, Form::default()).await?.into_response())
}

/// POST /sites/{id}/cap-areas
pub async fn choose_cap_area(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    super::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let (kind, reason) = (form.choice("cap_area", AreaKind::from_code), form.required("reason"));
    if let (true, Some(kind)) = (form.is_good(), kind) {
        match verbs::choose_cap_area(&actor.doer(), id, kind, &reason, actor.today).await {
            Ok(()) => return Ok(session::done(&state, &format!("/sites/{id}"), "The area is chosen.")),
            Err(e) => form.absorb(e)?,
        }
    }
    let again = cap_area_page(&state, &actor, id, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "site/earlier_use.html")]
struct EarlierUsePage {
    page: Page,
    form: Form,
    matter: Matter,
}

async fn earlier_use_page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<EarlierUsePage> {
    let matter = matter(state, actor, id).await?;
    let page = Page::of(actor, actor.reads().say("earlier-title"), AT);
    Ok(EarlierUsePage { page, form: form.speaking(actor.reads()), matter })
}

/// GET /sites/{id}/earlier-uses
pub async fn earlier_use_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    Ok(earlier_use_page(&state, &actor, id, Form::default()).await?.into_response())
}

/// POST /sites/{id}/earlier-uses
pub async fn answer_earlier_use(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    super::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let (from, reason) = (form.required_date("known_from"), form.required("reason"));
    if let (true, Some(from)) = (form.is_good(), from) {
        match verbs::answer_earlier_use(&actor.doer(), id, from, &reason, actor.today).await {
            Ok(()) => return Ok(session::done(&state, &format!("/sites/{id}"), "Earlier use is answered.")),
            Err(e) => form.absorb(e)?,
        }
    }
    let again = earlier_use_page(&state, &actor, id, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}
