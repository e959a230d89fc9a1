//! One use of a draft: method, rate, water, protection and the limits that the label sets.
use super::{AT, draft::some_amount, view::door, words};
use crate::{
    actions::label as verbs,
    db::{
        label::{self, Label, Use},
        product::Product,
    },
    domain::{calendar::MonthDay, label::MeasureBasis},
    web::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        seen,
        session::{self, Actor},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use rust_decimal::Decimal;
use uuid::Uuid;

#[derive(Template, WebTemplate)]
#[template(path = "label/use.html")]
struct UsePage {
    page: Page,
    label: Label,
    form: Form,
    action: String,
    /// The use being changed; none yet when adding one.
    id: Option<Uuid>,
    methods: words::Choices,
    measures: words::Choices,
    rate_units: words::Choices,
    water_units: words::Choices,
    periods: words::Choices,
}

fn use_page(actor: &Actor, of: &Product, label: Label, form: Form, id: Option<Uuid>) -> UsePage {
    let verb = if id.is_some() { "change a use" } else { "add a use" };
    UsePage {
        page: Page::of(actor, format!("{}: {verb}", of.name), "/products"),
        action: match id {
            Some(id) => format!("/label-uses/{id}"),
            None => format!("{AT}/{}/uses", label.version.id),
        },
        label,
        form,
        id,
        methods: words::methods(),
        measures: words::measures(),
        rate_units: words::rate_units(of.kind()),
        water_units: words::water_units(),
        periods: words::periods(),
    }
}

/// What the form says, its mistakes noted at their fields.
fn read(form: &mut Form, id: Uuid, version: Uuid, of: &Product) -> Use {
    let chosen = |form: &mut Form, name: &str, of: words::Choices| {
        form.choice(name, |code| words::chosen(&of, code)).unwrap_or_default()
    };
    let (code, name) = (read_code(form), form.required("name"));
    let method = chosen(form, "method", words::methods());
    let measure = chosen(form, "measure", words::measures());
    let (rate_low, rate_high) = (some_amount(form, "rate_low"), some_amount(form, "rate_high"));
    in_order(form, "rate_high", rate_low, rate_high);
    let rate_unit = chosen(form, "rate_unit", words::rate_units(of.kind()));
    let (water_low, water_high, water_unit) = read_water(form);
    let rate_per = read_per(form, &measure);
    let (season_from, season_to) = read_season(form, "season_from", "season_to");
    let (season2_from, season2_to) = read_season(form, "season2_from", "season2_to");
    if season_from.is_none() && season2_from.is_some() && form.error("season_from").is_none() {
        form.fail("season_from", "Write the first season here, then the second.");
    }
    let covers_food = form.value("covers_food") == "yes";
    let preharvest_days = whole(form, "preharvest_days", 0);
    if covers_food && form.value("preharvest_days").is_empty() {
        form.fail(
            "preharvest_days",
            "A use on food plants has its days before harvest; 0 if the label says so.",
        );
    }
    Use {
        id,
        label_version_id: version,
        code,
        name,
        hosts: form.text("hosts"),
        pests: form.text("pests"),
        method,
        measure,
        rate_low: rate_low.unwrap_or_default(),
        rate_high: rate_high.unwrap_or_default(),
        rate_unit,
        rate_per,
        water_low,
        water_high,
        water_unit,
        protection_value: needed(form, "protection_value", 1).unwrap_or_default(),
        protection_unit: chosen(form, "protection_unit", words::periods()),
        uptake_days: needed(form, "uptake_days", 0).unwrap_or_default(),
        min_interval_days: whole(form, "min_interval_days", 0).unwrap_or_default(),
        max_per_year: whole(form, "max_per_year", 1),
        season_from,
        season_to,
        season2_from,
        season2_to,
        barred_in_bloom: form.is("barred_in_bloom", "yes"),
        bloom_lead_days: read_lead(form),
        covers_food,
        preharvest_days: preharvest_days.filter(|_| covers_food),
        foliar_rest_days: whole(form, "foliar_rest_days", 0),
        no_group_repeat: form.is("no_group_repeat", "yes"),
    }
}

/// For how many feet, inches and so on the label states its rate; empty: for one.
fn read_per(form: &mut Form, measure: &str) -> Decimal {
    let per = form.positive("rate_per").unwrap_or(Decimal::ONE).normalize();
    if per != Decimal::ONE && MeasureBasis::from_code(measure).is_some_and(MeasureBasis::is_count) {
        form.fail("rate_per", "A rate by plant or container is stated for one of them.");
    }
    per
}

/// Days before bloom, which only a bloom rule has.
fn read_lead(form: &mut Form) -> Option<i32> {
    let days = whole(form, "bloom_lead_days", 0)?;
    if days > 366 {
        form.fail("bloom_lead_days", "This is more than a year.");
    }
    if !form.is("barred_in_bloom", "yes") {
        form.fail("bloom_lead_days", "Tick that the use is barred in bloom, or leave this empty.");
    }
    Some(days).filter(|days| *days > 0)
}

fn read_code(form: &mut Form) -> String {
    let code = form.required("code").to_lowercase().replace(' ', "-");
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if !code.is_empty() && !code.chars().all(plain) {
        form.fail("code", "Use letters, digits and dashes only, for example shrub-drench.");
    }
    code
}

fn in_order(form: &mut Form, name: &str, low: Option<Decimal>, high: Option<Decimal>) {
    if low.zip(high).is_some_and(|(low, high)| high < low) {
        form.fail(name, "The highest is below the lowest.");
    }
}

/// All of the water, or none.
fn read_water(form: &mut Form) -> (Option<Decimal>, Option<Decimal>, Option<String>) {
    let parts = ["water_low", "water_high"];
    if parts.iter().all(|p| form.value(p).is_empty()) {
        return (None, None, None);
    }
    for part in parts {
        if form.value(part).is_empty() {
            form.fail(part, "Give both ends; the same twice if the label gives one figure.");
        }
    }
    let (low, high) = (form.not_negative("water_low"), form.not_negative("water_high"));
    in_order(form, "water_high", low, high);
    let units = words::water_units();
    let unit = form.choice("water_unit", |code| words::chosen(&units, code));
    (low, high, unit)
}

/// Both ends of a season, or none.
fn read_season(form: &mut Form, first: &str, last: &str) -> (Option<String>, Option<String>) {
    let mut day = |name: &str, other: &str| {
        let typed = form.value(name).to_owned();
        if typed.is_empty() {
            if !form.value(other).is_empty() {
                form.fail(name, "A season has a first and a last day.");
            }
            return None;
        }
        let read = MonthDay::parse(&typed);
        if read.is_none() {
            form.fail(name, "Write month and day as 04-15.");
        }
        read.map(MonthDay::code)
    };
    (day(first, last), day(last, first))
}

/// A whole number from `least` to ten thousand; empty is nothing.
fn whole(form: &mut Form, name: &str, least: i32) -> Option<i32> {
    let number = form.optional::<i32>(name, "Write a whole number.")?;
    if !(least..=10_000).contains(&number) {
        form.fail(name, format!("This must be a whole number from {least} to 10000."));
        return None;
    }
    Some(number)
}

fn needed(form: &mut Form, name: &str, least: i32) -> Option<i32> {
    if form.value(name).is_empty() {
        form.fail(name, "Please fill this in.");
    }
    whole(form, name, least)
}

/// The form as the use fills it.
fn filled(u: &Use) -> Form {
    let number = |d: Option<Decimal>| d.map(words::number).unwrap_or_default();
    let count = |n: Option<i32>| n.map(|n| n.to_string()).unwrap_or_default();
    let ticked = |on: bool| if on { "yes".to_owned() } else { String::new() };
    Form::filled([
        ("code", u.code.clone()),
        ("name", u.name.clone()),
        ("hosts", u.hosts.clone()),
        ("pests", u.pests.clone()),
        ("method", u.method.clone()),
        ("measure", u.measure.clone()),
        ("rate_low", words::number(u.rate_low)),
        ("rate_high", words::number(u.rate_high)),
        ("rate_unit", u.rate_unit.clone()),
        ("rate_per", if u.rate_per == Decimal::ONE { String::new() } else { words::number(u.rate_per) }),
        ("water_low", number(u.water_low)),
        ("water_high", number(u.water_high)),
        ("water_unit", u.water_unit.clone().unwrap_or_default()),
        ("protection_value", u.protection_value.to_string()),
        ("protection_unit", u.protection_unit.clone()),
        ("uptake_days", u.uptake_days.to_string()),
        ("min_interval_days", u.min_interval_days.to_string()),
        ("max_per_year", count(u.max_per_year)),
        ("season_from", u.season_from.clone().unwrap_or_default()),
        ("season_to", u.season_to.clone().unwrap_or_default()),
        ("season2_from", u.season2_from.clone().unwrap_or_default()),
        ("season2_to", u.season2_to.clone().unwrap_or_default()),
        ("bloom_lead_days", count(u.bloom_lead_days)),
        ("foliar_rest_days", count(u.foliar_rest_days)),
        ("no_group_repeat", ticked(u.no_group_repeat)),
        ("barred_in_bloom", ticked(u.barred_in_bloom)),
        ("covers_food", ticked(u.covers_food)),
        ("preharvest_days", count(u.preharvest_days)),
    ])
}

/// A draft that may still change.
async fn draft(state: &AppState, actor: &Actor, id: Uuid) -> Result<(Product, Label)> {
    let (of, label) = door(state, actor, id).await?;
    if label.version.is_draft() { Ok((of, label)) } else { Err(Error::Refused(verbs::SIGNED.to_owned())) }
}

/// The draft that a use belongs to.
async fn draft_of_use(state: &AppState, actor: &Actor, id: Uuid) -> Result<(Product, Label)> {
    let version = label::use_version(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    draft(state, actor, version).await
}

/// GET /label-versions/{id}/uses/new
pub async fn new_use_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let (of, label) = draft(&state, &actor, id).await?;
    Ok(use_page(&actor, &of, label, Form::for_new(), None).into_response())
}

/// POST /label-versions/{id}/uses
pub async fn add_use(
    State(state): State<AppState>,
    actor: Actor,
    Path(version): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (of, label) = draft(&state, &actor, version).await?;
    let id = form.id()?;
    let new = read(&mut form, id, version, &of);
    if form.is_good() {
        match verbs::add_use(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, &format!("{AT}/{version}"), "The use is added.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, use_page(&actor, &of, label, form, None)).into_response())
}

/// GET /label-uses/{id}/edit
pub async fn edit_use_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let (of, label) = draft_of_use(&state, &actor, id).await?;
    let form = filled(label.uses.iter().find(|u| u.id == id).ok_or(Error::NotFound)?).remembered();
    Ok(use_page(&actor, &of, label, form, Some(id)).into_response())
}

/// POST /label-uses/{id}
pub async fn change_use(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (of, label) = draft_of_use(&state, &actor, id).await?;
    let version = label.version.id;
    let was = label.uses.iter().find(|u| u.id == id).cloned().ok_or(Error::NotFound)?;
    let to = read(&mut form, id, version, &of);
    if form.is_good() && form.is_current(&filled(&was), &filled(&to), seen::as_they_are) {
        match verbs::change_use(&actor.doer(), &was, &to).await {
            Ok(()) => return Ok(session::done(&state, &format!("{AT}/{version}"), "The use is changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, use_page(&actor, &of, label, form, Some(id))).into_response())
}

/// POST /label-versions/{id}/uses/{use_id}/removals
pub async fn remove_use(
    State(state): State<AppState>,
    actor: Actor,
    Path((version, id)): Path<(Uuid, Uuid)>,
    _form: Posted,
) -> Result<Response> {
    verbs::remove_use(&actor.doer(), version, id).await?;
    Ok(session::done(&state, &format!("{AT}/{version}"), "The use is taken out of the draft."))
}
