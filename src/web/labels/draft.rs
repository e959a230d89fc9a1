//! The draft: the label in hand, typed in. Ingredients and caps are rows of one form, with spare
//! rows below the filled ones, so that nothing needs a script.
use super::{AT, view::door, words};
use crate::{
    actions::label as verbs,
    db::{
        fact,
        label::{Cap, Ingredient, Label, Version},
        product::{self, Product},
    },
    domain::{
        dose::product_in,
        label::{self, CapOf},
        product_kind::ProductKind,
        quantity::{Amount, Exact, MassUnit, PieceUnit},
    },
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
use chrono::NaiveDate;
use num_traits::One;
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use uuid::Uuid;

/// So many rows can one form send.
const MOST_ROWS: usize = 30;
const SPARE_ROWS: usize = 3;

#[derive(Template, WebTemplate)]
#[template(path = "label/edit.html")]
struct EditPage {
    page: Page,
    product: Product,
    form: Form,
    action: String,
    back: String,
    signal_words: [(&'static str, &'static str); 4],
    ingredient_rows: Vec<Row>,
    cap_rows: Vec<Row>,
    strength_units: words::Choices,
    cap_units: words::Choices,
    years: words::Choices,
    counted: [(&'static str, &'static str); 2],
    /// `packet` or `tablet`, where it comes in such.
    piece: Option<&'static str>,
    piece_words: String,
    density_units: words::Choices,
    piece_units: words::Choices,
}

/// A row and the names of its fields.
struct Row {
    number: usize,
    name: String,
    group: String,
    strength: String,
    unit: String,
    year: String,
    counts: String,
}

fn rows(form: &Form, kind: &str) -> Vec<Row> {
    let row = |number: usize| Row {
        number,
        name: format!("{kind}-{number}-name"),
        group: format!("{kind}-{number}-group"),
        strength: format!("{kind}-{number}-{}", if kind == "cap" { "amount" } else { "strength" }),
        unit: format!("{kind}-{number}-unit"),
        year: format!("{kind}-{number}-year"),
        counts: format!("{kind}-{number}-counts"),
    };
    let all: Vec<Row> = (1..=MOST_ROWS).map(row).collect();
    let last = all.iter().rposition(|r| r.is_typed_cap(form) || r.is_wrong(form)).map_or(0, |p| p + 1);
    all.into_iter().take((last + SPARE_ROWS).min(MOST_ROWS)).collect()
}

impl Row {
    /// Whether anything is typed; units are chosen beforehand and do not count.
    fn filled(&self, form: &Form) -> bool {
        [&self.name, &self.group, &self.strength].iter().any(|n| !form.value(n).is_empty())
    }
    /// A cap on the product names no ingredient.
    fn is_typed_cap(&self, form: &Form) -> bool {
        self.filled(form) || form.is(&self.counts, "product")
    }
    fn is_wrong(&self, form: &Form) -> bool {
        [&self.name, &self.strength, &self.unit, &self.year].iter().any(|n| form.error(n).is_some())
    }
}

fn edit_page(actor: &Actor, product: Product, form: Form, version: Option<&Version>) -> EditPage {
    let (title, action, back) = match version {
        Some(v) => {
            let at = format!("{AT}/{}", v.id);
            (format!("{}, label version {}", product.name, v.number), at.clone(), at)
        }
        None => (
            format!("{}, new label version", product.name),
            format!("/products/{}/label-versions", product.id),
            format!("/products/{}", product.id),
        ),
    };
    EditPage {
        page: Page::of(actor, title, "/products"),
        piece_words: product.kind().piece().map_or_else(String::new, |p| format!("One {} weighs", p.code())),
        piece: product.kind().piece().map(PieceUnit::code),
        ingredient_rows: rows(&form, "ingredient"),
        cap_rows: rows(&form, "cap"),
        strength_units: words::plain(words::strength_units(product.kind())),
        cap_units: words::cap_units(product.kind()),
        years: words::years(),
        counted: [("ingredient", "An ingredient"), ("product", "This product")],
        density_units: words::plain(&words::DENSITY_UNITS),
        piece_units: words::plain(&words::PIECE_UNITS),
        signal_words: words::SIGNAL_WORDS,
        product,
        form,
        action,
        back,
    }
}

/// What the form says, its mistakes noted at their fields.
fn read(form: &mut Form, id: Uuid, of: &Product, today: NaiveDate) -> Label {
    let label_date = form.required_date("label_date");
    if label_date.is_some_and(|day| day > today) {
        form.fail("label_date", "This day is still to come; a label carries the day on which it was made.");
    }
    let category = form.required("category");
    let signal_word = form.text("signal_word");
    if !signal_word.is_empty() && words::SIGNAL_WORDS.iter().all(|(word, _)| *word != signal_word) {
        form.fail("signal_word", "Please choose one of these.");
    }
    let (density, density_unit) = read_mass(form, "density", &words::DENSITY_UNITS);
    let (piece_mass, piece_unit) = match of.kind().piece() {
        Some(_) => read_mass(form, "piece", &words::PIECE_UNITS),
        None => (None, None),
    };
    let version = Version {
        id,
        product_id: of.id,
        number: 0,
        label_date: label_date.unwrap_or_default(),
        category,
        restricted_use: form.value("restricted_use") == "yes",
        signal_word,
        clothing: form.text("clothing"),
        precautions: form.text("precautions"),
        first_aid: form.text("first_aid"),
        excluded_hosts: hosts(&form.text("excluded_hosts")),
        density,
        density_unit,
        piece_mass,
        piece_unit,
        entered_by: Uuid::nil(),
        entered_by_name: String::new(),
        entered_at: chrono::DateTime::UNIX_EPOCH,
        signed_by: None,
        signed_by_name: None,
        signed_certification_id: None,
        signed_certification_number: None,
        signed_at: None,
        in_force: false,
    };
    let ingredients = read_ingredients(form, id, of);
    let caps = read_caps(form, id, of, &ingredients);
    let label = Label { version, ingredients, uses: vec![], caps };
    if form.is_good() {
        fit_together(form, of, &label);
    }
    label
}

/// A figure and its unit, both or none.
fn read_mass(
    form: &mut Form,
    name: &str,
    units: &'static [&'static str],
) -> (Option<Decimal>, Option<String>) {
    let Some(value) = form.positive(name) else { return (None, None) };
    let unit = form.choice(&format!("{name}_unit"), |code| units.iter().copied().find(|u| *u == code));
    (Some(value), unit.map(str::to_owned))
}

