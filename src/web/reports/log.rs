//! The application log of a period, as a page and as a file with the same cells.
use super::{AT, AT_LOG, cells};
use crate::{
    db::report::{self, Filter, Place},
    domain::{cell::Cell, filing::Month},
    output::table::Format,
    web::{
        AppState, Result,
        export::{self, Asked, Source},
        form::Form,
        page::Page,
        session::Actor,
        words,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;
use std::{borrow::Cow, collections::BTreeSet};
use uuid::Uuid;

/// Rows a page.
const PAGE: usize = 50;
/// So many rows fit one page that is to be printed; a longer log is for the file.
const WHOLE: usize = 5_000;
/// More rows than this are better made in the background.
const BIG: i64 = 20_000;

/// What the address asks for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    from: String,
    until: String,
    state: String,
    county: String,
    after: String,
    /// `1`: every row on one page.
    all: String,
}

impl Ask {
    /// The filter, and the form with what is wrong in it. Without days, the current month up to today.
    pub(in crate::web) fn read(&self, today: NaiveDate) -> (Form, Filter) {
        let first = Month::of(today).first_day();
        let or = |text: &str, day: NaiveDate| if text.is_empty() { day.to_string() } else { text.to_owned() };
        let mut form = Form::filled([
            ("from", or(&self.from, first)),
            ("until", or(&self.until, today)),
            ("state", self.state.trim().to_uppercase()),
            ("county", self.county.clone()),
        ]);
        let (from, until) = (form.date("from"), form.date("until"));
        if from.zip(until).is_some_and(|(from, until)| until < from) {
            form.fail("until", "The last day comes before the first.");
        }
        let (state, county) = (form.value("state").to_owned(), form.text("county"));
        let filter = Filter { from: from.unwrap_or(first), until: until.unwrap_or(today), state, county };
        (form, filter)
    }
}

/// An address of the log with this filter.
pub(in crate::web) fn address(
    path: &str,
    from: NaiveDate,
    until: NaiveDate,
    state: &str,
    county: &str,
    after: Option<Place>,
) -> String {
    let after = after.map(|p| format!("{}_{}_{}", p.applied_on, p.record_id, p.position)).unwrap_or_default();
    let (from, until) = (from.to_string(), until.to_string());
    let ask =
        [("from", from.as_str()), ("until", &until), ("state", state), ("county", county), ("after", &after)];
    let ask: Vec<_> = ask.into_iter().filter(|(_, v)| !v.is_empty()).collect();
    format!("{path}?{}", serde_urlencoded::to_string(ask).unwrap_or_default())
}

/// Reads the place that an address names.
fn place(text: &str) -> Option<Place> {
    let mut parts = text.split('_');
    let place = Place {
        applied_on: parts.next()?.parse().ok()?,
        record_id: parts.next()?.parse().ok()?,
        position: parts.next()?.parse().ok()?,
    };
    parts.next().is_none().then_some(place)
}

/// A row of the page.
struct Row {
    record: Uuid,
    cells: Vec<Cell>,
}

impl Row {
    /// What stands in the column, as in the file.
    fn get(&self, column: &str) -> Cow<'_, str> {
        let position = cells::COLUMNS.iter().position(|name| *name == column);
        position.and_then(|at| self.cells.get(at)).map(Cell::plain).unwrap_or_default()
    }

    fn has(&self, column: &str) -> bool {
        !self.get(column).is_empty()
    }

    fn day(&self) -> String {
        if let Some(Cell::Day(day)) = self.cells.first() { words::day(*day) } else { String::new() }
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "report/log.html")]
struct LogPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
    totals: (i64, i64),
    period: String,
    states: Choices,
    counties: Choices,
    file: String,
    workbook: String,
    paper: String,
    /// Where a workbook of so many rows is asked for in the background.
    background: Option<String>,
    next: Option<String>,
    /// Every row on one page, where this page does not hold all of them.
    whole: Option<String>,
    /// More rows than one page may hold were asked for.
    too_long: bool,
    prepared_by: String,
    today: NaiveDate,
}

/// GET /reports/log
pub async fn show(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let (form, filter) = ask.read(actor.today);
    let mut conn = state.pool.acquire().await?;
    let (mut lines, mut totals, mut after, mut most) = (vec![], (0, 0), None, PAGE);
    if form.is_good() {
        totals = report::totals(&mut conn, &filter).await?;
        (after, most) =
            if ask.all == "1" && fits(totals.0) { (None, WHOLE) } else { (place(&ask.after), PAGE) };
        let limit = i64::try_from(most + 1).unwrap_or(i64::MAX);
        lines = report::lines(&mut conn, &filter, after, Some(limit)).await?;
    }
    let more = lines.len() > most;
    lines.truncate(most);
    let on =
        |path: &str, after| address(path, filter.from, filter.until, &filter.state, &filter.county, after);
    let whole = (more || after.is_some()).then(|| format!("{}&all=1", on(AT_LOG, None)));
    let next = lines.last().filter(|_| more).map(|line| on(AT_LOG, Some(line.place())));
    let (states, counties) = choices(report::places(&mut conn).await?, &filter);
    let status = if form.is_good() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let mut cells = cells::Rows::default();
    let shown = LogPage {
        page: Page::of(&actor, "Application log", AT),
        rows: lines.into_iter().map(|line| Row { record: line.record_id, cells: cells.row(line) }).collect(),
        period: format!("{} to {}", words::day(filter.from), words::day(filter.until)),
        file: on("/reports/log.csv", None),
        workbook: on("/reports/log.xlsx", None),
        paper: on("/reports/log.pdf", None),
        background: (totals.0 > BIG).then(|| on("/exports/log.xlsx", None)),
        prepared_by: actor.name.clone(),
        today: actor.today,
        form,
        totals,
        states,
        counties,
        next,
        too_long: !fits(totals.0),
        whole,
    };
    Ok((status, shown).into_response())
}

/// Whether so many rows fit one page.
fn fits(rows: i64) -> bool {
    usize::try_from(rows).is_ok_and(|rows| rows <= WHOLE)
}

/// Values of a choice with their words.
type Choices = Vec<(String, String)>;

/// Choices of the filter: where there are sites, and what the address already names.
fn choices(places: Vec<(String, String)>, filter: &Filter) -> (Choices, Choices) {
    let asked = (filter.state.clone(), filter.county.clone());
    let (states, counties): (BTreeSet<_>, BTreeSet<_>) = places.into_iter().chain([asked]).unzip();
    let pairs = |set: BTreeSet<String>| {
        set.into_iter().filter(|v| !v.is_empty()).map(|v| (v.clone(), v)).collect::<Choices>()
    };
    (pairs(states), pairs(counties))
}

/// GET /reports/log.csv
pub async fn file(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    download(state, actor, ask, Format::Csv).await
}

/// GET /reports/log.xlsx
pub async fn workbook(
    State(state): State<AppState>,
    actor: Actor,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    download(state, actor, ask, Format::Xlsx).await
}

/// GET /reports/log.pdf
pub async fn paper(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    download(state, actor, ask, Format::Pdf).await
}

async fn download(state: AppState, actor: Actor, ask: Ask, format: Format) -> Result<Response> {
    let (form, filter) = ask.read(actor.today);
    if !form.is_good() {
        return show(State(state), actor, Query(ask)).await;
    }
    let file = format!("/exports/log.{}", format.code());
    let address = address(&file, filter.from, filter.until, &filter.state, &filter.county, None);
    let asked = Asked { number: None, address, background: true };
    export::of_actor(&state, &actor, Source::Log(filter), format, &asked).await
}
