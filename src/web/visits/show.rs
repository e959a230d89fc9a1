//! One visit: for the office with its bookings, for the phone with what to do; moving and cancelling it.
use super::{
    AT, badge,
    book::supervisors,
    door,
    duties::{self, DutyLine},
    field::{self, Work},
};
use crate::{
    actions::visit as verbs,
    db::{
        record::{self, Named},
        visit::Visit,
    },
    domain::{permission::Mark, record::record_by, user::Role},
    web::{
        AppState, Result,
        form::{Form, Posted},
        page::Page,
        records::{countdown, limit_words},
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
use fluent_bundle::FluentArgs;
use uuid::Uuid;

#[derive(Template, WebTemplate)]
#[template(path = "visit/show.html")]
struct OfficePage {
    page: Page,
    visit: Visit,
    state: (&'static str, &'static str),
    work: Work,
    record: Option<Uuid>,
    technicians: Vec<(String, String)>,
    supervisors: Vec<(String, String)>,
    /// The form that moves it, and the one that cancels it.
    form: Form,
    /// A day was refused, and whoever asks may say that the law leaves a notice open.
    excusable: bool,
    /// Booked, and its day has come.
    recordable: bool,
    /// By when it must be recorded, and the days that are left.
    record_by: String,
    left: (&'static str, String),
    duties: Vec<DutyLine>,
}

#[derive(Template, WebTemplate)]
#[template(path = "visit/stop.html")]
struct FieldPage {
    page: Page,
    visit: Visit,
    state: (&'static str, &'static str),
    work: Work,
    record: Option<Uuid>,
    /// Booked, and its day has come.
    recordable: bool,
    duties: Vec<DutyLine>,
    /// By when the record is due, and by which rule.
    record_by: Option<String>,
    /// When the site may be entered; none: any working hour.
    hours: Vec<String>,
    water: String,
}

/// GET /visits/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    if actor.role == Role::Technician {
        return field_page(&state, &actor, id).await;
    }
    Ok(office_page(&state, &actor, id, None).await?.into_response())
}

async fn field_page(state: &AppState, actor: &Actor, id: Uuid) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let visit = door(&mut conn, actor, id).await?;
    let work = field::work(&mut conn, &visit, actor.today, actor.reads()).await?;
    let record = record::of_visit(&mut conn, id).await?;
    let badge = badge(&visit.status, visit.on_date, actor.today);
    let (hours, water) = field::site_lines(&mut conn, &visit, actor.reads()).await?;
    let page = Page::of(actor, visit.street.clone(), AT);
    let recordable = recordable(&visit, actor);
    let duties = duties::lines(&mut conn, &visit, actor).await?;
    let restricted = work.labels.iter().any(|label| label.restricted);
    let record_by = (recordable && record.is_none()).then(|| deadline(actor, &visit, restricted));
    Ok(FieldPage { page, state: badge, work, record, recordable, duties, record_by, hours, water, visit }
        .into_response())
}

/// The days that are left for the record, and the rule that counts them.
fn deadline(actor: &Actor, visit: &Visit, restricted: bool) -> String {
    let language = actor.reads();
    let rule = record_by(&visit.state, restricted, visit.on_date);
    let day = rule.map_or(visit.on_date, |rule| rule.day);
    let left = (day - actor.today).num_days();
    let mut args = FluentArgs::new();
    args.set("count", left.abs());
    args.set("day", language.day(&day));
    let by = match rule {
        None => language.say("record-rule-own"),
        Some(rule) => {
            let text = if rule.mark == Mark::Unverified { "record-rule-unverified" } else { "record-rule" };
            language.say_of(text, "source", rule.source)
        }
    };
    format!("{} {by}", language.fill(if left < 0 { "record-late" } else { "record-left" }, &args))
}

async fn office_page(state: &AppState, actor: &Actor, id: Uuid, form: Option<Form>) -> Result<OfficePage> {
    let mut conn = state.pool.acquire().await?;
    let visit = door(&mut conn, actor, id).await?;
    let work = field::work(&mut conn, &visit, actor.today, actor.reads()).await?;
    let record = record::of_visit(&mut conn, id).await?;
    let people = record::people_on(&mut conn, &visit.state, visit.on_date).await?;
    let form = form.unwrap_or_else(|| {
        Form::filled([
            ("on", visit.on_date.to_string()),
            ("technician", visit.technician_id.to_string()),
            ("supervisor", visit.supervisor_id.map_or_else(String::new, |id| id.to_string())),
        ])
    });
    let restricted = work.labels.iter().any(|label| label.restricted);
    let mut duties = duties::lines(&mut conn, &visit, actor).await?;
    duties::give_back(&mut duties, &form);
    Ok(OfficePage {
        page: Page::of(actor, format!("Visit, {}", visit.street), AT),
        state: badge(&visit.status, visit.on_date, actor.today),
        record_by: limit_words(&visit.state, restricted, visit.on_date),
        left: countdown(&visit.state, restricted, visit.on_date, actor.today),
        work,
        record,
        technicians: people.iter().filter(|p| !p.retired).map(choice).collect(),
        supervisors: supervisors(&people),
        excusable: actor.role == Role::Owner && form.error("on").is_some(),
        form,
        recordable: recordable(&visit, actor),
        duties,
        visit,
    })
}

fn recordable(visit: &Visit, actor: &Actor) -> bool {
    visit.is_booked() && visit.on_date <= actor.today
}

fn choice(person: &Named) -> (String, String) {
    (person.id.to_string(), person.name.clone())
}

/// POST /visits/{id}/moves
pub async fn move_to(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let on = form.required_date("on");
    let technician = form.choice("technician", |text| text.parse::<Uuid>().ok());
    let supervisor = form.optional("supervisor", "Choose one of these people.");
    if let (true, Some(on), Some(technician)) = (form.is_good(), on, technician) {
        let excuse = form.text("excuse");
        let to = verbs::Move { on, at: None, technician, supervisor, excuse };
        match verbs::move_as(&actor.doer(), actor.today, id, &to).await {
            Ok(refused) if refused.is_empty() => {
                return Ok(session::done(&state, &format!("/visits/{id}"), "The visit is moved."));
            }
            Ok(refused) => {
                let why: Vec<&str> = refused.iter().map(|r| r.words.as_str()).collect();
                form.fail("on", words::sentence(&why.join(" ")));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    again(&state, &actor, id, form).await
}

/// POST /visits/{id}/promises
pub async fn promise(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let promised = form.is("promised", "yes");
    match verbs::promise(&actor.doer(), id, promised).await {
        Ok(()) => {
            let words =
                if promised { "Noted: the customer was told this day." } else { "It is promised no longer." };
            return Ok(session::done(&state, &format!("/visits/{id}"), words));
        }
        Err(e) => form.absorb(e)?,
    }
    again(&state, &actor, id, form).await
}

/// POST /visits/{id}/cancellations
pub async fn cancel(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let reason = form.required("reason");
    if form.is_good() {
        match verbs::cancel(&actor.doer(), id, &reason).await {
            Ok(()) => {
                let words = "The visit is cancelled; what it reserved is free again.";
                return Ok(session::done(&state, &format!("/visits/{id}"), words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    again(&state, &actor, id, form).await
}

pub(super) async fn again(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<Response> {
    let page = office_page(state, actor, id, Some(form)).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}
