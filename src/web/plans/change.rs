//! Changing a plan by hand, and releasing it.
use super::{AT, page, rows::time, week};
use crate::{
    actions::plan::{self as verbs, Step},
    db::{
        plan::{self, Stop},
        seek::Seek,
        site::{self, Line},
    },
    web::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
        words,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;
use uuid::Uuid;

/// A day to which the stop could go.
struct Row {
    technician: Uuid,
    on: NaiveDate,
    name: String,
    hours: String,
    /// What it would do to the driving, or why not.
    answer: Result<String, String>,
}

#[derive(Template, WebTemplate)]
#[template(path = "plan/move.html")]
struct MovePage {
    page: Page,
    form: Form,
    monday: NaiveDate,
    stop: Stop,
    stands: Option<String>,
    rows: Vec<Row>,
}

#[derive(Template, WebTemplate)]
#[template(path = "plan/add.html")]
struct AddPage {
    page: Page,
    form: Form,
    monday: NaiveDate,
    version: i32,
    lines: Vec<Line>,
    /// There are more that match.
    more: bool,
}

/// GET /plans/{monday}/stops/{id}
pub async fn move_form(
    State(state): State<AppState>,
    actor: Actor,
    Path((monday, id)): Path<(String, Uuid)>,
) -> Result<Response> {
    Ok(move_page(&state, &actor, week(&monday)?, id, Form::default()).await?.into_response())
}

async fn move_page(
    state: &AppState,
    actor: &Actor,
    monday: NaiveDate,
    id: Uuid,
    mut form: Form,
) -> Result<MovePage> {
    let version = version(state, monday).await?;
    let (stop, choices) = verbs::choices(&actor.doer(), monday, id).await?;
    form.set("version", version.to_string());
    let rows = choices.into_iter().map(|choice| Row {
        technician: choice.day.technician_id,
        on: choice.day.on_date,
        hours: format!("{} to {}", time(choice.day.starts), time(choice.day.ends)),
        name: choice.day.technician_name,
        answer: choice.answer.map(verbs::effect).map_err(|why| words::sentence(&why)),
    });
    let day = stop.on_date.and_then(|on| Some(format!("{}, {}", words::day(on), time(stop.arrives_at?))));
    Ok(MovePage {
        page: Page::of(actor, format!("Stop, {}", stop.street), AT),
        rows: rows.collect(),
        stands: day,
        form,
        monday,
        stop,
    })
}

async fn version(state: &AppState, monday: NaiveDate) -> Result<i32> {
    let found = plan::of_week(&mut *state.pool.acquire().await?, monday).await?;
    Ok(found.ok_or(Error::NotFound)?.version)
}

/// POST /plans/{monday}/stops/{id} : `step` is earlier, later, lock, unlock, remove or move.
pub async fn change(
    State(state): State<AppState>,
    actor: Actor,
    Path((monday, id)): Path<(String, Uuid)>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let monday = week(&monday)?;
    let seen = form.choice("version", |text| text.parse::<i32>().ok());
    let step = match form.value("step") {
        "earlier" => Some(Step::Earlier),
        "later" => Some(Step::Later),
        "lock" => Some(Step::Lock),
        "unlock" => Some(Step::Unlock),
        "remove" => Some(Step::Remove),
        "move" => {
            let technician = form.value("technician").parse().ok();
            technician.zip(form.value("on").parse().ok()).map(|(technician, on)| Step::To(technician, on))
        }
        _ => None,
    };
    let (Some(seen), Some(step)) = (seen, step) else {
        return Err(Error::Unreadable("The form does not say what is to become of the stop."));
    };
    match verbs::change(&actor.doer(), monday, seen, id, step).await {
        Ok(told) => {
            let at = if step == Step::Remove { String::new() } else { format!("#s-{id}") };
            return Ok(session::done(&state, &format!("/plans/{monday}{at}"), &words::sentence(&told)));
        }
        Err(e) => form.absorb(e)?,
    }
    for error in &mut form.errors {
        error.message = words::sentence(&error.message);
        error.name.clear();
    }
    let back = form.value("back") == "stop";
    let still_there = plan_has(&state, monday, id).await?;
    if back && still_there {
        let again = move_page(&state, &actor, monday, id, form).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response());
    }
    page(&actor, monday, Some(form), true).await
}

async fn plan_has(state: &AppState, monday: NaiveDate, id: Uuid) -> Result<bool> {
    let mut conn = state.pool.acquire().await?;
    let Some(found) = plan::of_week(&mut conn, monday).await? else { return Ok(false) };
    Ok(plan::stop(&mut conn, found.id, id).await?.is_some())
}

/// What the search for a site asks.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Search {
    q: String,
}

/// GET /plans/{monday}/stops/new?q=
pub async fn add_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(monday): Path<String>,
    Query(search): Query<Search>,
) -> Result<Response> {
    let form = Form::filled([("q", search.q)]);
    Ok(add_page(&state, &actor, week(&monday)?, form).await?.into_response())
}

async fn add_page(state: &AppState, actor: &Actor, monday: NaiveDate, form: Form) -> Result<AddPage> {
    let version = version(state, monday).await?;
    let searched = form.value("q").to_owned();
    let found = match searched.as_str() {
        "" => None,
        words => Some(site::list(&mut *state.pool.acquire().await?, Seek::First, words, false).await?),
    };
    let more = found.as_ref().is_some_and(|found| found.later);
    let lines = found.map(|found| found.rows).unwrap_or_default();
    Ok(AddPage { page: Page::of(actor, "Add a site to the week", AT), form, monday, version, lines, more })
}

/// POST /plans/{monday}/stops
pub async fn add(
    State(state): State<AppState>,
    actor: Actor,
    Path(monday): Path<String>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let monday = week(&monday)?;
    let seen = form.choice("version", |text| text.parse::<i32>().ok());
    let site = form.choice("site", |text| text.parse::<Uuid>().ok());
    if let (Some(seen), Some(site)) = (seen, site) {
        match verbs::add_site(&actor.doer(), monday, seen, site).await {
            Ok(told) => {
                return Ok(session::done(&state, &format!("/plans/{monday}"), &words::sentence(&told)));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    for error in &mut form.errors {
        error.message = words::sentence(&error.message);
        error.name.clear();
    }
    let again = add_page(&state, &actor, monday, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// POST /plans/{monday}/releases
pub async fn release(
    State(state): State<AppState>,
    actor: Actor,
    Path(monday): Path<String>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let monday = week(&monday)?;
    let seen = form.choice("version", |text| text.parse::<i32>().ok());
    if let Some(seen) = seen {
        match verbs::release(&actor.doer(), monday, seen).await {
            Ok(done) => {
                return Ok(session::done(&state, &format!("/plans/{monday}"), &told(&done)));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    for error in &mut form.errors {
        error.name.clear();
    }
    page(&actor, monday, Some(form), true).await
}

fn told(done: &verbs::Released) -> String {
    let stops = if done.stops == 1 { "1 stop is".to_owned() } else { format!("{} stops are", done.stops) };
    let refused = match done.refused {
        0 => String::new(),
        1 => " One was refused; it says why below.".to_owned(),
        n => format!(" {n} were refused; each says why below."),
    };
    let open = match done.open {
        0 => String::new(),
        1 => " One of them may not begin before a notice or sign by law is done: its visit says which."
            .to_owned(),
        n => format!(
            " {n} of them may not begin before notices or signs by law are done: each visit says which."
        ),
    };
    format!("{stops} released to the technicians.{refused}{open}")
}
