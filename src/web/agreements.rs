//! Agreements and prices of a site, and what its next treatment costs by them.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    pour,
    session::{self, Actor},
    sites, words,
};
use crate::{
    actions::agreement as verbs,
    db::{
        agreement::{self, Agreement, Line, Next},
        customer::{self, Customer},
        plant,
        site::Site,
    },
    domain::{
        agreement::{PlantPrice, PriceBasis},
        quantity::{fixed_half_up, from_decimal, plain},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

const AT: &str = "/sites";
/// Parts of a cent are enough for a foot or an inch.
const DECIMALS: u32 = 4;

/// A plant of the next treatment.
pub(super) struct PricedRow {
    pub id: Uuid,
    pub name: String,
    pub due: NaiveDate,
    /// No day is in sight; `due` is the day it was wanted.
    pub held: bool,
    pub how: String,
    pub amount: String,
}

/// The next treatment in words.
pub(super) struct NextView {
    pub renewal_on: NaiveDate,
    pub protected_until: Option<NaiveDate>,
    pub rows: Vec<PricedRow>,
    pub whole: Option<(String, String)>,
    pub total: Option<String>,
    pub known: String,
}

/// `$1.375 per foot of height`
pub(super) fn price_words(price: Decimal, basis: PriceBasis) -> String {
    format!("{} per {}", dollars(price), basis.words())
}

/// `$4.50`, `$0.375`: never fewer than two decimals.
pub(super) fn dollars(price: Decimal) -> String {
    let short = price.normalize();
    if short.scale() > 2 {
        return format!("${short}");
    }
    format!("${}", fixed_half_up(&from_decimal(short), 2))
}

/// What a plant's price is made of.
pub(super) fn how(price: &PlantPrice) -> (String, String) {
    match price {
        PlantPrice::Amount { basis, price, times, amount } => {
            let each = crate::domain::quantity::to_decimal(price).map_or_else(|| plain(price), dollars);
            let counted = match basis {
                PriceBasis::Foot => format!("{} ft at {each}", shown(times)),
                PriceBasis::Inch => format!("{} in at {each}", shown(times)),
                PriceBasis::Plant => format!("{} at {each}", shown(times)),
                PriceBasis::Visit | PriceBasis::Year => format!("{each} per {}", basis.words()),
            };
            (counted, amount.words())
        }
        PlantPrice::Within(basis) => (format!("within the price of the {}", basis.words()), String::new()),
        PlantPrice::Unknown(why) => (why.to_string(), "not known".to_owned()),
    }
}

/// A trunk that was reckoned from its girth has no end of decimals.
fn shown(times: &crate::domain::quantity::Exact) -> String {
    let text = plain(times);
    if text.len() > 8 { fixed_half_up(times, 2) } else { text }
}

impl NextView {
    pub(super) fn of(next: &Next) -> Self {
        let row = |(plant, price): (&agreement::NextPlant, &PlantPrice)| {
            let (how, amount) = how(price);
            PricedRow {
                id: plant.plant_id,
                name: plant.words(),
                due: plant.list_on,
                held: plant.due_on.is_none(),
                how,
                amount,
            }
        };
        let whole = next.quote.whole.as_ref();
        Self {
            renewal_on: next.renewal_on,
            protected_until: next.protected_until,
            rows: next.plants.iter().zip(&next.quote.plants).map(row).collect(),
            whole: whole.map(|(basis, sum)| (format!("The {}", basis.words()), sum.words())),
            total: next.quote.total.as_ref().map(crate::domain::money::Money::words),
            known: next.quote.known.words(),
        }
    }
}

/// An agreement of the list.
struct Row {
    line: Line,
    price: String,
    state: (&'static str, &'static str),
    /// Its year in which today lies.
    year: Option<(NaiveDate, NaiveDate)>,
    /// Why it ended, its days as people here write them.
    ended: String,
    /// It may still be ended.
    open: bool,
}

#[derive(Template, WebTemplate)]
#[template(path = "agreement/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    site: Site,
    customer: Customer,
    next: Option<NextView>,
    rows: Vec<Row>,
    plants: Vec<(String, String)>,
    bases: Vec<(&'static str, &'static str)>,
}

#[derive(Template, WebTemplate)]
#[template(path = "agreement/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    agreement: Agreement,
    bases: Vec<(&'static str, &'static str)>,
}

fn bases() -> Vec<(&'static str, &'static str)> {
    PriceBasis::ALL.iter().map(|basis| (basis.code(), basis.words())).collect()
}

fn row(line: Line, today: NaiveDate) -> Row {
    let terms = line.agreement.terms();
    let state = match &line.agreement {
        a if a.ends_on.is_some_and(|end| end < today) => ("off", "Ended"),
        a if a.starts_on > today => ("soon", "To come"),
        _ => ("done", "In force"),
    };
    let year = (state.0 == "done").then(|| terms.year_of(today)).flatten();
    let price = price_words(line.agreement.price, line.agreement.basis);
    let ended = words::sentence(&line.agreement.ended_reason);
    Row { price, state, year, ended, open: line.agreement.ends_on.is_none_or(|end| end >= today), line }
}

