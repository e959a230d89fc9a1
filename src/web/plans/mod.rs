//! The week's plan: choose who goes out, watch it being calculated, change it, release it.
mod change;
mod rows;
mod start;

pub use change::{add, add_form, change, move_form, release};
pub use start::{start, stop};

use super::{AppState, Error, Result, form::Form, page::Page, session::Actor, words};
use crate::{
    actions::plan::{self as verbs, Before, Shown},
    db::plan::{self, Line, Run},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};
use chrono::{Datelike, Days, NaiveDate, Weekday};
use rows::{DayRows, StopRow};
use serde::Deserialize;

const AT: &str = "/plans";
/// Weeks on the list.
const WEEKS: i64 = 52;
/// How often the page asks by itself whether the calculation is further, in seconds.
const AGAIN: &str = "2";

#[derive(Template, WebTemplate)]
#[template(path = "plan/list.html")]
struct ListPage {
    page: Page,
    this_week: NaiveDate,
    next_week: NaiveDate,
    lines: Vec<(Line, &'static str, &'static str)>,
}

/// GET /plans
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let lines = plan::list(&mut *state.pool.acquire().await?, WEEKS).await?;
    let this_week = verbs::monday_of(actor.today);
    let told = |line: Line| {
        let (kind, words) = badge(line.running, line.version, line.released_version);
        (line, kind, words)
    };
    Ok(ListPage {
        page: Page::of(&actor, "Weeks", AT),
        this_week,
        next_week: this_week + Days::new(7),
        lines: lines.into_iter().map(told).collect(),
    }
    .into_response())
}

/// Where a plan stands as a badge: kind and words.
fn badge(running: bool, version: i32, released: Option<i32>) -> (&'static str, &'static str) {
    match released {
        _ if running => ("soon", "Being calculated"),
        Some(released) if released == version => ("done", "Released"),
        Some(_) => ("due", "Changed since its release"),
        None => ("draft", "Not released"),
    }
}

/// What the address may ask for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    /// Not empty: the page does not ask again by itself.
    still: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "plan/start.html")]
struct StartPage {
    page: Page,
    form: Form,
    monday: NaiveDate,
    sunday: NaiveDate,
    /// The week is over.
    over: bool,
    before: Before,
    people: Vec<(String, String)>,
    seconds: Vec<(String, String)>,
}

#[derive(Template, WebTemplate)]
#[template(path = "plan/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    monday: NaiveDate,
    over: bool,
    state: (&'static str, &'static str),
    /// There is something that the technicians do not have yet.
    can_release: bool,
    shown: Shown,
    /// Days with stops, and those without.
    days: Vec<DayRows>,
    idle: Vec<String>,
    left_out: Vec<StopRow>,
    run: Option<Run>,
    /// It is being calculated.
    goes_on: bool,
    still: bool,
    people: Vec<(String, String)>,
    absent: Vec<verbs::Absent>,
    seconds: Vec<(String, String)>,
}

/// The Monday that an address names; any other day is no week.
fn week(text: &str) -> Result<NaiveDate> {
    let day: NaiveDate = text.parse().map_err(|_| Error::NotFound)?;
    let sensible = (2000..2200).contains(&day.year()) && day.weekday() == Weekday::Mon;
    if sensible { Ok(day) } else { Err(Error::NotFound) }
}

/// GET /plans/{monday}
pub async fn show(
    State(state): State<AppState>,
    actor: Actor,
    Path(monday): Path<String>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    let _ = state;
    page(&actor, week(&monday)?, None, !ask.still.is_empty()).await
}

/// The page of a week: its plan, or the form that begins one. A form that failed comes back as typed.
async fn page(actor: &Actor, monday: NaiveDate, failed: Option<Form>, still: bool) -> Result<Response> {
    let status = if failed.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let Some(shown) = verbs::shown(&actor.doer(), monday).await? else {
        return Ok((status, start_page(actor, monday, failed).await?).into_response());
    };
    let still = still || failed.is_some();
    let goes_on = shown.run.as_ref().is_some_and(Run::goes_on);
    let mut response = (status, show_page(actor, monday, failed, shown, still).await?).into_response();
    if goes_on && !still {
        response.headers_mut().insert(header::REFRESH, HeaderValue::from_static(AGAIN));
    }
    Ok(response)
}

