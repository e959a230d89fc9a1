//! The company's price list and what an hour costs it, for its owner.
use super::{
    AppState, Result,
    form::{Form, Posted},
    page::Page,
    pour,
    seen::as_they_are,
    session::{self, Actor},
};
use crate::{
    actions::estimate as verbs,
    db::price_list::{self, PriceList},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Response},
};
use rust_decimal::Decimal;

#[derive(Template, WebTemplate)]
#[template(path = "company/prices.html")]
struct PricesPage {
    page: Page,
    form: Form,
}

fn page(actor: &Actor, form: Form) -> PricesPage {
    PricesPage { page: Page::of(actor, "Price list", "/people"), form }
}

fn filled(l: &PriceList) -> Form {
    let number = |value: Option<Decimal>| value.map(pour::number).unwrap_or_default();
    Form::filled([
        ("foot", number(l.foot)),
        ("inch", number(l.inch)),
        ("plant", number(l.plant)),
        ("visit", number(l.visit)),
        ("year", number(l.year)),
        ("hour_cost", number(l.hour_cost)),
    ])
}

/// A price of US dollars with at most four decimals; empty is nothing.
pub(super) fn read_price(form: &mut Form, name: &str) -> Option<Decimal> {
    let price = form.not_negative(name)?;
    if price > Decimal::from(1_000_000) {
        form.fail(name, "This price is out of range.");
    } else if price.normalize().scale() > 4 {
        form.fail(name, "Use at most four decimals of a dollar.");
    }
    Some(price.normalize())
}

fn read(form: &mut Form) -> PriceList {
    PriceList {
        foot: read_price(form, "foot"),
        inch: read_price(form, "inch"),
        plant: read_price(form, "plant"),
        visit: read_price(form, "visit"),
        year: read_price(form, "year"),
        hour_cost: read_price(form, "hour_cost"),
    }
}

/// GET /company/prices
pub async fn edit_form(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let now = price_list::find(&mut *state.pool.acquire().await?).await?;
    Ok(page(&actor, filled(&now).remembered()).into_response())
}

/// POST /company/prices
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = price_list::find(&mut *state.pool.acquire().await?).await?;
    let now = read(&mut form);
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), as_they_are) {
        match verbs::save_prices(&actor.doer(), &was, &now).await {
            Ok(()) => return Ok(session::done(&state, "/company/prices", "Saved.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&actor, form)).into_response())
}
