//! Writing a record without a visit, and amending or withdrawing one.
use super::{
    AT, changes, door,
    rows::{self, Row},
};
use crate::{
    actions::record::{self as verbs, Amendment, Stop},
    db::{
        Conn,
        record::{self, Head, Named, Place, Planted, Version},
    },
    texts::Language,
    web::{
        AppState, Error, Result, band,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
        visits::{WINDS, outcome, weather},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;
use uuid::Uuid;

/// Each with the name of its text.
const ORIGINS: [(&str, &str); 2] = [("own", "record-us"), ("other-company", "record-them")];

#[derive(Template, WebTemplate)]
#[template(path = "record/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    /// The record that is amended; none yet when it is new.
    amends: Option<(Uuid, i32)>,
    address: String,
    site: Uuid,
    rows: Vec<Row>,
    plants: Vec<(String, String)>,
    uses: Vec<(String, String)>,
    units: Vec<(&'static str, String)>,
    water_units: Vec<(&'static str, String)>,
    people: Vec<(String, String)>,
    supervisors: Vec<(String, String)>,
    winds: Vec<(&'static str, String)>,
    origins: [(&'static str, String); 2],
    /// What was recorded under this form's id already.
    already: Option<String>,
}

/// Where the record is, for its form.
struct Where {
    site: Uuid,
    state: String,
    address: String,
    amends: Option<(Uuid, i32)>,
}

impl From<&Place> for Where {
    fn from(p: &Place) -> Self {
        Self { site: p.site_id, state: p.state.clone(), address: p.site_address.clone(), amends: None }
    }
}

impl From<&Version> for Where {
    fn from(v: &Version) -> Self {
        let h = &v.head;
        Self {
            site: h.site_id,
            state: h.site_state.clone(),
            address: h.site_address.clone(),
            amends: Some((h.id, h.version)),
        }
    }
}

async fn edit_page(conn: &mut Conn, actor: &Actor, form: Form, at: Where) -> Result<EditPage> {
    let on: NaiveDate = form.value("on").parse().unwrap_or(actor.today);
    let people = record::people_on(conn, &at.state, on).await?;
    let plants = record::plants(conn, at.site).await?;
    let title = if at.amends.is_some() { "Amend a record" } else { "Record an application" };
    let language = actor.reads();
    let form = form.speaking(language);
    let choice = |choice: &record::Choice| rows::use_choice(language, choice);
    let mut uses: Vec<(String, String)> = record::choices(conn).await?.iter().map(choice).collect();
    // A record of an older label names that label's use, which the choices of today do not hold.
    for row in rows::rows(&form) {
        let value = form.value(&row.label_use);
        if let (Ok(id), false) = (value.parse(), uses.iter().any(|(known, _)| known == value))
            && let Some(older) = record::choice_of(conn, id).await?
        {
            uses.push(choice(&older));
        }
    }
    Ok(EditPage {
        page: Page::of(actor, title, AT),
        rows: rows::rows(&form),
        already: form.error("id").map(|_| form.value("id").to_owned()),
        form,
        amends: at.amends,
        address: at.address,
        site: at.site,
        plants: plants.iter().map(|plant| rows::plant_choice(language, plant)).collect(),
        uses,
        units: rows::units(language),
        water_units: rows::water_units(language),
        people: people.iter().map(|p| (p.id.to_string(), p.name.clone())).collect(),
        supervisors: people.iter().filter(|p| !p.number.is_empty()).map(with_number).collect(),
        winds: WINDS.map(|from| (from, wind(language, from))).to_vec(),
        origins: ORIGINS.map(|(code, name)| (code, language.say(name))),
    })
}

/// Where the wind came from, as a line to choose.
fn wind(language: Language, from: &str) -> String {
    if from == "calm" { language.say("record-calm") } else { changes::wind(language, from) }
}

fn with_number(person: &Named) -> (String, String) {
    (person.id.to_string(), format!("{}, {}", person.name, person.number))
}

/// What the address of a new record names.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    site: String,
    plant: String,
}

/// GET /records/new?site=..&plant=..
pub async fn new_form(
    State(state): State<AppState>,
    actor: Actor,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let site = ask.site.parse().map_err(|_| Error::NotFound)?;
    let place = record::place(&mut conn, site).await?.ok_or(Error::NotFound)?;
    let mut form = Form::for_new();
    form.set("site", site.to_string());
    form.set("on", actor.today.to_string());
    form.set("rows", "1");
    if ask.plant.parse::<Uuid>().is_ok() {
        form.set("plant-0", ask.plant);
    }
    Ok(edit_page(&mut conn, &actor, form, Where::from(&place)).await?.into_response())
}

/// POST /records
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let site: Uuid = form.value("site").parse().map_err(|_| Error::NotFound)?;
    let place = record::place(&mut conn, site).await?.ok_or(Error::NotFound)?;
    if one_more_row(&mut form) {
        return Ok(edit_page(&mut conn, &actor, form, Where::from(&place)).await?.into_response());
    }
    let plants = record::plants(&mut conn, site).await?;
    drop(conn);
    let id = form.id()?;
    let (stop, applied) = (read_stop(&mut form), rows::read(&mut form, &plants));
    if form.is_good() {
        let fields = rows::asked(&form);
        band::ask(&actor, (site, stop.on), &applied, &fields, &mut form).await?;
    }
    if form.is_good() {
        match verbs::enter(&actor.doer(), actor.today, id, site, &stop, &applied).await {
            Ok(broken) => {
                return Ok(session::done(
                    &state,
                    &format!("/records/{id}"),
                    &outcome(Language::English, broken),
                ));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let mut conn = state.pool.acquire().await?;
    let page = edit_page(&mut conn, &actor, form, Where::from(&place)).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// The button that asks for a further row; nothing is written then.
fn one_more_row(form: &mut Form) -> bool {
    if form.value("step") != "row" {
        return false;
    }
    let more = rows::rows(form).len() + 1;
    form.set("rows", more.to_string());
    true
}

/// The newest version of a record that this person may amend.
async fn amendable(conn: &mut Conn, actor: &Actor, id: Uuid) -> Result<Version> {
    door(conn, actor, id).await?;
    let own = record::applicator_of(conn, id).await?.contains(&actor.id);
    if !actor.role.may_amend(own) {
        return Err(Error::NotFound);
    }
    record::newest(conn, id).await?.ok_or(Error::NotFound)
}

/// GET /records/{id}/amendments
pub async fn amend_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let now = amendable(&mut conn, &actor, id).await?;
    let mut form = filled(&now.head);
    rows::fill(&mut form, &now.items);
    Ok(edit_page(&mut conn, &actor, form, Where::from(&now)).await?.into_response())
}

fn filled(h: &Head) -> Form {
    let time = |t: Option<chrono::NaiveTime>| t.map(|t| t.format("%H:%M").to_string()).unwrap_or_default();
    let number = |d: Option<rust_decimal::Decimal>| d.map(crate::web::pour::number).unwrap_or_default();
    let id = |id: Option<Uuid>| id.map(|id| id.to_string()).unwrap_or_default();
    let other = |text: &str| if h.applicator_id.is_none() { text.to_owned() } else { String::new() };
    Form::filled([
        ("id", h.id.to_string()),
        ("version", h.version.to_string()),
        ("origin", h.origin.clone()),
        ("on", h.applied_on.to_string()),
        ("started_at", time(h.started_at)),
        ("finished_at", time(h.finished_at)),
        ("applicator", id(h.applicator_id)),
        ("other_name", other(&h.applicator_name)),
        ("other_certification", other(&h.applicator_certification)),
        ("supervisor", id(h.supervisor_id)),
        ("wind_direction", h.wind_direction.clone()),
        ("wind_mph", number(h.wind_mph)),
        ("temperature_f", number(h.temperature_f)),
        ("area_treated_sqft", number(h.area_treated_sqft)),
        ("note", h.note.clone()),
    ])
}

/// POST /records/{id}/amendments : amends, or with `step=withdraw` withdraws.
pub async fn amend(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let now = amendable(&mut conn, &actor, id).await?;
    if one_more_row(&mut form) {
        return Ok(edit_page(&mut conn, &actor, form, Where::from(&now)).await?.into_response());
    }
    let plants = record::plants(&mut conn, now.head.site_id).await?;
    drop(conn);
    let amendment = read_amendment(&mut form, &plants);
    if let (true, Some((stop, applied))) = (form.is_good(), &amendment.contents) {
        let fields = rows::asked(&form);
        band::ask(&actor, (now.head.site_id, stop.on), applied, &fields, &mut form).await?;
    }
    if form.is_good() {
        match verbs::amend(&actor.doer(), actor.today, id, &amendment).await {
            Ok(broken) => {
                let words = match (amendment.contents.is_none(), broken) {
                    (true, _) => form.say("record-gone"),
                    (false, 0) => form.say("record-amended-so"),
                    (false, broken) => form.language.say_of("record-amended-broken", "count", broken),
                };
                return Ok(session::done(&state, &format!("/records/{id}"), &words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let mut conn = state.pool.acquire().await?;
    let page = edit_page(&mut conn, &actor, form, Where::from(&now)).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

fn read_amendment(form: &mut Form, plants: &[Planted]) -> Amendment {
    let reason = form.required("reason");
    let version = form.optional("version", "The form names no version.").unwrap_or_default();
    let withdraws = form.value("step") == "withdraw";
    let contents = (!withdraws).then(|| (read_stop(form), rows::read(form, plants)));
    Amendment { version, reason, contents }
}

fn read_stop(form: &mut Form) -> Stop {
    let origin =
        form.choice("origin", |text| ORIGINS.iter().find(|(code, _)| *code == text).map(|(code, _)| *code));
    let own = origin == Some("own");
    let applicator = if own { form.choice("applicator", |text| text.parse::<Uuid>().ok()) } else { None };
    let other = |form: &mut Form, name: &str| if own { String::new() } else { form.text(name) };
    Stop {
        origin: origin.unwrap_or_default().to_owned(),
        on: form.required_date("on").unwrap_or_default(),
        applicator,
        other_name: other(form, "other_name"),
        other_certification: other(form, "other_certification"),
        supervisor: if own { form.optional("supervisor", "Choose one of these people.") } else { None },
        ..weather(form)
    }
}
