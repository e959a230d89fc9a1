//! Recording a visit on the spot: per plant done, done otherwise, or not done and why. Nothing is chosen
//! beforehand. A new measure without an amount brings the page back with the dose that follows from it.
use super::{
    AT,
    asked::StopFields,
    door,
    duties::{self, DutyLine},
    field::{self, DoseLine},
    offer::{Offer, offer},
    stop::{WINDS, read_stop},
};
use crate::{
    actions::record::{self as verbs, Applied, Skip},
    db::{
        fact,
        record::{self, Named},
        visit::{self, Dose, Visit},
    },
    domain::{permission::Applicator, user::Role},
    texts::Language,
    web::{
        AppState, Error, Result, band,
        form::{Form, Posted},
        page::Page,
        pour,
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
use std::collections::HashMap;
use uuid::Uuid;

/// A dose on the form, with the names of its fields.
struct Row {
    line: DoseLine,
    did: String,
    measure: String,
    measure_unit: &'static str,
    /// Whether there is anything to measure.
    measured: bool,
    amount: String,
    /// The measure that an offered dose was worked out for.
    offered: String,
    /// What was asked about its amount.
    band: String,
    offer: Option<Offer>,
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
    winds: Vec<(&'static str, String)>,
    /// Offered where the technician holds no certification of the state that day.
    supervisors: Option<Vec<(String, String)>>,
    left: Vec<String>,
    asked: StopFields,
    /// Names of the plants with an offered dose.
    offers: Vec<(String, String)>,
    /// Booked for a day to come; whether this person may move it.
    ahead: bool,
    may_move: bool,
    /// What was recorded under this form's id already.
    already: Option<String>,
    /// Notices and signs by law that are not done, or not in time.
    lacking: Vec<DutyLine>,
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
    let mut form = Form::for_new().speaking(actor.reads());
    // Of a visit that is still to come nobody knows on which day it was done.
    let on = (visit.on_date <= actor.today).then(|| visit.on_date.to_string());
    form.set("on", on.unwrap_or_default());
    form.set("supervisor", visit.supervisor_id.map_or_else(String::new, |id| id.to_string()));
    Ok(page(&state, &actor, form, visit, vec![]).await?.into_response())
}

async fn page(
    state: &AppState,
    actor: &Actor,
    mut form: Form,
    visit: Visit,
    offers: Vec<Offer>,
) -> Result<RecordPage> {
    let mut conn = state.pool.acquire().await?;
    let doses = visit::doses(&mut conn, visit.id).await?;
    let on = form.value("on").parse().unwrap_or(actor.today);
    let own = field::certified(&mut conn, &visit, on).await?;
    let people = record::people_on(&mut conn, &visit.state, on).await?;
    let facts = fact::of_parcel(&mut conn, visit.parcel_id, actor.today, Applicator::default()).await?;
    let products: Vec<String> = doses.iter().map(|d| d.product_id.to_string()).collect();
    let labels: Vec<Uuid> = doses.iter().map(|d| d.label_version_id).collect();
    let restricted = !record::restricted_among(&mut conn, &labels).await?.is_empty();
    let named_offers = offers.iter().map(|o| (format!("amount-{}", o.plant), o.name.clone())).collect();
    let mut offers: HashMap<Uuid, Offer> = offers.into_iter().map(|o| (o.plant, o)).collect();
    let still = doses.iter().filter(|d| d.status == "planned");
    let mut lacking = duties::lines(&mut conn, &visit, actor).await?;
    lacking.retain(|d| d.holds);
    let alone = own.is_none_or(|named| named.number.is_empty());
    Ok(RecordPage {
        page: Page::of(actor, actor.reads().say_of("record-of", "street", visit.street.as_str()), AT),
        rows: still.map(|d| row(actor.reads(), d, &mut form, offers.remove(&d.plant_id))).collect(),
        already: form.error("id").map(|_| form.value("id").to_owned()),
        form,
        winds: WINDS.map(|w| (w, actor.reads().say(&format!("wind-{w}")))).to_vec(),
        supervisors: alone.then(|| people.iter().filter(|p| !p.number.is_empty()).map(named).collect()),
        left: pour::left(actor.reads(), &facts, &products)?,
        asked: StopFields::of(actor.reads(), &visit.state, restricted),
        offers: named_offers,
        ahead: visit.is_booked() && visit.on_date > actor.today,
        may_move: actor.role != Role::Technician,
        lacking,
        visit,
    })
}

fn named(person: &Named) -> (String, String) {
    (person.id.to_string(), format!("{}, {}", person.name, person.number))
}

fn row(language: Language, dose: &Dose, form: &mut Form, offer: Option<Offer>) -> Row {
    let key = |what: &str| format!("{what}-{}", dose.plant_id);
    let typed = |form: &Form, name: &str| form.values.iter().any(|(n, _)| n == name);
    if !typed(form, &key("measure")) {
        form.set(&key("measure"), pour::number(dose.measure));
    }
    Row {
        line: field::line(language, dose),
        did: key("did"),
        measure: key("measure"),
        measure_unit: pour::measure_unit(&dose.measure_basis),
        measured: !pour::measure_unit(&dose.measure_basis).is_empty(),
        amount: key("amount"),
        offered: key("offered"),
        band: key("band"),
        offer,
        unit: pour::unit_in(language, &dose.unit, false),
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
    let doses = visit::doses(&mut conn, id).await?;
    // Sent twice: what is settled by now is read again and compared with what was recorded.
    let open = |dose: &&Dose| dose.status == "planned" || (!visit.is_booked() && dose.status != "released");
    let stop = read_stop(&mut form, &visit, actor.today);
    let (mut applied, mut skipped, mut offers) = (vec![], vec![], vec![]);
    for dose in doses.iter().filter(open) {
        match read_dose(&mut form, dose) {
            Some(Did::Applied(one)) => applied.push(one),
            Some(Did::Skipped(one)) => skipped.push(one),
            Some(Did::Measured(measure)) => {
                offers.push(offer(&mut conn, &actor, &visit, dose, measure, &mut form).await?);
            }
            None => {}
        }
    }
    drop(conn);
    if form.is_good() && offers.is_empty() {
        ask(&actor, &visit, stop.on, &applied, &mut form).await?;
    }
    if form.is_good() && offers.is_empty() {
        match verbs::of_visit(&actor.doer(), actor.today, record_id, id, &stop, &applied, &skipped).await {
            Ok(broken) => {
                let to = if applied.is_empty() {
                    format!("/visits/{id}")
                } else {
                    format!("/records/{record_id}")
                };
                return Ok(session::done(&state, &to, &outcome(actor.reads(), broken)));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let status = if form.is_good() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    Ok((status, page(&state, &actor, form, visit, offers).await?).into_response())
}

/// Asks about amounts that leave the label's band; what was done as planned has none to mend.
async fn ask(
    actor: &Actor,
    visit: &Visit,
    on: chrono::NaiveDate,
    applied: &[Applied],
    form: &mut Form,
) -> Result<()> {
    let plant = |one: &Applied| one.plant.unwrap_or_default();
    let otherwise = applied.iter().filter(|one| form.is(&format!("did-{}", plant(one)), "other"));
    let otherwise: Vec<Applied> = otherwise.cloned().collect();
    let fields = otherwise.iter().map(|one| band::Fields {
        amount: format!("amount-{}", plant(one)),
        asked: format!("band-{}", plant(one)),
    });
    let fields: Vec<band::Fields> = fields.collect();
    band::ask(actor, (visit.site_id, on), &otherwise, &fields, form).await
}

/// What the next page says about a record that was just written.
pub fn outcome(language: Language, broken: usize) -> String {
    match broken {
        0 => language.say("recorded"),
        n => language.say_of("recorded-broken", "count", n),
    }
}

enum Did {
    Applied(Applied),
    Skipped(Skip),
    /// Measured anew, and nothing said about the amount for it.
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
            lot: String::new(),
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
            // The person measured once more: the dose in the field is for another measure.
            let stale =
                form.value(&key("offered")).parse::<Decimal>().is_ok_and(|offered| offered != measure);
            match amount {
                Some(_) if stale => Some(Did::Measured(measure)),
                Some(amount) => Some(applied(measure, amount, water)),
                None if typed => None,
                None if measure != dose.measure => Some(Did::Measured(measure)),
                None => {
                    form.fail(&key("amount"), form.say("write-amount"));
                    None
                }
            }
        }
        "skipped" => {
            let reason = form.required(&key("reason"));
            Some(Did::Skipped(Skip { plant, label_use, reason }))
        }
        _ => {
            let plant = format!("{}, {}", dose.host_plant, dose.place);
            form.fail(&key("did"), form.language.say_of("choose-done", "plant", plant));
            None
        }
    }
}
