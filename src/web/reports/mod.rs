//! What the company can report: the application log of a period, and the summaries that counties ask for.
pub mod california;
pub mod cells;
pub mod log;
pub mod registrations;

use super::{AppState, Result, page::Page, session::Actor, words};
use crate::{
    db::{
        registration::{self, Registration},
        report::{self, Worked},
    },
    domain::{
        filing::{Month, california as rule},
        record::{self, Field},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// The address of this part of the house.
const AT: &str = "/reports";
/// So many months are on one page.
const MONTHS: usize = 6;

/// Which months; the newest is the one asked for, or the current one.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    until: String,
}

/// A summary that is owed or can be made.
struct Owed {
    county: String,
    month: String,
    records: usize,
    lacking: usize,
    registered: bool,
    due_on: NaiveDate,
    badge: &'static str,
    state: String,
    href: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "report/list.html")]
struct ListPage {
    page: Page,
    owed: Vec<Owed>,
    /// States without a report of their own here, with a link to their part of the log.
    elsewhere: Vec<(String, String)>,
    log: String,
    earlier: Option<String>,
}

/// GET /reports
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let newest = Month::parse(&ask.until).unwrap_or_else(|| Month::of(actor.today));
    let months = back_from(newest);
    let (from, until) = (months.last().unwrap_or(&newest).first_day(), newest.last_day());
    let mut conn = state.pool.acquire().await?;
    let registrations = registration::list(&mut conn).await?;
    let worked = report::worked(&mut conn, from, until).await?;
    let owed = months.iter().flat_map(|month| owed(*month, actor.today, &registrations, &worked)).collect();
    let others: BTreeSet<&str> =
        worked.iter().map(|w| w.state.as_str()).filter(|state| *state != "CA").collect();
    let elsewhere =
        others.into_iter().map(|s| (s.to_owned(), log::address(AT_LOG, from, until, s, "", None)));
    let earlier = months.last().and_then(|oldest| oldest.first_day().pred_opt()).map(Month::of);
    Ok(ListPage {
        elsewhere: elsewhere.collect(),
        log: log::address(AT_LOG, Month::of(actor.today).first_day(), actor.today, "", "", None),
        earlier: earlier.map(|month| format!("{AT}?until={}", month.code())),
        page: Page::of(&actor, "Reports", AT),
        owed,
    }
    .into_response())
}

/// The page of the log.
const AT_LOG: &str = "/reports/log";

/// The months of a page, the newest first.
fn back_from(newest: Month) -> Vec<Month> {
    let before = |month: &Month| month.first_day().pred_opt().map(Month::of);
    std::iter::successors(Some(newest), before).take(MONTHS).collect()
}

/// The summaries of a month: one for each county of registration or of work.
fn owed(month: Month, today: NaiveDate, registrations: &[Registration], worked: &[Worked]) -> Vec<Owed> {
    // By the name without case, so that two spellings are one county.
    let mut counties: BTreeMap<String, (String, bool)> = BTreeMap::new();
    for one in registrations.iter().filter(|one| holds(one, month)) {
        counties.entry(one.county.to_lowercase()).or_insert((one.county.clone(), true));
    }
    let of_month = || worked.iter().filter(|w| w.state == "CA" && Month::of(w.month) == month);
    for one in of_month() {
        counties.entry(one.county.to_lowercase()).or_insert((one.county.clone(), false));
    }
    let line = |(key, (county, registered)): (String, (String, bool))| {
        let own: Vec<&Worked> = of_month().filter(|w| w.county.to_lowercase() == key).collect();
        let lacking = own.iter().filter(|w| !lacks("CA", w.restricted_use, w.present()).is_empty());
        let count = |groups: &mut dyn Iterator<Item = &&Worked>| {
            groups.flat_map(|w| w.records.iter()).collect::<BTreeSet<&Uuid>>().len()
        };
        let (badge, state) = standing(month, today);
        Owed {
            records: count(&mut own.iter()),
            lacking: count(&mut lacking.into_iter()),
            href: california::address("/reports/california", &county, month),
            month: month_words(month),
            due_on: rule::due_on(month),
            county,
            registered,
            badge,
            state,
        }
    };
    counties.into_iter().map(line).collect()
}

/// Is the company registered there on any day of the month?
fn holds(one: &Registration, month: Month) -> bool {
    one.state == "CA" && one.valid_from <= month.last_day() && one.expires_on >= month.first_day()
}

/// How a month stands on this day. Whether a summary was sent is not known here.
fn standing(month: Month, today: NaiveDate) -> (&'static str, String) {
    let due = rule::due_on(month);
    match (due - today).num_days() {
        _ if today <= month.last_day() => ("draft", "The month is not over".to_owned()),
        0 => ("due", "Due today".to_owned()),
        left if left > 0 => ("due", format!("Due in {}", words::days(left))),
        late => ("late", format!("Overdue {} unless it was sent", words::days(-late))),
    }
}

/// `October 2026`
fn month_words(month: Month) -> String {
    month.first_day().format("%B %Y").to_string()
}

/// What a record lacks by the rules of its state, each with the rule and how far it was checked.
fn lacks(state: &str, restricted_use: bool, present: Vec<Field>) -> Vec<String> {
    let missing = record::missing(state, restricted_use, &present.into_iter().collect());
    let words = missing.iter().map(|m| format!("{} ({}, {})", m.field.words(), m.source, m.mark.words()));
    words.collect()
}
