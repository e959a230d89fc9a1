//! The form of a paper: which fields it has hangs on its kind.
use super::{
    super::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
        words,
    },
    AT,
};
use crate::{
    actions::paper as verbs,
    db::{
        paper::{self, Paper},
        person,
    },
    domain::{paper::Kind, quantity::AmountUnit},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

type Choices = Vec<(String, String)>;

const UNITS: [&str; 9] = ["gal", "qt", "pt", "floz", "L", "lb", "oz", "kg", "packet"];

#[derive(Template, WebTemplate)]
#[template(path = "paper/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    kind: Kind,
    people: Choices,
    products: Choices,
    certifications: Choices,
    units: Vec<(&'static str, &'static str)>,
}

async fn edit_page(state: &AppState, actor: &Actor, kind: Kind, form: Form) -> Result<EditPage> {
    let mut conn = state.pool.acquire().await?;
    let people = person::list(&mut conn).await?;
    let at_work = people.into_iter().filter(|p| p.retired_at.is_none());
    let products = paper::products(&mut conn).await?;
    let held = paper::certifications(&mut conn).await?;
    Ok(EditPage {
        page: Page::of(actor, kind.words(), AT),
        form,
        kind,
        people: at_work.map(|p| (p.id.to_string(), p.name)).collect(),
        products: products.into_iter().map(|(id, name)| (id.to_string(), name)).collect(),
        certifications: held
            .into_iter()
            .map(|c| (c.id.to_string(), format!("{}, {} {} {}", c.person, c.state, c.category, c.number)))
            .collect(),
        units: UNITS.into_iter().map(|code| (code, words::unit(code))).collect(),
    })
}

/// GET /papers/new?kind=..
pub async fn new_form(
    State(state): State<AppState>,
    actor: Actor,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response> {
    let kind = asked.iter().find(|(name, _)| name == "kind").and_then(|(_, code)| Kind::from_code(code));
    let kind = kind.ok_or(Error::NotFound)?;
    Ok(edit_page(&state, &actor, kind, Form::for_new()).await?.into_response())
}

/// The id that was chosen; a field that must be filled says so.
fn chosen(form: &mut Form, name: &str) -> Option<Uuid> {
    form.choice(name, |text| text.parse().ok())
}

fn read(form: &mut Form, id: Uuid, kind: Kind) -> (Paper, Vec<Uuid>) {
    let mut new = Paper {
        id,
        kind: kind.code().to_owned(),
        title: form.required_line("title"),
        number: if kind.is_training() { form.line("number") } else { form.required_line("number") },
        on_day: form.required_date("on_day").unwrap_or_default(),
        last_day: None,
        amount: None,
        unit: None,
        words: form.text("words"),
        product_id: None,
        certification_id: None,
        trainer_id: None,
    };
    if !kind.is_training() {
        if form.value("amount").is_empty() {
            form.fail("amount", "Please fill this in.");
        }
        new.amount = form.positive("amount");
    }
    let mut people = vec![];
    match kind {
        Kind::Insurance => new.last_day = form.required_date("last_day"),
        Kind::RestrictedPurchase => {
            new.product_id = chosen(form, "product");
            let unit = form.choice("unit", |code| {
                UNITS.contains(&code).then(|| AmountUnit::from_code(code).ok()).flatten()
            });
            new.unit = unit.map(|unit| unit.code().to_owned());
        }
        Kind::TrainingUnits => new.certification_id = chosen(form, "certification"),
        Kind::HandlerTraining | Kind::LabelReview => {
            new.trainer_id = chosen(form, "trainer");
            people = form.values("people").iter().filter_map(|text| text.parse().ok()).collect();
            people.sort_unstable();
            people.dedup();
            if people.is_empty() {
                form.fail("people", "Choose at least one person who took part.");
            }
        }
    }
    (new, people)
}

/// POST /papers
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let kind = Kind::from_code(form.value("kind")).ok_or(Error::NotFound)?;
    let id = form.id()?;
    let (new, people) = read(&mut form, id, kind);
    if new.on_day > actor.today && kind != Kind::Insurance {
        form.fail("on_day", "This day is still to come.");
    }
    if form.is_good() {
        match verbs::enter(&actor.doer(), &new, &people).await {
            Ok(()) => return Ok(session::done(&state, "/papers", "The paper is entered.")),
            Err(e) => form.absorb_new(e, "/papers")?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&state, &actor, kind, form).await?).into_response())
}
