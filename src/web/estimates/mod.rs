//! Estimates: making one from measured plants, reading it, as paper, accepting and withdrawing it.
mod paper;

pub(super) use paper::said;

use super::{
    AppState, Error, Result,
    agreements::{dollars, price_words},
    form::{Form, Posted},
    page::Page,
    pour,
    price_list::read_price,
    session::{self, Actor},
    sites,
    visits::field::{self, Label},
    words,
};
use crate::web::files;
use crate::{
    actions::{
        estimate::{self as verbs, Asked, rate_field},
        evidence,
    },
    db::{
        Conn,
        estimate::{self, Cost, Estimate, Line},
        plant, price_list,
        site::Site,
    },
    domain::{
        agreement::PriceBasis,
        calendar::add_days,
        estimate::{Pricing, Rates, margin},
        money::Money,
        quantity::{fixed_half_up, from_decimal},
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
use serde_json::json;
use uuid::Uuid;

const AT: &str = "/sites";
/// An estimate stands for so long unless another day is typed.
const STANDS_DAYS: u32 = 30;
const WAYS: [(&str, &str); 4] = [
    ("by-size", "By size: the inch of trunk, else the foot of height"),
    ("plant", "By the plant"),
    ("visit", "One sum for the visit"),
    ("year", "One sum for the year"),
];

/// An estimate of the list.
struct Row {
    one: Estimate,
    total: String,
    state: (&'static str, &'static str),
}

#[derive(Template, WebTemplate)]
#[template(path = "estimate/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    site: Site,
    rows: Vec<Row>,
    plants: Vec<(String, String)>,
    ways: [(&'static str, &'static str); 4],
}

/// What is left for the company: its owner's matter.
struct MarginView {
    products: String,
    time: String,
    minutes: i32,
    left: String,
    lacks: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "estimate/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    one: Estimate,
    lines: Vec<LineView>,
    whole: Option<String>,
    total: String,
    state: (&'static str, &'static str),
    open: bool,
    labels: Vec<Label>,
    margin: Option<MarginView>,
}

/// A plant of an estimate in words.
struct LineView {
    plant: String,
    planned: String,
    counted: String,
    price: String,
    amount: String,
}

fn state_of(one: &Estimate, today: NaiveDate) -> (&'static str, &'static str) {
    match one {
        e if e.withdrawn_at.is_some() => ("off", "Withdrawn"),
        e if e.accepted_at.is_some() => ("done", "Accepted"),
        e if e.valid_until < today => ("off", "Run out"),
        _ => ("soon", "Open"),
    }
}

fn money(value: Decimal) -> String {
    Money::rounded(&from_decimal(value)).words()
}

fn line_view(line: &Line) -> LineView {
    LineView {
        plant: line.plant.clone(),
        planned: line.planned.clone(),
        counted: line.counted.clone(),
        price: price_words(line.price, line.basis),
        amount: line.amount.map(money).unwrap_or_default(),
    }
}

fn margin_view(total: Decimal, cost: &Cost) -> MarginView {
    let known = |value: Option<Decimal>| value.map_or_else(|| "not known".to_owned(), money);
    let exact = |value: Decimal| Money::rounded(&from_decimal(value));
    let left = cost.product_cost.zip(cost.time_cost).map(|(products, time)| {
        let (left, share) = margin(&exact(total), &(exact(products) + exact(time)));
        let share = share.map_or_else(String::new, |s| format!(", {} % of the price", fixed_half_up(&s, 1)));
        format!("{}{share}", left.words())
    });
    MarginView {
        products: known(cost.product_cost),
        time: known(cost.time_cost),
        minutes: cost.minutes,
        left: left.unwrap_or_else(|| "cannot be told while a part of the cost is not known".to_owned()),
        lacks: cost.cost_lacks.clone(),
    }
}

async fn list_page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ListPage> {
    let mut conn = state.pool.acquire().await?;
    let site = sites::door(&mut conn, actor, id).await?;
    let rows = estimate::of_site(&mut conn, id).await?;
    let plants = plant::of_site(&mut conn, id).await?;
    let row = |one: Estimate| Row { total: money(one.total), state: state_of(&one, actor.today), one };
    let words = |l: &plant::Line| {
        let measure = l.plant.measure().words();
        let measure = if measure.is_empty() { "not measured".to_owned() } else { measure };
        let count = words::counted(l.plant.kind.code(), l.plant.count);
        (l.plant.id.to_string(), format!("{}, {}: {count}, {measure}", l.plant.host_plant, l.plant.place))
    };
    Ok(ListPage {
        page: Page::of(actor, "Estimates", AT),
        form,
        rows: rows.into_iter().map(row).collect(),
        plants: plants.iter().filter(|l| l.plant.retired_at.is_none()).map(words).collect(),
        ways: WAYS,
        site,
    })
}

/// GET /sites/{id}/estimates
pub async fn list(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut form = Form::for_new();
    let mut conn = state.pool.acquire().await?;
    let prices = price_list::find(&mut conn).await?;
    let known = plant::of_site(&mut conn, id).await?;
    drop(conn);
    for (basis, price) in [
        (PriceBasis::Foot, prices.foot),
        (PriceBasis::Inch, prices.inch),
        (PriceBasis::Plant, prices.plant),
        (PriceBasis::Visit, prices.visit),
        (PriceBasis::Year, prices.year),
    ] {
        form.set(rate_field(basis), price.map(pour::number).unwrap_or_default());
    }
    form.set("pricing", "by-size");
    form.set("valid_until", add_days(actor.today, STANDS_DAYS).to_string());
    let treated = known.iter().filter(|l| l.plant.retired_at.is_none() && l.plant.product_id.is_some());
    form.values.extend(treated.map(|l| ("plants".to_owned(), l.plant.id.to_string())));
    Ok(list_page(&state, &actor, id, form).await?.into_response())
}

fn read(form: &mut Form, id: Uuid, site: Uuid) -> Asked {
    let pricing = form.choice("pricing", Pricing::from_code);
    let mut named = vec![];
    for basis in PriceBasis::ALL {
        named.extend(read_price(form, rate_field(basis)).map(|price| (basis, from_decimal(price))));
    }
    let plants: Vec<Uuid> = form.values("plants").iter().filter_map(|text| text.parse().ok()).collect();
    if plants.is_empty() {
        form.fail("plants", "Choose at least one plant.");
    }
    Asked {
        id,
        site,
        plants,
        pricing: pricing.unwrap_or(Pricing::BySize),
        rates: Rates { named },
        valid_until: form.required_date("valid_until").unwrap_or_default(),
        note: form.text("note"),
    }
}

/// POST /sites/{id}/estimates
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Path(site): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    sites::door(&mut *state.pool.acquire().await?, &actor, site).await?;
    let id = form.id()?;
    let asked = read(&mut form, id, site);
    if form.is_good() {
        match verbs::make(&actor.doer(), &asked).await {
            Ok(()) => return Ok(session::done(&state, &format!("/estimates/{id}"), "The estimate is made.")),
            Err(e) => form.absorb_new(e, &format!("/estimates/{id}"))?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, list_page(&state, &actor, site, form).await?).into_response())
}