async fn page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ListPage> {
    let mut conn = state.pool.acquire().await?;
    let site = sites::door(&mut conn, actor, id).await?;
    let customer = customer::find(&mut conn, site.customer_id).await?.ok_or(Error::NotFound)?;
    let next = agreement::next(&mut conn, id, actor.today).await?;
    let rows = agreement::of_site(&mut conn, id).await?;
    let plants = plant::of_site(&mut conn, id).await?;
    let name = |l: &plant::Line| format!("{}, {}", l.plant.host_plant, l.plant.place);
    let in_use = plants.iter().filter(|l| l.plant.retired_at.is_none());
    Ok(ListPage {
        page: Page::of(actor, "Agreements and prices", AT),
        form,
        next: next.as_ref().map(NextView::of),
        rows: rows.into_iter().map(|line| row(line, actor.today)).collect(),
        plants: in_use.map(|l| (l.plant.id.to_string(), name(l))).collect(),
        bases: bases(),
        site,
        customer,
    })
}

/// GET /sites/{id}/agreements
pub async fn list(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut form = Form::for_new();
    form.set("starts_on", actor.today.to_string());
    Ok(page(&state, &actor, id, form).await?.into_response())
}

fn read(form: &mut Form, base: Agreement) -> Agreement {
    let basis = form.choice("basis", PriceBasis::from_code);
    if form.value("price").is_empty() {
        form.fail("price", "Please fill this in.");
    }
    let price = form.not_negative("price");
    if let Some(price) = price {
        if price > Decimal::from(1_000_000) {
            form.fail("price", "This price is out of range.");
        } else if price.normalize().scale() > DECIMALS {
            form.fail("price", "Use at most four decimals of a dollar.");
        }
    }
    let starts_on = form.required_date("starts_on");
    Agreement {
        basis: basis.unwrap_or(PriceBasis::Visit),
        price: price.unwrap_or_default().normalize(),
        starts_on: starts_on.unwrap_or_default(),
        ends_on: form.date("ends_on"),
        note: form.text("note"),
        ..base
    }
}

/// POST /sites/{id}/agreements
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    sites::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let plant_id = form.optional::<Uuid>("plant", "Please choose one of these.");
    let base = Agreement {
        id: form.id()?,
        site_id: id,
        plant_id,
        basis: PriceBasis::Visit,
        price: Decimal::ZERO,
        starts_on: actor.today,
        ends_on: None,
        ended_reason: String::new(),
        note: String::new(),
    };
    let new = read(&mut form, base);
    let at = format!("/sites/{id}/agreements");
    if form.is_good() {
        match verbs::enter(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, &at, "The agreement is entered.")),
            Err(e) => form.absorb_new(e, &at)?,
        }
    }
    say_days(&mut form);
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, id, form).await?).into_response())
}

/// Days in a refusal as people here write them.
fn say_days(form: &mut Form) {
    for one in &mut form.errors {
        one.message = words::sentence(&one.message);
    }
}

async fn agreement(state: &AppState, actor: &Actor, id: Uuid) -> Result<Agreement> {
    let mut conn = state.pool.acquire().await?;
    let found = agreement::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    sites::door(&mut conn, actor, found.site_id).await?;
    Ok(found)
}

fn filled(a: &Agreement) -> Form {
    Form::filled([
        ("basis", a.basis.code().to_owned()),
        ("price", pour::number(a.price)),
        ("starts_on", a.starts_on.to_string()),
        ("ends_on", a.ends_on.map(|day| day.to_string()).unwrap_or_default()),
        ("note", a.note.clone()),
    ])
}

fn edit_page(actor: &Actor, form: Form, agreement: Agreement) -> EditPage {
    EditPage { page: Page::of(actor, "Change an agreement", AT), form, agreement, bases: bases() }
}

/// GET /agreements/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let found = agreement(&state, &actor, id).await?;
    Ok(edit_page(&actor, filled(&found).remembered(), found).into_response())
}

/// POST /agreements/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = agreement(&state, &actor, id).await?;
    let mut now = read(&mut form, was.clone());
    if now.ends_on.is_none() {
        now.ended_reason.clear();
    }
    let basis = |name: &str, value: &str| {
        (name == "basis").then(|| PriceBasis::from_code(value).map_or("", PriceBasis::words).to_owned())
    };
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), basis) {
        match verbs::change(&actor.doer(), &was, &now).await {
            Ok(()) => {
                let at = format!("/sites/{}/agreements", was.site_id);
                return Ok(session::done(&state, &at, "The agreement is changed."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    say_days(&mut form);
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, was)).into_response())
}

/// POST /agreements/{id}/ends
pub async fn end(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = agreement(&state, &actor, id).await?;
    let (on, reason) = (form.required_date("ends_on"), form.required_line("reason"));
    if let (Some(on), true) = (on, form.is_good()) {
        match verbs::end(&actor.doer(), id, on, &reason).await {
            Ok(()) => {
                let at = format!("/sites/{}/agreements", was.site_id);
                return Ok(session::done(&state, &at, "The agreement ends on that day."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    // What was typed stands in the form of changing, where the last day can be mended as well.
    let mut again = filled(&was).remembered();
    again.set("ends_on", form.value("ends_on").to_owned());
    again.errors = form.errors;
    for one in &mut again.errors {
        if one.name == "reason" {
            one.name = "form".to_owned();
            one.message = "Say why it ends.".to_owned();
        }
    }
    say_days(&mut again);
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, again, was)).into_response())
}
