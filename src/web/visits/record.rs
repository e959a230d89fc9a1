//! Recording a visit on the spot: per plant done, done otherwise, or not done and why. Nothing is chosen
//! beforehand. A new measure without an amount brings the page back with the dose that follows from it.
use super::{
    AT, door,
    field::{self, DoseLine},
};
use crate::{
    actions::record::{self as verbs, Applied, Skip, Stop},
    db::{
        fact,
        record::{self, Named},
        visit::{self, Dose, Visit},
    },
    domain::{
        permission::Applicator,
        plan::{Ask, PlanError, may_plan},
        quantity::from_decimal,
    },
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
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveTime;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Where the wind comes from, as the forms offer it.
pub const WINDS: [&str; 9] = ["calm", "N", "NE", "E", "SE", "S", "SW", "W", "NW"];

/// A dose on the form, with the names of its fields.
struct Row {
    line: DoseLine,
    did: String,
    measure: String,
    measure_unit: &'static str,
    amount: String,
    unit: String,
    water: String,
    reason: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "visit/record.html")]
struct RecordPage {
    page: Page,
    form: Form,
    visit: Visit,
    rows: Vec<Row>,
    winds: Vec<(&'static str, &'static str)>,
    /// Offered where the technician holds no certification of the state that day.
    supervisors: Option<Vec<(String, String)>>,
    left: Vec<String>,
}

/// GET /visits/{id}/records
pub async fn record_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let visit = door(&mut *state.pool.acquire().await?, &actor, id).await?;
    if !visit.is_booked() {
        return Err(Error::Refused(format!("This visit is {} already.", visit.status)));
    }
    let mut form = Form::for_new();
    form.set("on", visit.on_date.min(actor.today).to_string());
    Ok(page(&state, &actor, form, visit).await?.into_response())
}

async fn page(state: &AppState, actor: &Actor, mut form: Form, visit: Visit) -> Result<RecordPage> {
    let mut conn = state.pool.acquire().await?;
    let doses = visit::doses(&mut conn, visit.id).await?;
    let on = form.value("on").parse().unwrap_or(actor.today);
    let own = field::certified(&mut conn, &visit, on).await?;
    let people = record::people_on(&mut conn, &visit.state, on).await?;
    let facts = fact::of_parcel(&mut conn, visit.parcel_id, actor.today, Applicator::default()).await?;
    let products: Vec<String> = doses.iter().map(|d| d.product_id.to_string()).collect();
    let alone = own.is_none_or(|named| named.number.is_empty());
    Ok(RecordPage {
        page: Page::of(actor, format!("Record, {}", visit.street), AT),
        rows: doses.iter().filter(|d| d.status == "planned").map(|d| row(d, &mut form)).collect(),
        form,
        winds: WINDS.map(|w| (w, if w == "calm" { "Calm" } else { w })).to_vec(),
        supervisors: alone.then(|| people.iter().filter(|p| !p.number.is_empty()).map(named).collect()),
        left: pour::left(&facts, &products)?,
        visit,
    })
}

fn named(person: &Named) -> (String, String) {
    (person.id.to_string(), format!("{}, {}", person.name, person.number))
}

fn row(dose: &Dose, form: &mut Form) -> Row {
    let key = |what: &str| format!("{what}-{}", dose.plant_id);
    let typed = |form: &Form, name: &str| form.values.iter().any(|(n, _)| n == name);
    if !typed(form, &key("measure")) {
        form.set(&key("measure"), pour::number(dose.measure));
    }
    Row {
        line: field::line(dose),
        did: key("did"),
        measure: key("measure"),
        measure_unit: pour::measure_unit(&dose.measure_basis),
        amount: key("amount"),
        unit: dose.unit.clone(),
        water: key("water"),
        reason: key("reason"),
    }
}

