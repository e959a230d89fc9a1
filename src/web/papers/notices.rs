//! The log of posting and notices: what the law asks for at each visit, what was done of it, by whom and how.
use super::AT;
use crate::{
    db::{
        Conn,
        duty::{self, Asked, Done},
    },
    domain::{
        cell::Cell,
        notice::{self, Rule},
        permission::Mark,
    },
    web::{AppState, Result, export::Rows, form::Form, page::Page, session::Actor, words},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{Days, NaiveDate};
use chrono_tz::Tz;
use serde::Deserialize;
use uuid::Uuid;

/// So many visits are read at once.
const BATCH: i64 = 500;
/// So many rows are on the page; its files hold all.
const SHOWN: usize = 200;

/// The columns of its files.
pub const COLUMNS: [&str; 18] = [
    "Day of the visit",
    "Street",
    "City",
    "State",
    "County",
    "Customer",
    "Technician",
    "Visit",
    "What",
    "Rule",
    "Source",
    "Mark",
    "State of it",
    "Done on",
    "Done at",
    "Done by",
    "How, and proof",
    "Written notices",
];

/// Without days: from so many days back to so many ahead.
const AROUND: (u64, u64) = (30, 14);

/// What the address asks for; without days, those around today.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    from: String,
    until: String,
}

/// The visits of these days.
#[derive(Debug, Clone, Copy)]
pub struct NoticeLog {
    pub from: NaiveDate,
    pub until: NaiveDate,
}

impl Ask {
    /// The form with what is wrong in it, and the days.
    #[must_use]
    pub fn read(self, today: NaiveDate) -> (Form, NoticeLog) {
        let (first, last) = (today - Days::new(AROUND.0), today + Days::new(AROUND.1));
        let or = |text: String, day: NaiveDate| if text.is_empty() { day.to_string() } else { text };
        let mut form = Form::filled([("from", or(self.from, first)), ("until", or(self.until, last))]);
        let (from, until) = (form.date("from"), form.date("until"));
        if from.zip(until).is_some_and(|(from, until)| until < from) {
            form.fail("until", "The last day comes before the first.");
        }
        (form, NoticeLog { from: from.unwrap_or(first), until: until.unwrap_or(last) })
    }
}

/// A duty of a visit, with a deed if there is one.
struct Line {
    asked: Asked,
    /// None: the rule is no longer known here; what was done of it stays.
    rule: Option<&'static Rule>,
    code: String,
    done: Option<Done>,
    notices: String,
}

impl Line {
    fn what(&self) -> &str {
        self.rule.map_or(self.code.as_str(), |rule| rule.duty.words())
    }

    /// Badge and words.
    fn state(&self, today: NaiveDate) -> (&'static str, &'static str) {
        let before = self.rule.is_some_and(|rule| rule.duty.is_before());
        match (&self.done, self.rule) {
            (Some(deed), _) if deed.excused => ("off", "Left open: the owner says why"),
            (Some(deed), _) if before && deed.for_day != self.asked.on_date => {
                ("late", "Done for another day")
            }
            (Some(_), _) => ("done", "Done"),
            (None, Some(rule)) if rule.mark != Mark::Checked => {
                ("unsure", "Not noted; the rule is from memory")
            }
            (None, _) if self.asked.status == "done" || self.asked.on_date < today => ("late", "Not noted"),
            (None, _) if before => ("due", "To be done before the work"),
            (None, _) => ("due", "To be done"),
        }
    }

    fn cells(&self, today: NaiveDate, zone: Tz) -> Vec<Cell> {
        let a = &self.asked;
        let at = self.done.as_ref().map(|done| done.done_at.with_timezone(&zone));
        let rule = |part: fn(&Rule) -> &'static str| Cell::text(self.rule.map_or("", part));
        let done = |part: fn(&Done) -> &str| Cell::text(self.done.as_ref().map_or("", part));
        vec![
            Cell::Day(a.on_date),
            Cell::text(&a.street),
            Cell::text(&a.city),
            Cell::text(&a.state),
            Cell::text(&a.county),
            Cell::text(&a.customer),
            Cell::text(&a.technician),
            Cell::text(&a.status),
            Cell::text(self.what()),
            rule(|r| r.words),
            rule(|r| r.source),
            rule(|r| r.mark.words()),
            Cell::text(self.state(today).1),
            at.map_or(Cell::Empty, |at| Cell::Day(at.date_naive())),
            Cell::text(at.map(|at| at.format("%H:%M").to_string()).unwrap_or_default()),
            done(|d| &d.by),
            done(|d| &d.how),
            Cell::text(&self.notices),
        ]
    }
}