/// No piece holds more than it weighs, and a cap that counts the product by another kind of unit than it is
/// poured by takes its density or the mass of a piece.
fn fit_together(form: &mut Form, of: &Product, label: &Label) {
    let Ok(whole) = fact::described(of, label) else { return };
    let filled: Vec<Row> = rows(form, "ingredient").into_iter().filter(|row| row.filled(form)).collect();
    for (row, held) in filled.iter().zip(&whole.ingredients) {
        if holds_more_than_a_piece(&whole, held) {
            form.fail(&row.strength, "This is more than the whole piece weighs.");
        }
    }
    let filled: Vec<Row> = rows(form, "cap").into_iter().filter(|row| row.is_typed_cap(form)).collect();
    for (row, cap) in filled.iter().zip(&whole.caps).filter(|(_, cap)| cap.of == CapOf::Product) {
        let one = Amount::new(Exact::one(), whole.shown_unit());
        if product_in(&whole, &one, cap.unit.base().1).is_err() {
            let words = match of.kind().piece() {
                Some(piece) => format!("To count it so takes what one {} weighs.", piece.code()),
                None => "To count a poured product by weight, or a weighed one by volume, takes its density."
                    .into(),
            };
            form.fail(&row.unit, words);
        }
    }
}

fn holds_more_than_a_piece(whole: &label::Product, held: &label::Ingredient) -> bool {
    let grams = whole.pieces.as_ref().and_then(|pieces| pieces.grams.as_ref());
    match (&held.strength, grams) {
        (label::Strength::PerPiece { value, mass, .. }, Some(grams)) => &(value * mass.grams()) > grams,
        _ => false,
    }
}

/// One host plant a line, lower case, each once.
fn hosts(text: &str) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let lines = text.lines().map(|l| l.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase());
    lines.filter(|l| !l.is_empty() && seen.insert(l.clone())).collect()
}

