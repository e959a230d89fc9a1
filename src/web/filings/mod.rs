//! What is owed to regulators: the list, one report before it is sent, what was sent, and each state's rules.
mod columns;
pub mod log;
mod one;
mod rules;

pub use one::{file, mark, paper, sent, show, workbook};
pub use rules::state;

use super::{
    AppState, Result,
    page::Page,
    reports::{AT_LOG, lacks, log::address as log_address},
    session::Actor,
    words,
};
use crate::{
    actions::filing::{self as verbs, Stand},
    db::report::{self, Worked},
    domain::filing::{self as rules_of, Month, owed::Standing},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use std::collections::BTreeSet;
use uuid::Uuid;

/// The address of this part of the house.
const AT: &str = "/filings";

/// So many of those that were sent are seen at once.
const NEWEST: usize = 8;

/// A report in the list.
struct Row {
    title: String,
    period: String,
    href: String,
    /// Its due day in words; empty: not found.
    due: Option<NaiveDate>,
    weekend: Option<String>,
    badge: (&'static str, String),
    /// What it would hold; empty for what was filed.
    records: String,
    lacking: usize,
    registered: bool,
    /// When it was filed, and with which receipt.
    filed: Option<(NaiveDate, String)>,
    /// Its rule was not read whole.
    unread: bool,
}

/// A state with its part of the log.
struct StateRow {
    code: &'static str,
    name: &'static str,
    source: &'static str,
    log: String,
    whole: bool,
    report: &'static str,
}

#[derive(Template, WebTemplate)]
#[template(path = "filing/list.html")]
struct ListPage {
    page: Page,
    to_send: Vec<Row>,
    running: Vec<Row>,
    /// What was sent, the newest periods, and those before.
    newest: Vec<Row>,
    earlier: Vec<Row>,
    /// Where the company works or is registered.
    here: Vec<StateRow>,
    /// Of other states, whose rules are known.
    elsewhere: Vec<StateRow>,
    /// States where the company works and of which nothing is known here.
    unknown: Vec<String>,
    log: String,
}

/// GET /filings
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let today = actor.today;
    let mut conn = state.pool.acquire().await?;
    let all = verbs::stands(&mut conn, today).await?;
    let open: Vec<&Stand> = all.iter().filter(|one| one.is_open()).collect();
    let span = open.iter().map(|one| one.owed.period.first_day()).min().unwrap_or(today);
    let worked = if open.is_empty() { vec![] } else { report::worked(&mut conn, span, today).await? };
    let mut same: BTreeSet<usize> = BTreeSet::new();
    for (at, one) in all.iter().enumerate() {
        if changed(one) && unchanged_content(&mut conn, one).await? {
            same.insert(at);
        }
    }
    let (mut to_send, mut running, mut filed) = (vec![], vec![], vec![]);
    for (at, one) in all.iter().enumerate() {
        let row = Row::of(one, today, &worked, same.contains(&at));
        match (&one.filed, one.standing) {
            (None, Standing::Running) => running.push(row),
            (None, _) => to_send.push((!one.presses(), one.owed.rule.due_on(one.owed.period), row)),
            (Some(_), _) if changed(one) && !same.contains(&at) => to_send.push((false, None, row)),
            (Some(_), _) => filed.push(row),
        }
    }
    to_send.sort_by(|(a, on, _), (b, then, _)| (a, on).cmp(&(b, then)));
    filed.reverse();
    let earlier = filed.split_off(NEWEST.min(filed.len()));
    let codes: BTreeSet<String> = all
        .iter()
        .map(|one| one.owed.jurisdiction.code.to_owned())
        .chain(report::places(&mut conn).await?.into_iter().map(|(state, _)| state))
        .collect();
    let known = |one: &&&rules_of::Jurisdiction| codes.contains(one.code) || one.code == "US";
    Ok(ListPage {
        page: Page::of(&actor, "Filings", AT),
        to_send: to_send.into_iter().map(|(_, _, row)| row).collect(),
        running,
        newest: filed,
        earlier,
        here: rules_of::ALL.iter().filter(known).map(|one| StateRow::of(one, today)).collect(),
        elsewhere: rules_of::ALL
            .iter()
            .filter(|one| !known(one))
            .map(|one| StateRow::of(one, today))
            .collect(),
        unknown: codes.iter().filter(|code| rules_of::find(code).is_none()).cloned().collect(),
        log: log_address(AT_LOG, Month::of(today).first_day(), today, "", "", None),
    }
    .into_response())
}

fn changed(one: &Stand) -> bool {
    one.filed.as_ref().is_some_and(|filed| filed.changed > 0)
}

/// Whether what would be sent today is what was sent, although records changed.
async fn unchanged_content(conn: &mut crate::db::Conn, one: &Stand) -> Result<bool> {
    let Some(filed) = &one.filed else { return Ok(false) };
    let made = verbs::make(conn, one.owed.rule.code, &one.owed.county, &one.owed.period.code()).await?;
    Ok(made.is_some_and(|made| made.sha256 == filed.sha256))
}

impl Row {
    fn of(one: &Stand, today: NaiveDate, worked: &[Worked], same: bool) -> Self {
        let owed = &one.owed;
        let (records, lacking) = if one.filed.is_none() { counts(one, worked) } else { (0, 0) };
        Self {
            title: title(owed.jurisdiction, owed.rule, &owed.county),
            period: owed.period.words(),
            href: one::address(owed.rule.code, &owed.period.code(), &owed.county, ""),
            due: owed.rule.due_on(owed.period),
            weekend: owed.rule.weekend_words(owed.period).map(|said| words::sentence(&said)),
            badge: badge(one, same),
            records: match (&one.filed, records) {
                (Some(_), _) => String::new(),
                (None, 0) if one.standing == Standing::Running => "No work so far".to_owned(),
                (None, 0) => "No work".to_owned(),
                (None, 1) => "1 record".to_owned(),
                (None, more) => format!("{more} records"),
            },
            lacking,
            registered: owed.registered,
            filed: one.filed.as_ref().map(|filed| (filed.filed_on, filed.receipt.clone())),
            unread: !owed.rule.unread.is_empty() && today > owed.period.last_day(),
        }
    }
}

/// How many records the report holds, and how many of them lack something.
fn counts(one: &Stand, worked: &[Worked]) -> (usize, usize) {
    let owed = &one.owed;
    let own: Vec<&Worked> = worked
        .iter()
        .filter(|w| {
            w.state == owed.jurisdiction.code
                && (!owed.rule.per_county || w.county.to_lowercase() == owed.county.to_lowercase())
                && (owed.period.first_day()..=owed.period.last_day()).contains(&w.month)
        })
        .collect();
    let count = |groups: &mut dyn Iterator<Item = &&Worked>| {
        groups.flat_map(|w| w.records.iter()).collect::<BTreeSet<&Uuid>>().len()
    };
    let lacking = own.iter().filter(|w| !lacks(&w.state, w.restricted_use, w.present()).is_empty());
    (count(&mut own.iter()), count(&mut lacking.into_iter()))
}

/// `Monthly summary of pesticide use, Kern County, California`
fn title(jurisdiction: &rules_of::Jurisdiction, rule: &rules_of::FilingRule, county: &str) -> String {
    let place = if county.is_empty() { String::new() } else { format!("{county} County, ") };
    format!("{}, {place}{}", rule.title, jurisdiction.name)
}

/// How it stands, as a badge.
fn badge(one: &Stand, same: bool) -> (&'static str, String) {
    if let Some(filed) = &one.filed {
        return match filed.changed {
            0 => ("done", "Filed".to_owned()),
            n if same => ("done", format!("Filed; {} since, the report stays the same", records_changed(n))),
            n => ("late", format!("To be amended: {} since it was filed", records_changed(n))),
        };
    }
    standing(one.standing)
}

fn records_changed(count: i64) -> String {
    if count == 1 { "1 record changed".to_owned() } else { format!("{count} records changed") }
}

/// What presses, in words for the first page: `2 filings are overdue, 1 is due within 14 days`. Empty: nothing does.
#[must_use]
pub fn pressing(all: &[Stand]) -> String {
    let late = all.iter().filter(|s| s.filed.is_none() && matches!(s.standing, Standing::Late(_))).count();
    let soon = all.iter().filter(|s| s.filed.is_none() && s.presses()).count() - late;
    let changed = all.iter().filter(|s| changed(s)).count();
    let mut said: Vec<String> = vec![];
    let soon_words = format!("due within {} days", rules_of::owed::SOON_DAYS);
    for (count, words) in [(late, "overdue"), (soon, soon_words.as_str())] {
        let first = if said.is_empty() { "filing " } else { "" };
        match count {
            0 => {}
            1 => said.push(format!("1 {first}is {words}")),
            more => {
                let first = if first.is_empty() { "" } else { "filings " };
                said.push(format!("{more} {first}are {words}"));
            }
        }
    }
    match changed {
        0 => {}
        1 => said.push("records of 1 filing changed since it was sent".to_owned()),
        more => said.push(format!("records of {more} filings changed since they were sent")),
    }
    let words = said.join(", ");
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// How a report that was not sent stands.
fn standing(standing: Standing) -> (&'static str, String) {
    match standing {
        Standing::Running => ("draft", "The period is not over".to_owned()),
        Standing::Left(0) => ("due", "Due today".to_owned()),
        Standing::Left(days) => ("due", format!("Due in {}", words::days(days))),
        Standing::Late(days) => ("late", format!("Overdue {}", words::days(days))),
        Standing::NoDay => ("unsure", "The due day was not found".to_owned()),
        Standing::MaybeNone => ("unsure", "No work; whether a report is owed then was not found".to_owned()),
    }
}

impl StateRow {
    fn of(one: &rules_of::Jurisdiction, today: NaiveDate) -> Self {
        let year = rules_of::Period::of(rules_of::Every::Year, today).first_day();
        let state = if one.code == "US" { "" } else { one.code };
        Self {
            code: one.code,
            name: one.name,
            source: one.record.source,
            log: log_address(AT_LOG, year, today, state, "", None),
            whole: one.is_whole(),
            report: one.filing.as_ref().map_or("none found", |rule| rule.title),
        }
    }
}