/// The duties of these visits, in their order: those that are asked, and those that were done all the same.
async fn lines(conn: &mut Conn, visits: Vec<Asked>) -> sqlx::Result<Vec<Line>> {
    let ids: Vec<Uuid> = visits.iter().map(|v| v.id).collect();
    let done = duty::of_visits(&mut *conn, &ids).await?;
    let notices = duty::notices(conn, &ids).await?;
    let mut all = vec![];
    for asked in visits {
        let methods: Vec<&str> = asked.methods.iter().map(String::as_str).collect();
        let mut codes: Vec<String> = notice::required(&asked.state, &asked.county, &methods)
            .into_iter()
            .filter(|_| asked.status != "cancelled")
            .map(|rule| rule.code.to_owned())
            .collect();
        let more = done.iter().filter(|d| d.visit_id == asked.id && !codes.contains(&d.code));
        let mut more: Vec<String> = more.map(|d| d.code.clone()).collect();
        more.dedup();
        codes.extend(more);
        for code in codes {
            let said = notices.iter().filter(|n| n.visit_id == asked.id.to_string() && n.code == code);
            let notices = said.map(|n| format!("{} {}", n.count, n.status)).collect::<Vec<_>>().join(", ");
            let line = |done: Option<Done>| Line {
                asked: asked.clone(),
                rule: notice::find(&code),
                code: code.clone(),
                done,
                notices: notices.clone(),
            };
            // Each deed is a row, the one that was noted first at the front.
            let deeds = done.iter().filter(|d| d.visit_id == asked.id && d.code == code);
            let deeds: Vec<Line> = deeds.map(|deed| line(Some(deed.clone()))).collect();
            if deeds.is_empty() {
                all.push(line(None));
            }
            all.extend(deeds);
        }
    }
    Ok(all)
}

impl NoticeLog {
    /// `Jan 1, 2026 to Nov 25, 2026`
    #[must_use]
    pub fn period(&self) -> String {
        format!("{} to {}", words::day(self.from), words::day(self.until))
    }

    /// How many rows it has.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn count(&self, conn: &mut Conn) -> sqlx::Result<i64> {
        let (mut after, mut all) = (None, 0_usize);
        loop {
            let visits = duty::asked(&mut *conn, (self.from, self.until), after, BATCH).await?;
            let Some(last) = visits.last() else { return Ok(i64::try_from(all).unwrap_or(i64::MAX)) };
            after = Some((last.on_date, last.id));
            all += lines(&mut *conn, visits).await?.len();
        }
    }

    /// Reads the rows and hands them on.
    ///
    /// # Errors
    /// When the database does not answer, or nobody takes the rows any more.
    pub async fn pour(
        &self,
        conn: &mut Conn,
        (today, zone): (NaiveDate, Tz),
        into: &mut Rows,
    ) -> anyhow::Result<()> {
        let mut after = None;
        loop {
            let visits = duty::asked(&mut *conn, (self.from, self.until), after, BATCH).await?;
            let Some(last) = visits.last() else { return Ok(()) };
            after = Some((last.on_date, last.id));
            for line in lines(&mut *conn, visits).await? {
                into.row(line.cells(today, zone)).await?;
            }
        }
    }
}

struct Row {
    line: Line,
    state: (&'static str, &'static str),
    /// When, by whom and how.
    done: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "paper/notices.html")]
struct NoticesPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
    /// There are more than the page shows.
    more: bool,
    query: String,
}

/// GET /papers/notices?from=..&until=..
pub async fn notices(
    State(state): State<AppState>,
    actor: Actor,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    let (form, log) = ask.read(actor.today);
    let mut rows = vec![];
    let mut conn = state.pool.acquire().await?;
    let mut after = None;
    while form.is_good() && rows.len() <= SHOWN {
        let visits = duty::asked(&mut conn, (log.from, log.until), after, BATCH).await?;
        let Some(last) = visits.last() else { break };
        after = Some((last.on_date, last.id));
        rows.extend(lines(&mut conn, visits).await?);
    }
    let more = rows.len() > SHOWN;
    rows.truncate(SHOWN);
    let row = |line: Line| {
        let said = |d: &Done| {
            let at = d.done_at.with_timezone(&actor.time_zone);
            format!("{}, {}, {}: {}", words::day(at.date_naive()), at.format("%H:%M"), d.by, d.how)
        };
        Row { state: line.state(actor.today), done: line.done.as_ref().map(said).unwrap_or_default(), line }
    };
    let status = if form.is_good() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let shown = NoticesPage {
        page: Page::of(&actor, "Posting and notices", AT),
        rows: rows.into_iter().map(row).collect(),
        more,
        query: format!("from={}&until={}", log.from, log.until),
        form,
    };
    Ok((status, shown).into_response())
}