fn read_ingredients(form: &mut Form, id: Uuid, of: &Product) -> Vec<Ingredient> {
    let mut found: Vec<Ingredient> = vec![];
    for row in rows(form, "ingredient") {
        if !row.filled(form) {
            continue;
        }
        let name = form.required(&row.name).to_lowercase();
        if found.iter().any(|i| i.name == name) {
            form.fail(&row.name, format!("{name} stands in another row already."));
        }
        let strength = some_amount(form, &row.strength);
        let units = words::strength_units(of.kind());
        let unit = form.choice(&row.unit, |code| units.iter().copied().find(|u| *u == code));
        if unit == Some("percent") {
            percent_tells(form, &row.unit, of);
        }
        if let Some((unit, _)) = unit.zip(strength).filter(|(unit, s)| *s > words::strongest(unit)) {
            let most = words::strongest(unit);
            form.fail(&row.strength, format!("No product is stronger than {most} {unit}."));
        }
        found.push(Ingredient {
            label_version_id: id,
            position: 0,
            name,
            irac_group: form.text(&row.group).to_uppercase(),
            strength: strength.unwrap_or_default(),
            strength_unit: unit.unwrap_or_default().to_owned(),
        });
    }
    found
}

/// A percentage is by mass: of what is poured it tells nothing without the density, of a piece nothing without
/// what one weighs.
fn percent_tells(form: &mut Form, unit: &str, of: &Product) {
    let words = match (of.kind(), of.kind().piece()) {
        (ProductKind::Liquid, _) if form.value("density").is_empty() => {
            "Percent is by weight and this product is poured: fill in its density, or choose a weight in a volume."
                .to_owned()
        }
        (_, Some(piece)) if form.value("piece").is_empty() => format!(
            "Percent is by weight: fill in what one {0} weighs, or choose a weight in a {0}.",
            piece.code()
        ),
        _ => return,
    };
    form.fail(unit, words);
}

fn read_caps(form: &mut Form, id: Uuid, of: &Product, ingredients: &[Ingredient]) -> Vec<Cap> {
    let mut found: Vec<Cap> = vec![];
    for row in rows(form, "cap") {
        if !row.is_typed_cap(form) {
            continue;
        }
        let of_product = form.is(&row.counts, "product");
        let ingredient = capped(form, &row, of_product, ingredients);
        let amount = some_amount(form, &row.strength);
        let unit = form.choice(&row.unit, |code| words::chosen(&words::cap_units(of.kind()), code));
        let by_mass = unit
            .as_deref()
            .and_then(|u| u.split_once('/'))
            .is_none_or(|(unit, _)| MassUnit::from_code(unit).is_ok());
        if !of_product && !by_mass {
            form.fail(&row.unit, "A cap on an ingredient counts its weight, such as lb/acre.");
        }
        let year = form.choice(&row.year, |code| words::chosen(&words::years(), code));
        found.push(Cap {
            label_version_id: id,
            position: 0,
            counts: if of_product { "product" } else { "ingredient" }.to_owned(),
            ingredient,
            amount: amount.unwrap_or_default(),
            unit: unit.unwrap_or_default(),
            year: year.unwrap_or_default(),
        });
    }
    found
}

/// The ingredient that the cap counts; none where it counts the product.
fn capped(form: &mut Form, row: &Row, of_product: bool, ingredients: &[Ingredient]) -> Option<String> {
    if of_product {
        if !form.value(&row.name).is_empty() {
            form.fail(&row.name, "Leave it empty where the cap counts the product itself.");
        }
        return None;
    }
    let ingredient = form.required(&row.name).to_lowercase();
    if !ingredient.is_empty() && ingredients.iter().all(|i| i.name != ingredient) {
        form.fail(&row.name, "Write it as in the ingredients above; it is not among them.");
    }
    Some(ingredient)
}

/// A number above zero that must be there.
pub fn some_amount(form: &mut Form, name: &str) -> Option<Decimal> {
    if form.value(name).is_empty() {
        form.fail(name, "Please fill this in.");
    }
    form.positive(name)
}