/// POST /visits/{id}/records
pub async fn record(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let visit = door(&mut conn, &actor, id).await?;
    let record_id = form.id()?;
    if record::of_visit(&mut conn, id).await? == Some(record_id) {
        return Ok(session::done(&state, &format!("/records/{record_id}"), "Recorded."));
    }
    let doses = visit::doses(&mut conn, id).await?;
    let planned: Vec<&Dose> = doses.iter().filter(|d| d.status == "planned").collect();
    let stop = read_stop(&mut form, &visit);
    let (mut applied, mut skipped) = (vec![], vec![]);
    for dose in planned {
        match read_dose(&mut form, dose) {
            Some(Did::Applied(one)) => applied.push(one),
            Some(Did::Skipped(one)) => skipped.push(one),
            Some(Did::Measured(measure)) => {
                let words = proposal(&mut conn, &actor, &visit, dose, measure, &mut form).await?;
                form.fail(&format!("amount-{}", dose.plant_id), words);
            }
            None => {}
        }
    }
    drop(conn);
    if form.is_good() {
        match verbs::of_visit(&actor.doer(), actor.today, record_id, id, &stop, &applied, &skipped).await {
            Ok(broken) => {
                let to = if applied.is_empty() {
                    format!("/visits/{id}")
                } else {
                    format!("/records/{record_id}")
                };
                return Ok(session::done(&state, &to, &outcome(broken)));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, form, visit).await?).into_response())
}

/// What the next page says about a record that was just written.
pub fn outcome(broken: usize) -> String {
    match broken {
        0 => "Recorded.".to_owned(),
        1 => "Recorded. One limit was broken; a licensed person must answer the flag.".to_owned(),
        n => format!("Recorded. {n} limits were broken; a licensed person must answer the flags."),
    }
}

enum Did {
    Applied(Applied),
    Skipped(Skip),
    /// Measured anew, and nothing said about the amount.
    Measured(Decimal),
}

fn read_dose(form: &mut Form, dose: &Dose) -> Option<Did> {
    let key = |what: &str| format!("{what}-{}", dose.plant_id);
    let (plant, label_use) = (dose.plant_id, dose.label_use_id);
    let applied = |measure: Decimal, amount: Decimal, water: Option<Decimal>| {
        Did::Applied(Applied {
            plant: Some(plant),
            words: String::new(),
            label_use,
            measure: Some(measure),
            count: dose.count,
            amount,
            unit: dose.unit.clone(),
            water,
            water_unit: water.map(|_| "cup".to_owned()),
        })
    };
    match form.value(&key("did")) {
        "planned" => {
            let water = form.not_negative(&key("water"));
            Some(applied(dose.measure, dose.amount, water))
        }
        "other" => {
            let measure = form.positive(&key("measure")).unwrap_or(dose.measure);
            let (typed, amount) = (!form.value(&key("amount")).is_empty(), form.positive(&key("amount")));
            let water = form.not_negative(&key("water"));
            match amount {
                Some(amount) => Some(applied(measure, amount, water)),
                None if typed => None,
                None if measure != dose.measure => Some(Did::Measured(measure)),
                None => {
                    form.fail(&key("amount"), "Write how much product was applied.");
                    None
                }
            }
        }
        "skipped" => {
            let reason = form.required(&key("reason"));
            Some(Did::Skipped(Skip { plant, label_use, reason }))
        }
        _ => {
            form.fail(&key("did"), format!("Choose what was done: {}.", dose.place));
            None
        }
    }
}

