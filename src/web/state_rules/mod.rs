//! The rules of states as a table, the answers of licensed persons about those that ship unverified, and the
//! pests that states list.
mod answer;
mod pests;
mod words;

pub use answer::{answer, show};
pub use pests::{list_pest, pest_badge, pests, unlist_pest};

use super::{AppState, Result, form::Form, page::Page, session::Actor};
use crate::{
    db::{Conn, state_rule},
    domain::permission::{Answer, Mark, Rule, RuleBook},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Response},
};
use serde::Deserialize;

/// The rules belong to what may be done with products.
const AT: &str = "/products";

/// The rules with the newest answers.
async fn book(conn: &mut Conn) -> Result<RuleBook> {
    let given = state_rule::newest(conn).await?;
    let answers = given.iter().filter_map(state_rule::Given::answer).collect();
    Ok(RuleBook { answers, ..RuleBook::default() })
}

/// A rule in words.
struct Row {
    code: &'static str,
    place: String,
    ingredients: String,
    land: &'static str,
    methods: String,
    hosts: String,
    demand: String,
    words: &'static str,
    /// First and last day in force, in words.
    days: String,
    source: String,
    /// How far it is known to hold, as a badge: kind and words.
    mark: (&'static str, &'static str),
    /// A licensed person may answer it.
    open: bool,
}

impl Row {
    fn of(rule: &Rule, book: &RuleBook) -> Self {
        let mark = match (rule.mark, book.answer(rule)) {
            (_, Some(Answer::Holds { .. })) => ("done", "Verified here"),
            (_, Some(Answer::SetAside { .. })) => ("off", "Set aside here"),
            (Mark::Checked, _) => ("done", "Checked"),
            (Mark::PartChecked, _) => ("due", "Part checked"),
            (Mark::Unverified, _) => ("unsure", "Unverified"),
        };
        Self {
            code: rule.code,
            place: words::place(rule),
            ingredients: rule.ingredients.join(", "),
            land: words::land(rule.land),
            methods: words::methods(rule.methods),
            hosts: words::hosts(rule.hosts),
            demand: words::demand(rule),
            words: rule.words,
            days: words::days(rule),
            source: super::words::sentence(&book.source(rule)),
            mark,
            open: rule.mark == Mark::Unverified,
        }
    }
}

/// What the address may ask for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    state: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "state_rule/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
    states: Vec<(&'static str, &'static str)>,
    narrowed: bool,
}

/// GET /state-rules?state=..
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let book = book(&mut *state.pool.acquire().await?).await?;
    let mut states: Vec<(&str, &str)> = book.rules.iter().map(|r| (r.state, words::state(r.state))).collect();
    states.dedup();
    let narrowed = !ask.state.is_empty();
    let asked = book.rules.iter().filter(|rule| !narrowed || rule.state == ask.state);
    let rows = asked.map(|rule| Row::of(rule, &book)).collect();
    let form = Form::filled([("state", ask.state)]);
    let page = Page::of(&actor, "State rules", AT);
    Ok(ListPage { page, form, rows, states, narrowed }.into_response())
}
