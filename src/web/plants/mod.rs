//! Plants: the list, one plant, retirement.
pub mod badge;
mod edit;
mod measure;

pub use edit::{create, edit_form, new_form, read_treatment, update};
pub use measure::{measure, measure_form};

use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    kit::Kit,
    page::Page,
    pager::{Asked, Pager},
    protection::{self, PlantLine},
    session::{self, Actor},
    sites,
    ways_out::{self, Undo},
};
use crate::domain::{label::MeasureBasis, quantity::plain};
use crate::{
    actions::plant as verbs,
    db::{
        Conn, fact,
        plant::{self, Plant},
        site::Site,
        treatment::{self, Treatment},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use badge::PlantRow;
use uuid::Uuid;

/// Plants are found through their sites.
const AT: &str = "/sites";

/// The one door to a plant: whoever may see its site.
///
/// # Errors
/// [`Error::NotFound`] when the plant is not theirs to see.
pub async fn door(conn: &mut Conn, actor: &Actor, id: Uuid) -> Result<(Plant, Site)> {
    let plant = plant::find(conn, id).await?.ok_or(Error::NotFound)?;
    let site = sites::door(conn, actor, plant.site_id).await?;
    Ok((plant, site))
}

#[derive(Template, WebTemplate)]
#[template(path = "plant/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    rows: Vec<PlantRow>,
    pager: Pager,
    narrowed: bool,
    /// What the files are asked with.
    query: String,
}

/// GET /plants
pub async fn list(State(state): State<AppState>, actor: Actor, asked: Asked) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let chunk = plant::list(&mut conn, asked.seek, &asked.words, asked.retired).await?;
    let pager = Pager::of(&chunk, "/plants", &asked, |r| (&r.plant.host_plant, r.plant.id));
    let page = Page::of(&actor, "Plants", AT);
    let (narrowed, query) = (asked.is_narrowed(), asked.query());
    let rows = chunk.rows.into_iter().map(|r| PlantRow::of(r, actor.today)).collect();
    Ok(ListPage { page, form: asked.form, rows, pager, narrowed, query }.into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "plant/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    row: PlantRow,
    site: Site,
    /// The chosen use, as the label has it now.
    treatment: Option<Treatment>,
    manages: bool,
    /// Its time line, next dose and ways out, where a day can be worked out.
    outlook: Option<PlantLine>,
    /// Choices of today that can be taken back.
    undo: Vec<Undo>,
}

impl ShowPage {
    fn plant(&self) -> &Plant {
        &self.row.line.plant
    }

    /// The diameter that follows from a girth.
    fn diameter_words(&self) -> Option<String> {
        self.plant().girth_in?;
        let diameter = self.plant().measure().for_basis(MeasureBasis::DiameterIn)?;
        Some(format!("That is a diameter of {} in.", plain(&diameter)))
    }

    /// How several stems count.
    fn stem_words(&self) -> Option<String> {
        let rule = self.plant().stem_rule.as_deref()?;
        let rules = measure::stem_rules(self.page.language);
        rules.into_iter().find(|(code, _)| *code == rule).map(|(_, words)| words)
    }
}

async fn show_page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ShowPage> {
    let mut conn = state.pool.acquire().await?;
    let (plant, site) = door(&mut conn, actor, id).await?;
    let line = plant::line(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let treatment = match (plant.product_id, &plant.use_code) {
        (Some(product), Some(code)) => treatment::find(&mut conn, product, code).await?,
        _ => None,
    };
    let manages = actor.role.may_manage_customers();
    let outlook = outlook(&mut conn, &site, &plant, actor).await?;
    let own = std::slice::from_ref(&plant);
    let undo = if manages { ways_out::undoable(&mut conn, own, actor.today).await? } else { vec![] };
    let title = format!("{}, {}", plant.host_plant, plant.place);
    let row = PlantRow::of(line, actor.today);
    Ok(ShowPage { page: Page::of(actor, title, AT), form, row, site, treatment, manages, outlook, undo })
}

async fn outlook(conn: &mut Conn, site: &Site, plant: &Plant, actor: &Actor) -> Result<Option<PlantLine>> {
    if plant.retired_at.is_some() || plant.product_id.is_none() {
        return Ok(None);
    }
    let facts = protection::facts(conn, site.parcel_id, actor.today).await?;
    let kit = Kit::read(conn).await?;
    let Some(mut line) = protection::drawn(&facts, &[plant.id], &kit)?.plants.pop() else { return Ok(None) };
    if line.is_held && actor.role.may_manage_customers() {
        let known = fact::offerable(conn, actor.today).await?;
        line.ways = ways_out::of(&facts, &known, plant)?;
    }
    Ok(Some(line))
}

/// The plant's page once more, with what was wrong.
///
/// # Errors
/// As the page itself.
pub async fn again(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<Response> {
    Ok((StatusCode::UNPROCESSABLE_ENTITY, show_page(state, actor, id, form).await?).into_response())
}

/// GET /plants/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    Ok(show_page(&state, &actor, id, Form::default()).await?.into_response())
}

/// POST /plants/{id}/retirements
pub async fn retire(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (_, site) = door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let reason = form.required("reason");
    if form.is_good() {
        match verbs::retire(&actor.doer(), id, &reason).await {
            Ok(()) => {
                let words = "The plant is retired; its records and the ledger stay.";
                return Ok(session::done(&state, &format!("/sites/{}", site.id), words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let again = show_page(&state, &actor, id, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// POST /plants/{id}/returns
pub async fn take_back(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::take_back(&actor.doer(), id).await?;
    Ok(session::done(&state, &format!("/plants/{id}"), "The plant is in care again."))
}
