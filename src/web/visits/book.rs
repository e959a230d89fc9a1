//! Booking a visit: which plants, at which rate, who and when, with every refusal at its plant.
use super::AT;
use crate::{
    actions::visit::{self as verbs, Booking, PlantRefusal, Wanted},
    db::{
        fact,
        record::{self, Named, Place},
        visit::{self, Bookable},
    },
    domain::{permission::Applicator, plan::PlannedDose, quantity::plain},
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
use std::collections::HashMap;
use uuid::Uuid;

/// A plant on the form.
struct Row {
    id: Uuid,
    name: String,
    about: String,
    treatment: String,
    band: String,
    /// Name of its rate's field.
    rate: String,
    unit: String,
    ticked: bool,
    /// Set where no visit can be booked for it yet.
    lacks: Option<&'static str>,
    /// The dose, after the form asked for it.
    dose: Vec<String>,
}

#[derive(Template, WebTemplate)]
#[template(path = "visit/book.html")]
struct BookPage {
    page: Page,
    form: Form,
    place: Place,
    rows: Vec<Row>,
    technicians: Vec<(String, String)>,
    left: Vec<String>,
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
    Ok(book_page(&state, &actor, form, site, HashMap::new()).await?.into_response())
}

async fn book_page(
    state: &AppState,
    actor: &Actor,
    mut form: Form,
    site: Uuid,
    doses: HashMap<Uuid, Vec<String>>,
) -> Result<BookPage> {
    let mut conn = state.pool.acquire().await?;
    let place = record::place(&mut conn, site).await?.ok_or(Error::NotFound)?;
    let on = form.value("on").parse().unwrap_or(actor.today);
    let people = record::people_on(&mut conn, &place.state, on).await?;
    let plants = visit::bookable(&mut conn, site).await?;
    let products: Vec<String> = plants.iter().filter_map(|p| p.product_id).map(|p| p.to_string()).collect();
    let facts = fact::of_parcel(&mut conn, place.parcel_id, actor.today, Applicator::default()).await?;
    let left = pour::left(&facts, &products)?;
    let mut rows: Vec<Row> = plants.iter().filter_map(|p| row(p, &mut form)).collect();
    for row in &mut rows {
        row.dose = doses.get(&row.id).cloned().unwrap_or_default();
    }
    Ok(BookPage {
        page: Page::of(actor, "Book a visit", AT),
        form,
        place,
        rows,
        technicians: people.iter().filter(|p| !p.retired).map(choice).collect(),
        left,
    })
}

fn choice(person: &Named) -> (String, String) {
    let held =
        if person.number.is_empty() { "no certification here that day" } else { person.number.as_str() };
    (person.id.to_string(), format!("{} ({held})", person.name))
}

/// The plant's line; retired plants are left out.
fn row(plant: &Bookable, form: &mut Form) -> Option<Row> {
    if plant.retired_at.is_some() {
        return None;
    }
    let rate = rate_field(plant.plant_id);
    if let (Some(low), false) = (plant.rate_low, form.values.iter().any(|(name, _)| *name == rate)) {
        form.set(&rate, pour::number(plant.planned_rate.unwrap_or(low)));
    }
    let basis = plant.measure_basis.clone().unwrap_or_default();
    let band = plant.rate_low.zip(plant.rate_high).zip(plant.rate_unit.as_deref());
    let measured = match (basis.as_str(), plant.height_ft, plant.stems_in.as_slice()) {
        ("height-ft", Some(height), _) => Some(pour::measure(height, "height-ft")),
        ("diameter-in", _, [one]) => Some(pour::measure(*one, "diameter-in")),
        ("diameter-in", _, several) if several.len() > 1 => Some(format!("{} stems", several.len())),
        _ => None,
    };
    let lacks = match (&plant.product_name, plant.label_use_id, &measured) {
        (None, _, _) => Some("No treatment is chosen yet."),
        (_, None, _) => Some("No signed label has its use yet."),
        (_, _, None) => Some("It is not measured yet."),
        _ => None,
    };
    let about = [Some(words::counted(&plant.kind, plant.count)), measured].into_iter().flatten();
    Some(Row {
        id: plant.plant_id,
        name: format!("{}, {}", plant.host_plant, plant.place),
        about: about.collect::<Vec<_>>().join(", "),
        treatment: [plant.product_name.clone(), plant.use_name.clone()]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(": "),
        band: band.map(|((low, high), unit)| pour::band(low, high, unit, &basis)).unwrap_or_default(),
        unit: format!(
            "{} per {}",
            plant.rate_unit.as_deref().unwrap_or_default(),
            pour::measure_unit(&basis)
        ),
        ticked: form.is("plant", &plant.plant_id.to_string()),
        rate,
        lacks,
        dose: vec![],
    })
}

fn rate_field(plant: Uuid) -> String {
    format!("rate-{plant}")
}

/// POST /visits : books, or with `step=check` only works the doses out.
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let site: Uuid = form.value("site").parse().map_err(|_| Error::NotFound)?;
    let booking = read(&mut form, site)?;
    let mut doses = HashMap::new();
    if form.is_good() {
        if form.value("step") == "check" {
            match verbs::preview(&actor.doer(), actor.today, &booking).await {
                Ok(answers) => doses = previewed(&mut form, answers),
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
    Ok((status, book_page(&state, &actor, form, site, doses).await?).into_response())
}

fn read(form: &mut Form, site: Uuid) -> Result<Booking> {
    let on = form.required_date("on");
    let technician = form.choice("technician", |text| text.parse::<Uuid>().ok());
    let note = form.text("note");
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
        on: on.unwrap_or(NaiveDate::MIN),
        note,
        doses,
    })
}

fn refuse(form: &mut Form, refused: &[PlantRefusal]) {
    for one in refused {
        form.fail(&rate_field(one.plant), words::sentence(&one.words));
    }
}

fn previewed(form: &mut Form, answers: Vec<verbs::Preview>) -> HashMap<Uuid, Vec<String>> {
    let mut doses = HashMap::new();
    for one in answers {
        match one.answer {
            Ok(planned) => {
                doses.insert(one.plant, dose_words(&planned));
            }
            Err(words) => form.fail(&rate_field(one.plant), words::sentence(&words)),
        }
    }
    doses
}

fn dose_words(planned: &PlannedDose) -> Vec<String> {
    let dose = &planned.dose;
    let grams: Vec<String> = dose
        .ingredients
        .iter()
        .map(|(name, grams)| format!("{} g of {name}", crate::domain::quantity::fixed_half_up(grams, 2)))
        .collect();
    let mut said = vec![format!(
        "{} {} of product ({}); the band gives {} to {}.",
        plain(&dose.product.value),
        dose.product.unit.code(),
        grams.join(", "),
        dose.low.words(),
        dose.high.words()
    )];
    if let Some(water) = &dose.water {
        said.push(words::sentence(&format!(
            "Carrier water: {} to {}.",
            water.low.words(),
            water.high.words()
        )));
    }
    said.extend(planned.cautions.iter().map(|one| words::sentence(one)));
    said
}
