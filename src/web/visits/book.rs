//! Booking a visit: which plants, at which rate, who and when, with every refusal at its plant.
use super::{
    AT,
    field::{self, Work},
    plants::{Answers, Row, answered, name, rate_field, rows},
};
use crate::{
    actions::visit::{self as verbs, Booking, PlantRefusal, Wanted},
    db::{
        fact,
        record::{self, Named, Place},
        visit,
    },
    domain::{permission::Applicator, user::Role},
    web::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        pour,
        session::{self, Actor},
        words,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{RawQuery, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use uuid::Uuid;

#[derive(Template, WebTemplate)]
#[template(path = "visit/book.html")]
struct BookPage {
    page: Page,
    form: Form,
    place: Place,
    rows: Vec<Row>,
    technicians: Vec<(String, String)>,
    /// Who is certified there that day.
    supervisors: Vec<(String, String)>,
    /// The labels of what is ticked, and what the caps leave.
    work: Work,
    /// How many doses were worked out, and how many refused; nothing was asked: none of both.
    doses: usize,
    refusals: usize,
    /// The day was refused, and whoever asks may say that the law leaves a notice open.
    excusable: bool,
    /// A visit was booked under this form's id already.
    already: Option<String>,
}

#[derive(Template, WebTemplate)]
#[template(path = "visit/where.html")]
struct WherePage {
    page: Page,
}

/// GET /visits/new?site=..&plant=..&plant=..&on=..
pub async fn new_form(
    State(state): State<AppState>,
    actor: Actor,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let asked: Vec<(String, String)> =
        serde_urlencoded::from_str(&query.unwrap_or_default()).unwrap_or_default();
    let mut form = Form::filled(asked);
    form.set("id", Uuid::now_v7().to_string());
    if form.value("on").is_empty() {
        form.set("on", form.value("day").to_owned());
    }
    if form.value("site").is_empty() {
        return Ok(WherePage { page: Page::of(&actor, "Book a visit", AT) }.into_response());
    }
    let site = form.value("site").parse().map_err(|_| Error::NotFound)?;
    Ok(book_page(&state, &actor, form, site, Answers::new()).await?.into_response())
}

async fn book_page(
    state: &AppState,
    actor: &Actor,
    mut form: Form,
    site: Uuid,
    answers: Answers,
) -> Result<BookPage> {
    let mut conn = state.pool.acquire().await?;
    let place = record::place(&mut conn, site).await?.ok_or(Error::NotFound)?;
    let on = form.value("on").parse().unwrap_or(actor.today);
    let people = record::people_on(&mut conn, &place.state, on).await?;
    let plants = visit::bookable(&mut conn, site).await?;
    let products: Vec<String> = plants.iter().filter_map(|p| p.product_id).map(|p| p.to_string()).collect();
    let facts = fact::of_parcel(&mut conn, place.parcel_id, actor.today, Applicator::default()).await?;
    let left = pour::left(actor.reads(), &facts, &products)?;
    let ticked = plants.iter().filter(|p| form.is("plant", &p.plant_id.to_string()));
    let labels = field::labels(&mut conn, ticked.filter_map(|p| p.label_version_id)).await?;
    let rows = rows(&plants, &mut form, actor.today, &answers);
    for error in &mut form.errors {
        let plant = plants.iter().find(|p| error.name == rate_field(p.plant_id));
        if let Some(plant) = plant {
            error.message = format!("{}: {}", name(plant), error.message);
        }
    }
    let refusals = answers.values().filter(|a| a.is_err()).count();
    Ok(BookPage {
        page: Page::of(actor, "Book a visit", AT),
        excusable: actor.role == Role::Owner && form.error("on").is_some(),
        already: form.error("id").map(|_| form.value("id").to_owned()),
        form,
        place,
        rows,
        technicians: people.iter().filter(|p| !p.retired).map(choice).collect(),
        supervisors: supervisors(&people),
        work: Work { doses: vec![], labels, left, loads: vec![] },
        doses: answers.len() - refusals,
        refusals,
    })
}

/// Those at work who are certified there that day.
pub(super) fn supervisors(people: &[Named]) -> Vec<(String, String)> {
    people.iter().filter(|p| !p.retired && !p.number.is_empty()).map(choice).collect()
}

fn choice(person: &Named) -> (String, String) {
    let held =
        if person.number.is_empty() { "no certification here that day" } else { person.number.as_str() };
    (person.id.to_string(), format!("{} ({held})", person.name))
}

/// POST /visits : books, or with `step=check` only works the doses out.
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let site: Uuid = form.value("site").parse().map_err(|_| Error::NotFound)?;
    let booking = read(&mut form, site)?;
    let mut answers = Answers::new();
    if form.is_good() {
        if form.value("step") == "check" {
            match verbs::preview(&actor.doer(), actor.today, &booking).await {
                Ok(previews) => answers = answered(previews),
                Err(e) => form.absorb(e)?,
            }
        } else {
            match verbs::book(&actor.doer(), actor.today, &booking).await {
                Ok(refused) if refused.is_empty() => {
                    return Ok(session::done(
                        &state,
                        &format!("/visits/{}", booking.id),
                        "The visit is booked.",
                    ));
                }
                Ok(refused) => refuse(&mut form, &refused),
                Err(e) => form.absorb(e)?,
            }
        }
    }
    let status = if form.is_good() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    Ok((status, book_page(&state, &actor, form, site, answers).await?).into_response())
}

fn read(form: &mut Form, site: Uuid) -> Result<Booking> {
    let on = form.required_date("on");
    let technician = form.choice("technician", |text| text.parse::<Uuid>().ok());
    let supervisor = form.optional("supervisor", "Choose one of these people.");
    let note = form.text("note");
    let promised = form.is("promised", "yes");
    let excuse = form.text("excuse");
    let ticked: Vec<Uuid> = form.values("plant").iter().filter_map(|text| text.parse().ok()).collect();
    if ticked.is_empty() {
        form.fail("form", "Tick at least one plant.");
    }
    let mut doses: Vec<Wanted> = vec![];
    for plant in ticked {
        if doses.iter().all(|d| d.plant != plant) {
            doses.push(Wanted { plant, rate: form.positive(&rate_field(plant)) });
        }
    }
    Ok(Booking {
        id: form.id()?,
        site,
        technician: technician.unwrap_or_default(),
        supervisor,
        on: on.unwrap_or(NaiveDate::MIN),
        at: None,
        note,
        promised,
        excuse,
        doses,
    })
}

fn refuse(form: &mut Form, refused: &[PlantRefusal]) {
    for one in refused {
        form.fail(&rate_field(one.plant), words::sentence(&one.words));
    }
}
