//! The company's papers: what it keeps, what runs out, what is missing; entering and striking out.
mod containers;
mod edit;
pub mod notices;

pub use containers::{container_labels, container_sheet};
pub use edit::{create, new_form};
pub use notices::notices as notice_log;

use super::{
    AppState, Result,
    form::{Form, Posted},
    page::Page,
    pour,
    session::{self, Actor},
    words,
};
use crate::{
    actions::paper as verbs,
    db::{
        Conn, incident,
        paper::{self, Ending, Held, Line, Trained},
    },
    domain::{
        calendar::add_days,
        paper::{Kind, SUPERVISED_MOST, Standing, Units, standing, training_counts_until},
        quantity::{from_decimal, plain},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use uuid::Uuid;

const AT: &str = "/people";
/// So many papers of a kind are on the page.
const SHOWN: i64 = 100;

/// Something to be seen to: badge, words, last day, where to go.
pub struct Warning {
    pub badge: &'static str,
    pub state: String,
    pub words: String,
    pub href: String,
}

/// A certification with its training units.
struct HeldRow {
    held: Held,
    state: (&'static str, String),
    earned: String,
    needed: String,
    missing: Option<String>,
    field: String,
}

/// A technician's training of one kind.
struct TrainedRow {
    person: String,
    what: &'static str,
    last: Option<NaiveDate>,
    until: Option<NaiveDate>,
    state: (&'static str, String),
}

/// A paper in words.
struct PaperRow {
    line: Line,
    about: String,
    state: Option<(&'static str, String)>,
}

/// The papers of one kind.
struct Section {
    kind: Kind,
    rows: Vec<PaperRow>,
    empty: &'static str,
}

#[derive(Template, WebTemplate)]
#[template(path = "paper/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    warnings: Vec<Warning>,
    held: Vec<HeldRow>,
    trained: Vec<TrainedRow>,
    sections: Vec<Section>,
    supervised: Vec<(String, i64, bool)>,
    incidents: usize,
    owner: bool,
}

fn state(last_day: NaiveDate, today: NaiveDate, warn: u32) -> (&'static str, String) {
    match standing(last_day, today, warn) {
        Standing::Lapsed => ("late", format!("Lapsed since {}", words::day(last_day))),
        Standing::Soon => {
            let left = (last_day - today).num_days();
            ("due", if left == 0 { "Ends today".to_owned() } else { format!("{} left", words::days(left)) })
        }
        Standing::Good => ("done", "Holds".to_owned()),
    }
}

/// What the company should see to, the most pressing first: for this page and for the owner's first page.
///
/// # Errors
/// When the database does not answer.
pub async fn warnings(conn: &mut Conn, today: NaiveDate) -> Result<Vec<Warning>> {
    let warn = u32::try_from(paper::warning_days(conn).await?).unwrap_or(60);
    let mut all: Vec<Warning> = vec![];
    for line in incident::unreported(conn).await? {
        let words = format!("Incident at {}: nobody has reported it yet", line.incident.place);
        let href = format!("/incidents/{}", line.incident.id);
        all.push(Warning { badge: "late", state: "Not reported".to_owned(), words, href });
    }
    let ending = |one: Ending| {
        let (badge, state) = state(one.last_day, today, warn);
        let words = format!("{}, last day {}", one.words, words::day(one.last_day));
        Warning { badge, state, words, href: one.href }
    };
    all.extend(paper::ending(conn, add_days(today, warn)).await?.into_iter().map(ending));
    for held in paper::certifications(conn).await? {
        let missing =
            units(&held).missing().filter(|_| standing(held.expires_on, today, warn) == Standing::Soon);
        if let Some(missing) = missing {
            let words = format!(
                "{}: {} training units are still missing for {} {}, which ends {}",
                held.person,
                plain(&missing),
                held.state,
                held.category,
                words::day(held.expires_on)
            );
            let badge = "due";
            all.push(Warning { badge, state: "Units missing".to_owned(), words, href: "/papers".to_owned() });
        }
    }
    for one in paper::trained(conn).await? {
        // One that was never held stands in the page's own table; not every state asks for it.
        let Some(until) = one.last.map(training_counts_until) else { continue };
        if standing(until, today, warn) != Standing::Good {
            let (badge, state) = state(until, today, warn);
            let what = Kind::from_code(&one.kind).map_or("", Kind::words).to_lowercase();
            let words = format!("{}: {what} counts until {}", one.person, words::day(until));
            all.push(Warning { badge, state, words, href: "/papers".to_owned() });
        }
    }
    Ok(all)
}

fn units(held: &Held) -> Units {
    Units { earned: from_decimal(held.units_earned), needed: held.units_needed.map(from_decimal) }
}

fn held_row(held: Held, today: NaiveDate, warn: u32) -> HeldRow {
    let units = units(&held);
    HeldRow {
        state: state(held.expires_on, today, warn),
        earned: plain(&units.earned),
        needed: units.needed.as_ref().map(plain).unwrap_or_default(),
        missing: units.missing().as_ref().map(plain),
        field: format!("units-{}", held.id),
        held,
    }
}

fn trained_row(one: Trained, today: NaiveDate, warn: u32) -> TrainedRow {
    let until = one.last.map(training_counts_until);
    TrainedRow {
        state: until.map_or(("late", "Never held".to_owned()), |until| state(until, today, warn)),
        what: Kind::from_code(&one.kind).map_or("", Kind::words),
        last: one.last,
        until,
        person: one.person,
    }
}

fn paper_row(line: Line, today: NaiveDate, warn: u32) -> PaperRow {
    let p = &line.paper;
    let amount = p.amount.map(pour::number).unwrap_or_default();
    let about = match Kind::from_code(&p.kind) {
        Some(Kind::Insurance) => {
            format!("${}, policy {}", thousands(&amount), p.number)
        }
        Some(Kind::RestrictedPurchase) => format!(
            "{amount} {} of {}; dealer's licence {}",
            words::unit(p.unit.as_deref().unwrap_or_default()),
            line.product.clone().unwrap_or_default(),
            p.number
        ),
        Some(Kind::TrainingUnits) => {
            format!("{amount} units for {}", line.certification.clone().unwrap_or_default())
        }
        Some(Kind::HandlerTraining | Kind::LabelReview) => format!(
            "held by {}; took part: {}",
            line.trainer.clone().unwrap_or_default(),
            line.people.join(", ")
        ),
        None => String::new(),
    };
    let state = match (&line.struck_by, p.last_day) {
        (Some(_), _) => Some(("off", "Struck out".to_owned())),
        (None, Some(last)) => Some(state(last, today, warn)),
        (None, None) => None,
    };
    PaperRow { about, state, line }
}

fn thousands(whole: &str) -> String {
    let money = from_decimal(whole.parse().unwrap_or_default());
    let words = crate::domain::money::Money::rounded(&money).words();
    words.trim_start_matches('$').trim_end_matches(".00").to_owned()
}

fn empty(kind: Kind) -> &'static str {
    match kind {
        Kind::Insurance => {
            "None entered. Example: liability, $1,000,000, policy L-990-17, Jan 1 to Dec 31, 2026."
        }
        Kind::RestrictedPurchase => {
            "None entered. Each purchase of a restricted-use product with dealer, licence, amount and day."
        }
        Kind::HandlerTraining => {
            "None entered. Example: mixing and spills, held Mar 3, 2026, with who took part."
        }
        Kind::LabelReview => "None entered. Example: the drench's label gone through with the staff.",
        Kind::TrainingUnits => "None entered. Example: 4 units, course on soil and water, proof 2026-114.",
    }
}

async fn page(app: &AppState, actor: &Actor, form: Form) -> Result<ListPage> {
    let mut conn = app.pool.acquire().await?;
    let today = actor.today;
    let warn = u32::try_from(paper::warning_days(&mut conn).await?).unwrap_or(60);
    let mut form = form;
    if form.value("days").is_empty() {
        form.set("days", warn.to_string());
    }
    let mut sections = vec![];
    for kind in Kind::ALL {
        let lines = paper::of_kind(&mut conn, kind.code(), SHOWN).await?;
        let rows = lines.into_iter().map(|line| paper_row(line, today, warn)).collect();
        sections.push(Section { kind, rows, empty: empty(kind) });
    }
    let held = paper::certifications(&mut conn).await?;
    let trained = paper::trained(&mut conn).await?;
    let supervised = paper::supervised(&mut conn).await?;
    Ok(ListPage {
        page: Page::of(actor, "Company papers", AT),
        form,
        warnings: warnings(&mut conn, today).await?,
        held: held.into_iter().map(|one| held_row(one, today, warn)).collect(),
        trained: trained.into_iter().map(|one| trained_row(one, today, warn)).collect(),
        supervised: supervised
            .into_iter()
            .map(|(name, count)| (name, count, count > i64::from(SUPERVISED_MOST)))
            .collect(),
        incidents: incident::unreported(&mut conn).await?.len(),
        owner: actor.role.may_manage_company(),
        sections,
    })
}

/// GET /papers
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    Ok(page(&state, &actor, Form::default()).await?.into_response())
}

/// POST /papers/{id}/strikes
pub async fn strike(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let reason = form.required_line("reason");
    if form.is_good() {
        match verbs::strike(&actor.doer(), id, &reason).await {
            Ok(()) => return Ok(session::done(&state, "/papers", "Struck out. It stays readable.")),
            Err(e) => form.absorb(e)?,
        }
    }
    let mut again = Form::default();
    again.fail("form", "Say why the paper is struck out.");
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, again).await?).into_response())
}

/// POST /papers/warnings
pub async fn warn_before(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let days = form.whole("days", 1..=730);
    if form.value("days").is_empty() {
        form.fail("days", "Please fill this in.");
    }
    if let (Some(days), true) = (days, form.is_good()) {
        verbs::warn_before(&actor.doer(), days).await?;
        return Ok(session::done(&state, "/papers", "Saved."));
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, form).await?).into_response())
}

/// POST /certifications/{id}/units
pub async fn need_units(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let field = format!("units-{id}");
    let needed = form.not_negative(&field);
    if form.is_good() {
        verbs::need_units(&actor.doer(), id, needed).await?;
        return Ok(session::done(&state, "/papers", "Saved."));
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, form).await?).into_response())
}
