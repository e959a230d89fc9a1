//! What customers answered, for the office to act on.
use super::{
    AppState, Result,
    form::Posted,
    page::Page,
    session::{self, Actor},
    words,
};
use crate::{
    actions::answer as verbs,
    db::{
        answer::{self, Line},
        neighbour_proposal::{self, Waiting},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
};
use chrono_tz::Tz;
use serde::Deserialize;
use uuid::Uuid;

/// So many stand on the page.
const SHOWN: i64 = 200;

/// An answer in words.
pub struct Row {
    pub line: Line,
    pub given: String,
    pub badge: &'static str,
    pub said: String,
    /// Where it is booked.
    pub book: Option<String>,
}

impl Row {
    pub(super) fn of(line: Line, zone: Tz) -> Self {
        let day = line.wanted_on.map(words::day).unwrap_or_default();
        let (badge, said) = match (line.kind.as_str(), line.visit_on) {
            ("no", _) => ("off", format!("No: {}", reason(&line.reason))),
            (_, Some(on)) => ("done", format!("Yes, booked for {}", words::day(on))),
            ("yes", None) => ("due", format!("Yes, about {day}")),
            (_, None) => ("due", format!("Yes, on {day}")),
        };
        let book = (line.kind != "no" && line.visit_on.is_none()).then(|| {
            let plants: String = line.plants.iter().map(|id| format!("&plant={id}")).collect();
            let day = line.wanted_on.map(|d| d.to_string()).unwrap_or_default();
            format!("/visits/new?site={}{plants}&day={day}", line.site_id)
        });
        let given = words::day(line.given_at.with_timezone(&zone).date_naive());
        Self { given, badge, said, book, line }
    }
}

/// Why somebody said no, in words.
fn reason(code: &str) -> &'static str {
    match code {
        "price" => "the price",
        "moving" => "moved or sold the property",
        "by-themselves" => "they do it themselves",
        "not-content" => "was not content",
        "no-chemicals" => "wants no chemicals",
        "plants-gone" => "the plants are gone",
        "other-company" => "another company does it",
        _ => "another reason",
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    show: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "answer/list.html")]
struct ListPage {
    page: Page,
    rows: Vec<Row>,
    all: bool,
    /// Sites where the customer named neighbours.
    named: Vec<Waiting>,
}

/// GET /answers
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let all = ask.show == "all";
    let mut conn = state.pool.acquire().await?;
    let lines = answer::list(&mut conn, !all, SHOWN).await?;
    let named = neighbour_proposal::waiting(&mut conn, SHOWN).await?;
    let rows = lines.into_iter().map(|line| Row::of(line, actor.time_zone)).collect();
    Ok(ListPage { page: Page::of(&actor, "Answers of customers", "/reminders"), rows, all, named }
        .into_response())
}

/// POST /answers/{id}/settlements
pub async fn settle(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::settle(&actor.doer(), id).await?;
    Ok(session::done(&state, "/answers", "Settled."))
}