/// The dose at the planned rate for what was measured now, put into the form for the person to confirm,
/// with what stands against it.
async fn proposal(
    conn: &mut crate::db::Conn,
    actor: &Actor,
    visit: &Visit,
    dose: &Dose,
    measure: Decimal,
    form: &mut Form,
) -> Result<String> {
    let times = measure * Decimal::from(dose.count);
    let amount = (dose.rate * times).normalize();
    form.set(&format!("amount-{}", dose.plant_id), amount.to_string());
    let mut said = format!(
        "Measured {} instead of {}: at {} {} per {} that is {amount} {}; the label's band gives {} to {}. Check it \
         and send again.",
        pour::measure(measure, &dose.measure_basis),
        pour::measure(dose.measure, &dose.measure_basis),
        pour::number(dose.rate),
        dose.unit,
        pour::measure_unit(&dose.measure_basis),
        dose.unit,
        pour::amount(dose.rate_low * times, &dose.unit),
        pour::amount(dose.rate_high * times, &dose.unit),
    );
    let own = field::certified(conn, visit, actor.today).await?;
    let applicator =
        Applicator { certified: own.is_some_and(|n| !n.number.is_empty()), ..Applicator::default() };
    let mut facts = fact::of_parcel(conn, visit.parcel_id, actor.today, applicator).await?;
    let (plant, item) = (dose.plant_id.to_string(), dose.label_use_id.to_string());
    // Its own reservation gives way to what is about to be poured.
    facts.reservations.retain(|r| {
        !(r.plant.as_deref() == Some(&plant) && r.use_id.as_deref() == Some(&item) && r.on == visit.on_date)
    });
    if let Some(known) = facts.plants.iter_mut().find(|p| p.id == plant) {
        known.measure = from_decimal(measure);
    }
    let rate = from_decimal(dose.rate);
    let ask = Ask { plant: &plant, use_id: Some(&item), rate: Some(&rate), on: actor.today };
    if let Err(PlanError::Refused(why)) = may_plan(&facts, &ask) {
        for one in why {
            said.push_str(&format!(" Warning: {} {}", one.words, one.way_out.unwrap_or_default()));
        }
    }
    Ok(words::sentence(&said))
}

fn read_stop(form: &mut Form, visit: &Visit) -> Stop {
    Stop {
        origin: "own".to_owned(),
        on: form.required_date("on").unwrap_or(visit.on_date),
        applicator: Some(visit.technician_id),
        other_name: String::new(),
        other_certification: String::new(),
        supervisor: form.optional("supervisor", "Choose one of these people."),
        ..weather(form)
    }
}

/// Times, wind, temperature and note; the rest is the caller's.
pub fn weather(form: &mut Form) -> Stop {
    Stop {
        origin: String::new(),
        on: chrono::NaiveDate::MIN,
        started_at: time(form, "started_at"),
        finished_at: time(form, "finished_at"),
        applicator: None,
        other_name: String::new(),
        other_certification: String::new(),
        supervisor: None,
        wind_direction: wind(form),
        wind_mph: form.not_negative("wind_mph"),
        temperature_f: temperature(form),
        area_treated_sqft: form.positive("area_treated_sqft"),
        note: form.text("note"),
    }
}

fn wind(form: &mut Form) -> String {
    let value = form.value("wind_direction").to_owned();
    if !value.is_empty() && !WINDS.contains(&value.as_str()) {
        form.fail("wind_direction", "Choose one of these.");
    }
    value
}

/// A time of day as browsers send it, with or without seconds; empty is nothing.
fn time(form: &mut Form, name: &str) -> Option<NaiveTime> {
    let value = form.value(name).to_owned();
    if value.is_empty() {
        return None;
    }
    let read =
        NaiveTime::parse_from_str(&value, "%H:%M").or_else(|_| NaiveTime::parse_from_str(&value, "%H:%M:%S"));
    if read.is_err() {
        form.fail(name, "This is not a time; write it as 14:30.");
    }
    read.ok()
}

/// Degrees Fahrenheit; it may freeze.
fn temperature(form: &mut Form) -> Option<Decimal> {
    let read: Decimal = form.optional("temperature_f", "This is not a temperature; write for example 68.")?;
    if read < Decimal::from(-60) || read > Decimal::from(140) {
        form.fail("temperature_f", "This temperature is out of range.");
        return None;
    }
    Some(read)
}