/// The form as the draft fills it.
fn filled(label: &Label) -> Form {
    let v = &label.version;
    let mut form = Form::filled([
        ("label_date", v.label_date.to_string()),
        ("category", v.category.clone()),
        ("restricted_use", if v.restricted_use { "yes".into() } else { String::new() }),
        ("signal_word", v.signal_word.clone()),
        ("clothing", v.clothing.clone()),
        ("precautions", v.precautions.clone()),
        ("first_aid", v.first_aid.clone()),
        ("excluded_hosts", v.excluded_hosts.join("\n")),
        ("density", v.density.map(words::number).unwrap_or_default()),
        ("density_unit", v.density_unit.clone().unwrap_or_default()),
        ("piece", v.piece_mass.map(words::number).unwrap_or_default()),
        ("piece_unit", v.piece_unit.clone().unwrap_or_default()),
    ]);
    for (n, i) in (1..).zip(&label.ingredients) {
        form.set(&format!("ingredient-{n}-name"), i.name.as_str());
        form.set(&format!("ingredient-{n}-group"), i.irac_group.as_str());
        form.set(&format!("ingredient-{n}-strength"), words::number(i.strength));
        form.set(&format!("ingredient-{n}-unit"), i.strength_unit.as_str());
    }
    for (n, c) in (1..).zip(&label.caps) {
        form.set(&format!("cap-{n}-counts"), c.counts.as_str());
        form.set(&format!("cap-{n}-name"), c.ingredient.as_deref().unwrap_or_default());
        form.set(&format!("cap-{n}-amount"), words::number(c.amount));
        form.set(&format!("cap-{n}-unit"), c.unit.as_str());
        form.set(&format!("cap-{n}-year"), c.year.as_str());
    }
    form
}

async fn product(state: &AppState, id: Uuid) -> Result<Product> {
    product::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)
}

/// GET /products/{id}/label-versions/new
pub async fn new_form(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let of = product(&state, id).await?;
    Ok(edit_page(&actor, of, Form::for_new(), None).into_response())
}

/// POST /products/{id}/label-versions : a first draft as typed, or a copy of the version that `from` names.
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Path(product_id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let of = product(&state, product_id).await?;
    let id = form.id()?;
    let at = format!("{AT}/{id}");
    if !form.value("from").is_empty() {
        let from = form.value("from").parse().map_err(|_| Error::NotFound)?;
        verbs::copy(&actor.doer(), product_id, id, from).await?;
        let words =
            "A draft with everything that the other version says. Compare each line with the new label.";
        return Ok(session::done(&state, &at, words));
    }
    let draft = read(&mut form, id, &of, actor.today);
    if form.is_good() {
        match verbs::enter(&actor.doer(), &draft).await {
            Ok(()) => return Ok(session::done(&state, &at, "The draft is saved. Next: its uses.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, of, form, None)).into_response())
}

/// GET /label-versions/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let (of, label) = door(&state, &actor, id).await?;
    if !label.version.is_draft() {
        return Err(Error::Refused(verbs::SIGNED.to_owned()));
    }
    Ok(edit_page(&actor, of, filled(&label).remembered(), Some(&label.version)).into_response())
}

/// POST /label-versions/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (of, label) = door(&state, &actor, id).await?;
    if !label.version.is_draft() {
        return Err(Error::Refused(verbs::SIGNED.to_owned()));
    }
    let typed = read(&mut form, id, &of, actor.today);
    if form.is_good() && form.is_current(&filled(&label), &filled(&typed), seen::as_they_are) {
        match verbs::change(&actor.doer(), &label, &typed).await {
            Ok(()) => return Ok(session::done(&state, &format!("{AT}/{id}"), "The draft is saved.")),
            Err(e) => form.absorb(e)?,
        }
    }
    let again = edit_page(&actor, of, form, Some(&label.version));
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn host_plants_are_read_a_line_each() {
        assert_eq!(hosts(" Linden \r\n\r\nTilia  cordata\nlinden"), ["linden", "tilia cordata"]);
    }

    #[test]
    fn spare_rows_follow_the_last_one_typed() {
        let form = Form::filled([("ingredient-2-strength", "2"), ("ingredient-9-unit", "g/L")]);
        assert_eq!(rows(&form, "ingredient").len(), 2 + SPARE_ROWS);
        assert_eq!(rows(&form, "cap").len(), SPARE_ROWS);
        let full = Form::filled([("cap-30-name", "x")]);
        assert_eq!(rows(&full, "cap").len(), MOST_ROWS);
    }
}