/// The Monday a week before, for templates.
#[must_use]
pub fn before(monday: NaiveDate) -> NaiveDate {
    monday - Days::new(7)
}

/// The Monday a week after.
#[must_use]
pub fn after(monday: NaiveDate) -> NaiveDate {
    monday + Days::new(7)
}

fn title(monday: NaiveDate) -> String {
    format!("Week of {}", words::day(monday))
}

async fn start_page(actor: &Actor, monday: NaiveDate, failed: Option<Form>) -> Result<StartPage> {
    let before = verbs::before(&actor.doer(), monday).await?;
    let people = choices(&before.people);
    let form = failed.unwrap_or_else(|| fresh(0, &people));
    Ok(StartPage {
        page: Page::of(actor, title(monday), AT),
        form,
        monday,
        sunday: verbs::last_day(monday),
        over: verbs::last_day(monday) < actor.today,
        before,
        people,
        seconds: seconds(),
    })
}

/// Everybody who can be sent out, chosen beforehand.
fn choices(people: &[verbs::Absent]) -> Vec<(String, String)> {
    let able = people.iter().filter(|p| p.why.is_none());
    able.map(|p| (p.worker.id.to_string(), p.worker.name.clone())).collect()
}

fn fresh(version: i32, people: &[(String, String)]) -> Form {
    let mut form = Form::for_new();
    form.set("version", version.to_string());
    form.set("seconds", verbs::SECONDS[1].to_string());
    form.values.extend(people.iter().map(|(id, _)| ("technicians".to_owned(), id.clone())));
    form
}

fn seconds() -> Vec<(String, String)> {
    let words = |s: u32| {
        if s < 60 {
            format!("{s} seconds")
        } else {
            format!("{} minute{}", s / 60, if s == 60 { "" } else { "s" })
        }
    };
    verbs::SECONDS.iter().map(|s| (s.to_string(), words(*s))).collect()
}

async fn show_page(
    actor: &Actor,
    monday: NaiveDate,
    failed: Option<Form>,
    shown: Shown,
    still: bool,
) -> Result<ShowPage> {
    let before = verbs::before(&actor.doer(), monday).await?;
    let people = choices(&before.people);
    let version = shown.plan.version;
    // What was typed stays; the version is the one that the page now shows.
    let mut form = failed.unwrap_or_else(|| fresh(version, &people));
    form.set("version", version.to_string());
    if form.value("id").is_empty() {
        form.set("id", uuid::Uuid::now_v7().to_string());
    }
    if form.value("seconds").is_empty() {
        form.set("seconds", verbs::SECONDS[1].to_string());
    }
    let run = shown.run.clone();
    let goes_on = run.as_ref().is_some_and(Run::goes_on);
    let refused = shown.days.iter().flat_map(|d| &d.stops).any(|s| !s.unserved_why.is_empty());
    let (busy, idle): (Vec<_>, Vec<_>) = shown.days.iter().partition(|d| !d.stops.is_empty());
    Ok(ShowPage {
        page: Page::of(actor, title(monday), AT),
        monday,
        over: verbs::last_day(monday) < actor.today,
        state: badge(goes_on, version, shown.plan.released_version),
        can_release: !goes_on && (refused || shown.plan.released_version != Some(version)),
        days: busy.into_iter().map(|day| DayRows::of(day, &shown, monday)).collect(),
        idle: idle
            .iter()
            .map(|d| format!("{}, {}", d.day.technician_name, words::day(d.day.on_date)))
            .collect(),
        left_out: shown.left_out.iter().map(|stop| StopRow::of(stop, &shown, monday)).collect(),
        absent: shown.without_a_day.clone(),
        run,
        goes_on,
        still,
        form,
        people,
        seconds: seconds(),
        shown,
    })
}
