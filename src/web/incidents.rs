//! Spills and other incidents: writing one down, what was reported, corrected and added since.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
    words,
};
use crate::texts::Language;
use crate::{
    actions::incident as verbs,
    db::{
        Conn,
        incident::{self, Entry, Incident, Line},
        paper,
    },
    domain::{
        incident::{Duty, KINDS, Standing, duty, stands},
        permission::Mark,
        user::Role,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{DateTime, NaiveTime, TimeZone, Utc};
use uuid::Uuid;

/// So many are on the page.
const SHOWN: i64 = 200;
/// What may be added, by the names of their texts.
const ENTRIES: [(&str, &str); 3] = [
    ("reported", "incident-entry-reported"),
    ("correction", "incident-entry-correction"),
    ("addition", "incident-entry-addition"),
];

/// The one door to an incident: the office sees all of them, a technician their own.
async fn door(conn: &mut Conn, actor: &Actor, id: Uuid) -> Result<Line> {
    let line = incident::find(conn, id).await?.ok_or(Error::NotFound)?;
    let theirs = actor.role != Role::Technician || line.entered_by == actor.id;
    if theirs { Ok(line) } else { Err(Error::NotFound) }
}

struct Row {
    line: Line,
    kind: String,
    when: String,
    state: (&'static str, String),
}

#[derive(Template, WebTemplate)]
#[template(path = "incident/list.html")]
struct ListPage {
    page: Page,
    rows: Vec<Row>,
}

#[derive(Template, WebTemplate)]
#[template(path = "incident/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    kinds: [(&'static str, String); 4],
    products: Vec<(String, String)>,
}

#[derive(Template, WebTemplate)]
#[template(path = "incident/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    row: Row,
    /// What is owed to the state, how far that was checked.
    duty: Option<(Owed, String)>,
    entries: Vec<(String, Entry)>,
    entry_kinds: [(&'static str, String); 3],
}

/// A duty in the reader's language.
struct Owed {
    how: String,
    source: String,
}

/// Where the report stands, as a badge and words.
fn state(language: Language, line: &Line, now: DateTime<Utc>) -> (&'static str, String) {
    let time = |minutes: i64| match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    };
    let timed = |text: &str, minutes: i64| language.say_of(text, "time", time(minutes));
    match stands(&line.incident.state, line.incident.happened_at, line.reported_at, now) {
        Standing::Reported => ("done", language.say("incident-state-reported")),
        Standing::ReportedLate => ("flag", language.say("incident-state-late")),
        Standing::Left(minutes) => ("due", timed("incident-state-left", minutes)),
        Standing::Overdue(minutes) => ("late", timed("incident-state-overdue", minutes)),
        Standing::AtOnce => ("late", language.say("incident-state-now")),
        Standing::Unknown => ("unsure", language.say("incident-state-unknown")),
    }
}

fn row(line: Line, page: &Page, now: DateTime<Utc>) -> Row {
    let kind = KINDS.iter().find(|(code, _)| *code == line.incident.kind).map_or("", |(_, words)| *words);
    let (kind, when) = (page.language.said(kind), moment(line.incident.happened_at, page));
    Row { kind, when, state: state(page.language, &line, now), line }
}

fn moment(at: DateTime<Utc>, page: &Page) -> String {
    let at = at.with_timezone(page.zone());
    format!("{}, {}", page.language.day(&at.date_naive()), at.format("%-I:%M %p"))
}

fn at_of(actor: &Actor) -> &'static str {
    if actor.role == Role::Technician { "/visits" } else { "/people" }
}

/// GET /incidents
pub async fn list(State(app): State<AppState>, actor: Actor) -> Result<Response> {
    let of = (actor.role == Role::Technician).then_some(actor.id);
    let lines = incident::list(&mut *app.pool.acquire().await?, of, SHOWN).await?;
    let page = Page::of(&actor, actor.reads().say("incident-list"), at_of(&actor));
    let now = app.clock.now();
    Ok(ListPage { rows: lines.into_iter().map(|line| row(line, &page, now)).collect(), page }.into_response())
}

async fn edit_page(app: &AppState, actor: &Actor, form: Form) -> Result<EditPage> {
    let language = actor.reads();
    let products = paper::products(&mut *app.pool.acquire().await?).await?;
    Ok(EditPage {
        page: Page::of(actor, language.say("incident-new"), at_of(actor)),
        form: form.speaking(language),
        kinds: KINDS.map(|(code, words)| (code, language.said(words))),
        products: products.into_iter().map(|(id, name)| (id.to_string(), name)).collect(),
    })
}

/// GET /incidents/new
pub async fn new_form(State(app): State<AppState>, actor: Actor) -> Result<Response> {
    let mut form = Form::for_new();
    form.set("on", actor.today.to_string());
    Ok(edit_page(&app, &actor, form).await?.into_response())
}

/// Day and hour where the company works; what is wrong is noted at their fields.
fn read_moment(form: &mut Form, actor: &Actor) -> DateTime<Utc> {
    let day = form.required_date("on");
    if form.value("hour").is_empty() {
        form.fail("hour", "Please fill this in.");
    }
    let hour = match form.value("hour").to_owned() {
        text if text.is_empty() => None,
        text => NaiveTime::parse_from_str(&text, "%H:%M").ok().or_else(|| {
            form.fail("hour", "This is not a time; write it as 14:30.");
            None
        }),
    };
    let Some(local) = day.zip(hour).map(|(day, hour)| day.and_time(hour)) else {
        return DateTime::<Utc>::default();
    };
    // An hour that comes twice is the first one.
    match actor.time_zone.from_local_datetime(&local).earliest() {
        Some(at) => at.to_utc(),
        None => {
            form.fail("hour", "The clocks went forward over this hour; it did not exist that day.");
            DateTime::<Utc>::default()
        }
    }
}

/// POST /incidents
pub async fn create(State(app): State<AppState>, actor: Actor, Posted(mut form): Posted) -> Result<Response> {
    let id = form.id()?;
    let kind = form.choice("kind", |code| KINDS.iter().find(|(own, _)| *own == code).map(|(own, _)| *own));
    let happened_at = read_moment(&mut form, &actor);
    let product_id = match form.value("product") {
        "" => None,
        _ => form.choice("product", |text| text.parse::<Uuid>().ok()),
    };
    let new = Incident {
        id,
        kind: kind.unwrap_or("other").to_owned(),
        happened_at,
        state: form.state("state"),
        place: form.required_line("place"),
        what: form.required("what"),
        product_id,
        amount: form.line("amount"),
        people: form.text("people"),
        done: form.text("done"),
    };
    if form.is_good() {
        match verbs::enter(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&app, &format!("/incidents/{id}"), "It is written down.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&app, &actor, form).await?).into_response())
}

async fn page(app: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ShowPage> {
    let mut conn = app.pool.acquire().await?;
    let line = door(&mut conn, actor, id).await?;
    let entries = incident::entries(&mut conn, id).await?;
    let language = actor.reads();
    let title = language.say_of("incident-at", "place", line.incident.place.as_str());
    let page = Page::of(actor, title, at_of(actor));
    let mark = |duty: &Duty| match duty.mark {
        Mark::Checked => "checked",
        Mark::PartChecked => "part checked",
        Mark::Unverified => "unverified",
    };
    Ok(ShowPage {
        duty: duty(&line.incident.state).map(|duty| {
            let (how, source) = (language.said(duty.how), language.said(duty.source));
            (Owed { how, source }, language.said(mark(duty)))
        }),
        entries: entries.into_iter().map(|e| (moment(e.at, &page), e)).collect(),
        row: row(line, &page, app.clock.now()),
        entry_kinds: ENTRIES.map(|(code, text)| (code, language.say(text))),
        page,
        form: form.speaking(language),
    })
}

/// GET /incidents/{id}
pub async fn show(State(app): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut form = Form::for_new();
    form.set("on", actor.today.to_string());
    Ok(page(&app, &actor, id, form).await?.into_response())
}

/// POST /incidents/{id}/entries
pub async fn add(
    State(app): State<AppState>,
    actor: Actor,
    Path(incident): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    door(&mut *app.pool.acquire().await?, &actor, incident).await?;
    let kind = form.choice("kind", |code| ENTRIES.iter().find(|(own, _)| *own == code).map(|(own, _)| *own));
    let mut new = Entry {
        id: form.id()?,
        incident_id: incident,
        kind: kind.unwrap_or("addition").to_owned(),
        at: read_moment(&mut form, &actor),
        reported_to: form.line("reported_to"),
        words: form.required("words"),
        entered_by_name: String::new(),
        entered_at: app.clock.now(),
    };
    match (kind, new.reported_to.is_empty()) {
        (Some("reported"), true) => form.fail("reported_to", "Say to whom it was reported, and how."),
        (Some("reported"), false) => {}
        _ => new.reported_to.clear(),
    }
    if form.is_good() {
        match verbs::add(&actor.doer(), &new).await {
            Ok(()) => {
                return Ok(session::done(
                    &app,
                    &format!("/incidents/{incident}"),
                    "It is added; what was written stays.",
                ));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    for one in &mut form.errors {
        one.message = words::sentence_in(actor.reads(), &one.message);
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&app, &actor, incident, form).await?).into_response())
}
