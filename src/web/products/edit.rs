//! Entering a product, changing it, retiring it and bringing it back.
use super::{AT, AppState, Error, Form, Page, Posted, Product, Result, product, verbs};
use crate::{
    domain::{product_kind::ProductKind, quantity::AmountUnit, registration},
    web::{
        pour::number,
        seen,
        session::{self, Actor},
        words,
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
#[template(path = "product/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    /// The product being changed; none yet when entering one.
    id: Option<Uuid>,
    forms: Vec<(&'static str, &'static str)>,
    price_units: Vec<(&'static str, &'static str)>,
}

fn edit_page(actor: &Actor, form: Form, id: Option<Uuid>) -> EditPage {
    let title = if id.is_some() { "Change a product" } else { "Enter a product" };
    let words = |kind: ProductKind| match kind {
        ProductKind::Liquid => "Liquid: it is poured and measured by volume",
        ProductKind::Dry => "Dry: it is weighed",
        ProductKind::Packet => "In packets: each is poured whole",
        ProductKind::Tablet => "In tablets: each is placed whole",
    };
    let forms = ProductKind::ALL.into_iter().map(|kind| (kind.code(), words(kind))).collect();
    let codes = ProductKind::ALL.into_iter().flat_map(ProductKind::units).map(AmountUnit::code);
    let price_units = codes.map(|code| (code, words::unit(code))).collect();
    EditPage { page: Page::of(actor, title, AT), form, id, forms, price_units }
}

fn read(form: &mut Form, id: Uuid) -> Product {
    let name = form.required("name");
    let typed = form.required("registration_number");
    let number = registration::read_number(&typed);
    if number.is_none() && !typed.is_empty() {
        form.fail("registration_number", "Write it as on the label: digits, a dash, digits, as in 99999-12.");
    }
    let kind = form.choice("form", ProductKind::from_code);
    let (price, price_unit) = read_price(form, kind);
    Product {
        id,
        name,
        registration_number: number.unwrap_or_default(),
        form: kind.map_or("", ProductKind::code).to_owned(),
        price,
        price_unit,
        retired_at: None,
    }
}

/// What one unit costs, both or none; the unit is one in which the product is measured.
fn read_price(form: &mut Form, kind: Option<ProductKind>) -> (Option<Decimal>, Option<String>) {
    let Some(price) = form.positive("price") else { return (None, None) };
    let unit = form.choice("price_unit", |code| AmountUnit::from_code(code).ok());
    if let (Some(kind), Some(unit)) = (kind, unit)
        && !kind.is_measured_in(unit)
    {
        form.fail("price_unit", "A dose of this product is not measured so, and could not be costed.");
    }
    (Some(price), unit.map(|unit| unit.code().to_owned()))
}

/// The form as the product stands.
fn filled(p: &Product) -> Form {
    Form::filled([
        ("name", p.name.clone()),
        ("registration_number", p.registration_number.clone()),
        ("form", p.form.clone()),
        ("price", p.price.map(number).unwrap_or_default()),
        ("price_unit", p.price_unit.clone().unwrap_or_default()),
    ])
}

/// GET /products/new
pub async fn new_form(actor: Actor) -> Response {
    edit_page(&actor, Form::for_new(), None).into_response()
}

/// POST /products
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let id = form.id()?;
    let new = read(&mut form, id);
    if form.is_good() {
        match verbs::enter(&actor.doer(), &new).await {
            Ok(()) => {
                let words = "Entered. Next: its registrations, and its label typed from the label in hand.";
                return Ok(session::done(&state, &format!("{AT}/{id}"), words));
            }
            Err(e) => form.absorb_new(e, &format!("{AT}/{id}"))?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, None)).into_response())
}

/// GET /products/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let p = product::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    Ok(edit_page(&actor, filled(&p).remembered(), Some(id)).into_response())
}

/// POST /products/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = product::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    let to = read(&mut form, id);
    if form.is_good() && form.is_current(&filled(&was), &filled(&to), seen::as_they_are) {
        match verbs::change(&actor.doer(), &was, &to).await {
            Ok(()) => return Ok(session::done(&state, &format!("{AT}/{id}"), "Changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, Some(id))).into_response())
}

/// POST /products/{id}/retirements
pub async fn retire(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    match verbs::retire(&actor.doer(), id, form.is("without", "yes")).await {
        Ok(()) => {
            return Ok(session::done(&state, &format!("{AT}/{id}"), "Retired. Its records and labels stay."));
        }
        Err(e) => form.absorb(e)?,
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, super::show_page(&state, &actor, id, form).await?).into_response())
}

/// POST /products/{id}/returns
pub async fn take_back(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::take_back(&actor.doer(), id).await?;
    Ok(session::done(&state, &format!("{AT}/{id}"), "Back in use."))
}