/// The estimate with its lines and what the labels say.
async fn whole(conn: &mut Conn, actor: &Actor, id: Uuid) -> Result<(Estimate, Vec<Line>, Vec<Label>)> {
    let one = estimate::find(conn, id).await?.ok_or(Error::NotFound)?;
    sites::door(conn, actor, one.site_id).await?;
    let lines = estimate::lines(conn, id).await?;
    let labels = field::labels(conn, lines.iter().filter_map(|l| l.label_version_id)).await?;
    Ok((one, lines, labels))
}

async fn page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ShowPage> {
    let mut conn = state.pool.acquire().await?;
    let (one, lines, labels) = whole(&mut conn, actor, id).await?;
    // What it costs is read for nobody but the owner.
    let margin = if actor.role.may_manage_company() {
        estimate::cost(&mut conn, id).await?.map(|cost| margin_view(one.total, &cost))
    } else {
        None
    };
    let state = state_of(&one, actor.today);
    Ok(ShowPage {
        page: Page::of(actor, format!("Estimate {}", one.number), AT),
        form,
        lines: lines.iter().map(line_view).collect(),
        whole: one.whole.map(money),
        total: money(one.total),
        open: state.1 == "Open",
        state,
        labels,
        margin,
        one,
    })
}

/// GET /estimates/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut form = Form::default();
    form.set("starts_on", actor.today.to_string());
    Ok(page(&state, &actor, id, form).await?.into_response())
}

/// GET /estimates/{id}/paper : the estimate as a PDF for the customer. What it costs the company is not in it.
pub async fn paper(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let (one, lines, labels) = whole(&mut conn, &actor, id).await?;
    evidence::exported(&actor.doer(), &mut conn, "estimate", json!({ "estimate": id })).await?;
    drop(conn);
    let name = format!("estimate-{}.pdf", one.number);
    let company = actor.company.clone();
    files::pdf(&name, move || paper::write(&company, &one, &lines, &labels)).await
}

/// POST /estimates/{id}/acceptances
pub async fn accept(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (one, _, _) = whole(&mut *state.pool.acquire().await?, &actor, id).await?;
    let starts_on = form.required_date("starts_on");
    if let Some(starts_on) = starts_on {
        match verbs::accept(&actor.doer(), id, starts_on).await {
            Ok(()) => {
                let at = format!("/sites/{}/agreements", one.site_id);
                return Ok(session::done(&state, &at, "Accepted; its prices are agreed from that day."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    for one in &mut form.errors {
        one.message = words::sentence(&one.message);
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, id, form).await?).into_response())
}

/// POST /estimates/{id}/withdrawals
pub async fn withdraw(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    whole(&mut *state.pool.acquire().await?, &actor, id).await?;
    let reason = form.required_line("reason");
    if form.is_good() {
        match verbs::withdraw(&actor.doer(), id, &reason).await {
            Ok(()) => return Ok(session::done(&state, &format!("/estimates/{id}"), "It is withdrawn.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, id, form).await?).into_response())
}
