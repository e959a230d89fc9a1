//! A person's working week, and the terms on which the company plans its days.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    seen::as_they_are,
    session::{self, Actor},
    sites::read_position,
    words,
};
use crate::{
    actions::working as verbs,
    db::{
        Conn,
        person::{self, Person},
        vehicle,
        working::{self, Day, Terms, Way, Working},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{NaiveTime, TimeDelta};
use uuid::Uuid;

const AT: &str = "/people";

#[derive(Template, WebTemplate)]
#[template(path = "people/working.html")]
struct WeekPage {
    page: Page,
    form: Form,
    person: Person,
    vehicles: Vec<(String, String)>,
    /// Number and name of each weekday.
    days: [(i16, &'static str); 7],
}

fn part(name: &str, weekday: i16) -> String {
    format!("{name}-{weekday}")
}

async fn week_page(conn: &mut Conn, actor: &Actor, id: Uuid, form: Form) -> Result<WeekPage> {
    let person = person::find(conn, id).await?.ok_or(Error::NotFound)?;
    let known = vehicle::list(conn).await?;
    let vehicles = known
        .into_iter()
        .filter(|(v, _)| v.retired_at.is_none())
        .map(|(v, _)| (v.id.to_string(), format!("{}, tank {} gal", v.name, v.tank_gal.normalize())))
        .collect();
    let page = Page::of(actor, format!("Working week, {}", person.name), AT);
    Ok(WeekPage { page, form, person, vehicles, days: words::WEEKDAYS })
}

/// The form as the week stands.
fn filled(working: &Working) -> Form {
    let degrees = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
    let time = |t: Option<NaiveTime>| t.map_or_else(String::new, |t| t.format("%H:%M").to_string());
    let mut form = Form::filled([
        ("vehicle", working.way.vehicle_id.map_or_else(String::new, |id| id.to_string())),
        ("latitude", degrees(working.way.start_latitude)),
        ("longitude", degrees(working.way.start_longitude)),
    ]);
    for day in &working.days {
        form.set(&part("starts", day.weekday), time(Some(day.starts)));
        form.set(&part("ends", day.weekday), time(Some(day.ends)));
        if day.break_minutes > 0 {
            form.set(&part("break", day.weekday), day.break_minutes.to_string());
            form.set(&part("from", day.weekday), time(day.break_from));
            form.set(&part("until", day.weekday), time(day.break_until));
        }
    }
    form
}

fn read_time(form: &mut Form, name: &str) -> Option<NaiveTime> {
    let text = form.value(name).to_owned();
    let read = ["%H:%M", "%H:%M:%S"].iter().find_map(|f| NaiveTime::parse_from_str(&text, f).ok());
    if read.is_none() && !text.is_empty() {
        form.fail(name, "This is not a time; write it as 07:30.");
    }
    read
}

fn read(form: &mut Form) -> Working {
    let vehicle = form.value("vehicle").to_owned();
    let vehicle_id = vehicle.parse().ok();
    if vehicle_id.is_none() && !vehicle.is_empty() {
        form.fail("vehicle", "Please choose one of these.");
    }
    let (start_latitude, start_longitude) = read_position(form);
    let days = words::WEEKDAYS.iter().filter_map(|(weekday, _)| read_day(form, *weekday)).collect();
    Working { way: Way { vehicle_id, start_latitude, start_longitude }, days }
}

/// A day without hours is a day off.
fn read_day(form: &mut Form, weekday: i16) -> Option<Day> {
    let name = |what: &str| part(what, weekday);
    let (starts, ends) = (read_time(form, &name("starts")), read_time(form, &name("ends")));
    let minutes = form.whole(&name("break"), 0..=240).unwrap_or(0);
    let (from, until) = (read_time(form, &name("from")), read_time(form, &name("until")));
    let typed = ["starts", "ends", "break", "from", "until"].iter().any(|w| !form.value(&name(w)).is_empty());
    if !typed {
        return None;
    }
    let (Some(starts), Some(ends)) = (starts, ends) else {
        let lacks = if starts.is_none() { "starts" } else { "ends" };
        if form.error(&name(lacks)).is_none() {
            form.fail(
                &name(lacks),
                "A working day has a begin and an end; leave all of it empty for a day off.",
            );
        }
        return None;
    };
    if ends <= starts {
        form.fail(&name("ends"), "The day ends before it begins.");
    }
    if minutes == 0 {
        if from.is_some() || until.is_some() {
            form.fail(&name("break"), "Say how many minutes the break takes.");
        }
        return Some(Day { weekday, starts, ends, break_minutes: 0, break_from: None, break_until: None });
    }
    // Without other words the break may lie anywhere in the day.
    let (from, until) = (from.unwrap_or(starts), until.unwrap_or(ends));
    if until - from < TimeDelta::minutes(i64::from(minutes)) {
        form.fail(&name("until"), format!("{minutes} minutes do not fit between these times."));
    } else if from < starts || until > ends {
        form.fail(&name("from"), "The break lies outside the working hours.");
    }
    Some(Day {
        weekday,
        starts,
        ends,
        break_minutes: minutes,
        break_from: Some(from),
        break_until: Some(until),
    })
}

/// GET /people/{id}/working-week
pub async fn week_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let now = working::of_person(&mut conn, id).await?.ok_or(Error::NotFound)?;
    Ok(week_page(&mut conn, &actor, id, filled(&now).remembered()).await?.into_response())
}

/// POST /people/{id}/working-week
pub async fn change_week(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let was = working::of_person(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let known = vehicle::list(&mut conn).await?;
    drop(conn);
    let now = read(&mut form);
    let name = |field: &str, value: &str| {
        let found = known.iter().find(|(v, _)| v.id.to_string() == value);
        found.filter(|_| field == "vehicle").map(|(v, _)| v.name.clone())
    };
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), name) {
        match verbs::change(&actor.doer(), id, &was, &now).await {
            Ok(()) => {
                return Ok(session::done(&state, &format!("/people/{id}"), "The working week is saved."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let again = week_page(&mut *state.pool.acquire().await?, &actor, id, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "company/terms.html")]
struct TermsPage {
    page: Page,
    form: Form,
}

fn terms_page(actor: &Actor, form: Form) -> TermsPage {
    TermsPage { page: Page::of(actor, "How days are planned", AT), form }
}

fn terms_filled(t: &Terms) -> Form {
    let degrees = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
    Form::filled([
        ("latitude", degrees(t.latitude)),
        ("longitude", degrees(t.longitude)),
        ("stop_minutes", t.stop_minutes.to_string()),
        ("plant_minutes", t.plant_minutes.normalize().to_string()),
        ("load_reserve_percent", t.load_reserve_percent.to_string()),
    ])
}

fn read_terms(form: &mut Form) -> Terms {
    let (latitude, longitude) = read_position(form);
    for name in ["stop_minutes", "plant_minutes", "load_reserve_percent"] {
        if form.value(name).is_empty() {
            form.fail(name, "Please fill this in.");
        }
    }
    let plant_minutes = form.not_negative("plant_minutes").unwrap_or_default();
    if plant_minutes > 120.into() {
        form.fail("plant_minutes", "Write a number from 0 to 120.");
    }
    Terms {
        latitude,
        longitude,
        stop_minutes: form.whole("stop_minutes", 0..=240).unwrap_or_default(),
        plant_minutes,
        load_reserve_percent: form.whole("load_reserve_percent", 0..=100).unwrap_or_default(),
    }
}

/// GET /company/terms
pub async fn terms_form(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let now = working::terms(&mut *state.pool.acquire().await?).await?.ok_or(Error::NotFound)?;
    Ok(terms_page(&actor, terms_filled(&now).remembered()).into_response())
}

/// POST /company/terms
pub async fn change_terms(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = working::terms(&mut *state.pool.acquire().await?).await?.ok_or(Error::NotFound)?;
    let now = read_terms(&mut form);
    if form.is_good() && form.is_current(&terms_filled(&was), &terms_filled(&now), as_they_are) {
        match verbs::change_terms(&actor.doer(), &was, &now).await {
            Ok(()) => return Ok(session::done(&state, "/company/terms", "Saved.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, terms_page(&actor, form)).into_response())
}
