//! The due list: what is overdue, due, coming and held back, with the reason and the way on.
use super::{
    AppState, Result,
    form::Form,
    page::Page,
    papers::{self, Warning},
    session::Actor,
    words,
};
use crate::{
    actions::filing,
    db::{
        answer,
        due::{self, Counts, Filter, Row, Unplanned},
        flag,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Response},
};
use chrono::{Datelike, Days, NaiveDate, Weekday};
use serde::Deserialize;
use uuid::Uuid;

/// Rows a page; one more is read to know whether there is a next one.
const PAGE: i64 = 50;

/// What the address may ask for. Anything that cannot be read narrows nothing.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Ask {
    pub(super) show: String,
    week: String,
    area: String,
    host: String,
    after: String,
}

/// The parts of the list. The words are what the choice says.
const SHOWS: [(&str, &str); 6] = [
    ("", "What needs doing"),
    ("overdue", "Overdue"),
    ("week", "One week"),
    ("held", "Held back"),
    ("all", "Everything, by day"),
    ("unplanned", "Without a day"),
];

struct Line {
    row: Row,
    badge: &'static str,
    state: String,
    /// The reason that matters most, and the whole chain.
    reason: String,
    book: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "due/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    counts: Counts,
    /// Recorded facts that broke a limit and that nobody licensed has answered yet.
    flags: i64,
    /// Reports to regulators that press, in words; empty: none does.
    filings: String,
    /// What customers answered and nobody has dealt with.
    answers: i64,
    /// Papers that run out and incidents that nobody has reported: the owner sees them here.
    papers: Vec<Warning>,
    lines: Vec<Line>,
    unplanned: Option<Vec<Unplanned>>,
    areas: Vec<(String, String)>,
    hosts: Vec<(String, String)>,
    shows: [(&'static str, &'static str); 6],
    next: Option<String>,
    /// What the files are asked with.
    query: String,
    /// The Monday of the week to be planned: this one, at its end the next.
    plan: NaiveDate,
}

/// GET /due
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let today = actor.today;
    let week_end = monday(today) + Days::new(6);
    let mut conn = state.pool.acquire().await?;
    let (areas, hosts) = due::choices(&mut conn).await?;
    let counts = due::counts(&mut conn, today, week_end, held_horizon(today)).await?;
    let limit = PAGE + 1;
    let (mut lines, mut unplanned, mut next) = (vec![], None, None);
    if ask.show == "unplanned" {
        let mut rows = due::unplanned(&mut conn, ask.after.parse().ok(), limit).await?;
        let more = cut(&mut rows);
        next = more.then(|| rows.last().map(|r| ask.on_from(&r.plant_id.to_string()))).flatten();
        unplanned = Some(rows);
    } else {
        let mut rows = due::list(&mut conn, &ask.filter(today), place(&ask.after), limit).await?;
        let more = cut(&mut rows);
        next = more
            .then(|| rows.last().map(|r| ask.on_from(&format!("{}_{}", r.list_on, r.plant_id))))
            .flatten()
            .or(next);
        lines = rows.into_iter().map(|row| Line::of(row, today, week_end)).collect();
    }
    let form = Form::filled([
        ("show", ask.show.as_str()),
        ("week", ask.week.as_str()),
        ("area", ask.area.as_str()),
        ("host", ask.host.as_str()),
    ]);
    let twice = |list: Vec<String>| list.into_iter().map(|v| (v.clone(), v)).collect();
    Ok(ListPage {
        page: Page::of(&actor, "Due", "/due"),
        form,
        counts,
        flags: flag::open_count(&mut conn).await?,
        filings: super::filings::pressing(&filing::stands(&mut conn, today).await?),
        answers: answer::open_count(&mut conn).await?,
        papers: if actor.role.may_manage_company() {
            papers::warnings(&mut conn, today).await?
        } else {
            vec![]
        },
        lines,
        unplanned,
        areas: twice(areas),
        hosts: twice(hosts),
        shows: SHOWS,
        next,
        query: ask.query(),
        plan: monday(today + Days::new(2)),
    }
    .into_response())
}

