//! The form of a plant.
use super::{
    super::{
        AppState, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
        sites,
    },
    AT,
    measure::{self, ground_units, stem_rules},
};
use crate::{
    actions::plant as verbs,
    db::{
        Conn,
        plant::{self, Plant},
        site::Site,
        treatment,
    },
    domain::{facts::Eaten, plant::Kind},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use uuid::Uuid;

type Options = &'static [(&'static str, &'static str)];

const KINDS: Options = &[("shrub", "Shrub"), ("hedge", "Hedge"), ("tree", "Tree"), ("palm", "Palm")];
const ANSWERS: Options = &[("yes", "Yes"), ("no", "No"), ("unknown", "Not known")];

#[derive(Template, WebTemplate)]
#[template(path = "plant/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    /// The plant being changed; none yet when entering one.
    id: Option<Uuid>,
    site: Site,
    hosts: Vec<String>,
    treatments: Vec<(String, String)>,
    kinds: Options,
    answers: Options,
    stem_rules: Vec<(&'static str, String)>,
    ground_units: Vec<(&'static str, String)>,
}

async fn edit_page(
    conn: &mut Conn,
    actor: &Actor,
    form: Form,
    id: Option<Uuid>,
    site: Site,
) -> Result<EditPage> {
    let title = if id.is_some() { "Change a plant" } else { "Add a plant" };
    Ok(EditPage {
        page: Page::of(actor, title, AT),
        id,
        site,
        hosts: plant::host_plants(conn).await?,
        treatments: treatments(conn, form.value("treatment")).await?,
        form,
        kinds: KINDS,
        answers: ANSWERS,
        stem_rules: stem_rules(actor.reads()),
        ground_units: ground_units(actor.reads()),
    })
}

/// The uses to choose from; one that is no longer offered stays choosable where it is chosen.
async fn treatments(conn: &mut Conn, chosen: &str) -> Result<Vec<(String, String)>> {
    let mut out: Vec<(String, String)> = treatment::list(conn)
        .await?
        .into_iter()
        .map(|t| {
            let unsigned = if t.signed { "" } else { " (label not signed yet)" };
            (t.choice(), format!("{}: {}, {}{unsigned}", t.product_name, t.use_name, t.band_words()))
        })
        .collect();
    if read_treatment(chosen).is_some() && out.iter().all(|(value, _)| value != chosen) {
        out.push((chosen.to_owned(), "The one chosen before (no longer offered)".to_owned()));
    }
    Ok(out)
}

/// `product:code` of a choice.
#[must_use]
pub fn read_treatment(value: &str) -> Option<(Uuid, String)> {
    let (product, code) = value.split_once(':')?;
    let plain = !code.is_empty() && code.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
    Some((product.parse().ok()?, plain.then(|| code.to_owned())?))
}

/// A day of every year, MM-DD.
fn month_day(form: &mut Form, name: &str) -> Option<String> {
    let value = form.value(name).to_owned();
    if value.is_empty() {
        return None;
    }
    // A leap year, so that February 29 is a day.
    let shaped = value.len() == 5 && value.as_bytes()[2] == b'-';
    if !shaped || NaiveDate::parse_from_str(&format!("2024-{value}"), "%Y-%m-%d").is_err() {
        form.fail(name, "Write month and day, for example 04-15.");
        return None;
    }
    Some(value)
}

/// Reads the plant; what is wrong stays in the form.
fn read(form: &mut Form, id: Uuid, site_id: Uuid) -> Plant {
    let count = form.optional::<i32>("count", "This is not a number of plants; write for example 40.");
    match count {
        None if form.value("count").is_empty() => form.fail("count", "Please fill this in."),
        Some(n) if !(1..=100_000).contains(&n) => form.fail("count", "Count one or more."),
        _ => {}
    }
    let measure = measure::read(form);
    let (bloom_from, bloom_to) = (month_day(form, "bloom_from"), month_day(form, "bloom_to"));
    if form.value("bloom_from").is_empty() != form.value("bloom_to").is_empty() {
        form.fail("bloom_from", "The usual bloom takes a first and a last day, or neither.");
    }
    let (harvest_from, harvest_to) = (month_day(form, "harvest_from"), month_day(form, "harvest_to"));
    if form.value("harvest_from").is_empty() != form.value("harvest_to").is_empty() {
        form.fail("harvest_from", "The usual harvest takes a first and a last day, or neither.");
    }
    let treated = match form.value("treatment") {
        "" => None,
        _ => form.choice("treatment", read_treatment),
    };
    let answer = |code: &str| Eaten::from_code(code).map(|answer| answer.code().to_owned());
    Plant {
        id,
        site_id,
        place: form.required_line("place"),
        host_plant: form.required_line("host_plant"),
        kind: form.choice("kind", Kind::from_code).unwrap_or(Kind::Shrub),
        count: count.unwrap_or(1),
        height_ft: measure.height_ft,
        stems_in: measure.stems_in,
        stem_rule: measure.stem_rule,
        girth_in: measure.girth_in,
        ground: measure.ground,
        ground_unit: measure.ground_unit,
        target_pest: form.line("target_pest"),
        eaten: form.choice("eaten", answer).unwrap_or_default(),
        food_in_root_zone: form.choice("food_in_root_zone", answer).unwrap_or_default(),
        bloom_from,
        bloom_to,
        in_bloom: form.is("in_bloom", "yes"),
        harvest_from,
        harvest_to,
        harvest_on: form.date("harvest_on"),
        product_id: treated.as_ref().map(|t| t.0),
        use_code: treated.map(|t| t.1),
        planned_rate: form.positive("planned_rate"),
        first_wanted: form.date("first_wanted"),
        retired_at: None,
        retired_reason: String::new(),
    }
}

/// The form as the plant stands now.
fn filled(p: &Plant) -> Form {
    let treatment = match (p.product_id, &p.use_code) {
        (Some(product), Some(code)) => format!("{product}:{code}"),
        _ => String::new(),
    };
    let mut form = Form::filled([
        ("place", p.place.clone()),
        ("host_plant", p.host_plant.clone()),
        ("kind", p.kind.code().to_owned()),
        ("count", p.count.to_string()),
        ("target_pest", p.target_pest.clone()),
        ("eaten", p.eaten.clone()),
        ("food_in_root_zone", p.food_in_root_zone.clone()),
        ("bloom_from", p.bloom_from.clone().unwrap_or_default()),
        ("bloom_to", p.bloom_to.clone().unwrap_or_default()),
        ("in_bloom", if p.in_bloom { "yes".into() } else { String::new() }),
        ("harvest_from", p.harvest_from.clone().unwrap_or_default()),
        ("harvest_to", p.harvest_to.clone().unwrap_or_default()),
        ("harvest_on", p.harvest_on.map_or_else(String::new, |d| d.to_string())),
        ("treatment", treatment),
        ("planned_rate", p.planned_rate.map_or_else(String::new, |r| r.normalize().to_string())),
        ("first_wanted", p.first_wanted.map_or_else(String::new, |d| d.to_string())),
    ]);
    for (name, value) in measure::fields(p) {
        form.set(name, value);
    }
    form
}

/// GET /sites/{id}/plants/new
pub async fn new_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(site): Path<Uuid>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let site = sites::door(&mut conn, &actor, site).await?;
    let mut form = Form::for_new();
    for (name, value) in
        [("count", "1"), ("eaten", "unknown"), ("food_in_root_zone", "unknown"), ("ground_unit", "sqft")]
    {
        form.set(name, value);
    }
    Ok(edit_page(&mut conn, &actor, form, None, site).await?.into_response())
}

/// POST /sites/{id}/plants
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Path(site): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let site = sites::door(&mut *state.pool.acquire().await?, &actor, site).await?;
    let id = form.id()?;
    let new = read(&mut form, id, site.id);
    if form.is_good() {
        match verbs::create(&actor.doer(), &new).await {
            Ok(()) => {
                return Ok(session::done(&state, &format!("/sites/{}", site.id), "The plant is entered."));
            }
            Err(e) => form.absorb_new(e, &format!("/plants/{id}"))?,
        }
    }
    let again = edit_page(&mut *state.pool.acquire().await?, &actor, form, None, site).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// GET /plants/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let (plant, site) = super::door(&mut conn, &actor, id).await?;
    Ok(edit_page(&mut conn, &actor, filled(&plant).remembered(), Some(id), site).await?.into_response())
}

/// POST /plants/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let (was, site) = super::door(&mut conn, &actor, id).await?;
    let now = read(&mut form, id, site.id);
    let offered = treatments(&mut conn, "").await?;
    drop(conn);
    let words = |field: &str, value: &str| {
        let chosen = offered.iter().find(|(choice, _)| choice == value).map(|(_, words)| words.as_str());
        let other = if value.is_empty() { "" } else { "a use that is no longer offered" };
        (field == "treatment").then(|| chosen.unwrap_or(other).to_owned())
    };
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), words) {
        match verbs::change(&actor.doer(), &was, &now).await {
            Ok(()) => return Ok(session::done(&state, &format!("/plants/{id}"), "Changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    let again = edit_page(&mut *state.pool.acquire().await?, &actor, form, Some(id), site).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}
