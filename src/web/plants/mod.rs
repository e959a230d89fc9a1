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
    pour,
    protection::{self, PlantLine},
    session::{self, Actor},
    sites,
    ways_out::{self, Undo},
    words,
};
use crate::{
    actions::plant as verbs,
    db::{
        Conn, fact,
        plant::{self, Plant},
        site::Site,
        treatment::{self, Treatment},
    },
    domain::{
        label::MeasureBasis,
        quantity::{from_decimal, plain},
    },
    texts::Language,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use badge::PlantRow;
use fluent_bundle::FluentArgs;
use rust_decimal::Decimal;
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
    let rows = chunk.rows.into_iter().map(|r| PlantRow::of(r, actor.today, actor.reads())).collect();
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
        Some(self.page.language.say_of("plant-diameter-of-girth", "inches", plain(&diameter)))
    }

    /// How several stems count.
    fn stem_words(&self) -> Option<String> {
        let rule = self.plant().stem_rule.as_deref()?;
        let rules = measure::stem_rules(self.page.language);
        rules.into_iter().find(|(code, _)| *code == rule).map(|(_, words)| words)
    }

    /// The rate band of the chosen use, as its label states it.
    fn band_words(&self, treatment: &Treatment) -> String {
        band_in(self.page.language, treatment)
    }

    /// The rate that is planned within it.
    fn rate_words(&self) -> String {
        let language = self.page.language;
        let Some(rate) = self.plant().planned_rate else { return language.say("plant-rate-lowest") };
        let rate = rate.normalize();
        match &self.treatment {
            Some(t) if language == Language::English => format!("{rate} {}", t.rate_unit),
            Some(t) => format!("{rate} {}", pour::unit_in(language, &t.rate_unit, rate == Decimal::ONE)),
            None => rate.to_string(),
        }
    }

    /// What was answered: yes, no, or nothing yet.
    fn answered(&self, code: &str) -> String {
        self.page.say(match code {
            "yes" => "land-yes",
            "no" => "land-no",
            _ => "land-not-known",
        })
    }

    /// A time of every year, such as a bloom.
    fn span(&self, from: &str, to: &str) -> String {
        let language = self.page.language;
        let day = |code: &str| words::month_day_in(language, code);
        language.fill("land-span", &FluentArgs::from_iter([("from", day(from)), ("to", day(to))]))
    }
}

/// The band with the words of that language: `3 to 6 mL per ft of height`.
fn band_in(language: Language, treatment: &Treatment) -> String {
    let text = match MeasureBasis::from_code(&treatment.measure) {
        Some(MeasureBasis::HeightFt) => "band-height-ft",
        Some(MeasureBasis::DiameterIn) => "band-diameter-in",
        Some(MeasureBasis::CircumferenceIn) => "band-circumference-in",
        Some(MeasureBasis::Plant) => "one-plant",
        _ => "",
    };
    if language == Language::English {
        return treatment.band_words();
    }
    let (low, high) = (treatment.rate_low.normalize(), treatment.rate_high.normalize());
    let per = match (text, treatment.rate_per.normalize()) {
        ("", per) => MeasureBasis::from_code(&treatment.measure)
            .map_or_else(|| treatment.measure.clone(), |basis| basis.on_label(&from_decimal(per))),
        (text, per) if per == Decimal::ONE => language.say(text),
        (text, per) => format!("{per} {}", language.say(text)),
    };
    let span = FluentArgs::from_iter([("low", low.to_string()), ("high", high.to_string())]);
    let band = if low == high { low.to_string() } else { language.fill("from-to", &span) };
    let unit = pour::unit_in(language, &treatment.rate_unit, low == high && low == Decimal::ONE);
    language.fill("band-line", &FluentArgs::from_iter([("band", band), ("unit", unit), ("per", per)]))
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
    let row = PlantRow::of(line, actor.today, actor.reads());
    Ok(ShowPage { page: Page::of(actor, title, AT), form, row, site, treatment, manages, outlook, undo })
}

async fn outlook(conn: &mut Conn, site: &Site, plant: &Plant, actor: &Actor) -> Result<Option<PlantLine>> {
    if plant.retired_at.is_some() || plant.product_id.is_none() {
        return Ok(None);
    }
    let facts = protection::facts(conn, site.parcel_id, actor.today).await?;
    let kit = Kit::read(conn).await?;
    let Some(mut line) = protection::drawn(&facts, &[plant.id], &kit, actor.reads())?.plants.pop() else {
        return Ok(None);
    };
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