/// Drops the one row more than a page that says there is a next page.
fn cut<T>(rows: &mut Vec<T>) -> bool {
    let full = usize::try_from(PAGE).unwrap_or(usize::MAX);
    let more = rows.len() > full;
    rows.truncate(full);
    more
}

fn place(after: &str) -> Option<(NaiveDate, Uuid)> {
    let (day, plant) = after.split_once('_')?;
    Some((day.parse().ok()?, plant.parse().ok()?))
}

/// A plant that is wanted later than this is not held back yet: it is only resting.
fn held_horizon(today: NaiveDate) -> NaiveDate {
    today + Days::new(60)
}

pub(super) fn monday(day: NaiveDate) -> NaiveDate {
    day.week(Weekday::Mon).first_day()
}

impl Ask {
    pub(super) fn filter(&self, today: NaiveDate) -> Filter {
        let mut filter = Filter { area: self.area.clone(), host: self.host.clone(), ..Filter::default() };
        let show =
            if self.show.is_empty() && self.week_asked().is_some() { "week" } else { self.show.as_str() };
        match show {
            "overdue" => {
                filter.until = today.pred_opt();
                filter.open = true;
            }
            "week" => {
                let first = monday(self.week_asked().unwrap_or(today));
                filter.from = Some(first);
                filter.until = Some(first + Days::new(6));
            }
            "held" => filter.held_until = Some(held_horizon(today)),
            "all" => {}
            _ => filter.until = Some(today + Days::new(28)),
        }
        filter
    }

    /// The day whose week was asked for, in a year that a company can plan.
    fn week_asked(&self) -> Option<NaiveDate> {
        self.week.parse().ok().filter(|day: &NaiveDate| (2000..2200).contains(&day.year()))
    }

    /// What was asked for, without the place in the list.
    fn query(&self) -> String {
        let at = Self { after: String::new(), ..self.clone() }.on_from("");
        at.split_once('?').map_or(String::new(), |(_, query)| query.to_owned())
    }

    /// The address of the page that goes on after this place.
    fn on_from(&self, after: &str) -> String {
        let ask = [
            ("show", self.show.as_str()),
            ("week", &self.week),
            ("area", &self.area),
            ("host", &self.host),
            ("after", after),
        ];
        let ask: Vec<_> = ask.into_iter().filter(|(_, v)| !v.is_empty()).collect();
        format!("/due?{}", serde_urlencoded::to_string(ask).unwrap_or_default())
    }
}

impl Line {
    fn of(row: Row, today: NaiveDate, week_end: NaiveDate) -> Self {
        let (badge, state) = standing(&row, today, week_end);
        let reason = row.held_by.first().map_or_else(|| since(&row), |rule| words::held(rule).to_owned());
        let day = row.allowed_on.unwrap_or(today).max(today);
        let book = format!("/visits/new?site={}&plant={}&day={day}", row.site_id, row.plant_id);
        Self { row, badge, state, reason, book }
    }
}

pub(super) fn standing(row: &Row, today: NaiveDate, week_end: NaiveDate) -> (&'static str, String) {
    if let (Some(day), Some(why)) = (row.visit_on, row.visit_waits.as_ref().filter(|why| !why.is_empty())) {
        return ("held", format!("Booked for {}, waits for another day: {why}", words::day(day)));
    }
    if let Some(day) = row.visit_on {
        return ("done", format!("Booked for {}", words::day(day)));
    }
    match row.due_on {
        None => ("held", "Held back, no day in sight".to_owned()),
        Some(day) if !row.held_by.is_empty() => ("held", format!("Held back until {}", words::day(day))),
        Some(day) if day < today && row.protected_until.is_some_and(|end| end > today) => {
            ("late", format!("Late by {}, still protected", words::days((today - day).num_days())))
        }
        Some(day) if day < today => ("late", format!("Overdue {}", words::days((today - day).num_days()))),
        Some(day) if day <= week_end => ("due", "Due this week".to_owned()),
        Some(day) => ("soon", format!("In {}", words::days((day - today).num_days()))),
    }
}

pub(super) fn since(row: &Row) -> String {
    match row.protected_until {
        Some(day) => format!("Protected until {}", words::day(day)),
        None => "Never treated by us".to_owned(),
    }
}
