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
    domain::permission::{Answer, HostScope, Mark, Rule, RuleBook},
    texts::Language,
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
    land: String,
    methods: String,
    hosts: String,
    /// They are names of plants, which stay as the rule has them.
    named: bool,
    demand: String,
    words: String,
    /// First and last day in force, in words.
    days: String,
    source: String,
    /// How far it is known to hold, as a badge: kind and words.
    mark: (&'static str, String),
    /// A licensed person may answer it.
    open: bool,
}

impl Row {
    fn of(language: Language, rule: &Rule, book: &RuleBook) -> Self {
        let (kind, mark) = match (rule.mark, book.answer(rule)) {
            (_, Some(Answer::Holds { .. })) => ("done", "rule-verified-here"),
            (_, Some(Answer::SetAside { .. })) => ("off", "rule-set-aside-here"),
            (Mark::Checked, _) => ("done", "rule-checked"),
            (Mark::PartChecked, _) => ("due", "rule-part-checked"),
            (Mark::Unverified, _) => ("unsure", "rule-unverified"),
        };
        Self {
            code: rule.code,
            place: words::place(rule),
            ingredients: rule.ingredients.join(", "),
            land: language.said(words::land(rule.land)),
            methods: words::methods(language, rule.methods),
            hosts: language.said(&words::hosts(rule.hosts)),
            named: matches!(rule.hosts, HostScope::Named(_)),
            demand: language.said(&words::demand(rule)),
            words: language.said(rule.words),
            days: words::days(language, rule),
            source: super::words::sentence_in(language, &book.source(rule)),
            mark: (kind, language.say(mark)),
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
    let rows = asked.map(|rule| Row::of(actor.reads(), rule, &book)).collect();
    let form = Form::filled([("state", ask.state)]).speaking(actor.reads());
    let page = Page::of(&actor, actor.reads().say("rule-title"), AT);
    Ok(ListPage { page, form, rows, states, narrowed }.into_response())
}
