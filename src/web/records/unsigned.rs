//! Visits that nobody has recorded and records that somebody still has to sign, with the days that the state
//! leaves for it.
use super::AT;
use crate::{
    actions::signature as verbs,
    db::{
        record,
        signature::{self, Unsigned},
        unrecorded::{self, Unrecorded},
    },
    domain::record::record_by,
    web::{AppState, Result, page::Page, session::Actor, words},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;

/// No page holds more; those signed make room.
const MOST: i64 = 200;

/// A record in the list.
struct Row {
    of: Unsigned,
    /// Who is missing.
    lacks: String,
    by: String,
    /// Kind and words of the badge.
    left: (&'static str, String),
    /// Whether this person may sign it here.
    may_sign: bool,
}

/// A visit that is not recorded yet.
struct Visit {
    of: Unrecorded,
    by: String,
    left: (&'static str, String),
}

#[derive(Template, WebTemplate)]
#[template(path = "record/unsigned.html")]
struct UnsignedPage {
    page: Page,
    visits: Vec<Visit>,
    rows: Vec<Row>,
    name: String,
}

/// GET /records/unsigned
pub async fn unsigned(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let mut rows = vec![];
    for of in signature::unsigned(&mut conn, None, MOST).await? {
        let newest = record::newest(&mut conn, of.id).await?;
        let may_sign = match &newest {
            Some(version) => verbs::capacity(&mut conn, &version.head, actor.id).await?.is_some(),
            None => false,
        };
        rows.push(row(of, may_sign, actor.today));
    }
    rows.sort_by_key(|row| (limit(&row.of.site_state, row.of.restricted, row.of.applied_on), row.of.id));
    let visits = unrecorded::list(&mut conn, actor.today, MOST).await?;
    let mut visits: Vec<Visit> = visits.into_iter().map(|of| visit(of, actor.today)).collect();
    visits.sort_by_key(|one| (limit(&one.of.state, one.of.restricted, one.of.on_date), one.of.id));
    let name = actor.name.clone();
    Ok(UnsignedPage { visits, page: Page::of(&actor, "Records to sign", AT), rows, name }.into_response())
}

/// The last day on which a record of that day may be whole; where no rule is known, the day itself.
fn limit(state: &str, restricted: bool, on: NaiveDate) -> NaiveDate {
    record_by(state, restricted, on).map_or(on, |date| date.day)
}

/// The same in words, with its rule.
pub(in crate::web) fn limit_words(state: &str, restricted: bool, on: NaiveDate) -> String {
    match record_by(state, restricted, on) {
        Some(date) => format!("{} by {} ({})", words::day(date.day), date.source, date.mark.words()),
        None => format!("{}: no rule known here states a day; ours is the same day", words::day(on)),
    }
}

/// The days that are left for a record of that day, as a badge.
pub(in crate::web) fn countdown(
    state: &str,
    restricted: bool,
    on: NaiveDate,
    today: NaiveDate,
) -> (&'static str, String) {
    left(limit(state, restricted, on), today)
}

fn visit(of: Unrecorded, today: NaiveDate) -> Visit {
    Visit {
        by: limit_words(&of.state, of.restricted, of.on_date),
        left: countdown(&of.state, of.restricted, of.on_date, today),
        of,
    }
}

fn row(of: Unsigned, may_sign: bool, today: NaiveDate) -> Row {
    let by = limit_words(&of.site_state, of.restricted, of.applied_on);
    let mut lacks = vec![];
    if !of.applicator_signed {
        lacks.push(of.applicator_name.clone());
    }
    if of.applicator_certification.is_empty() && !of.supervisor_signed {
        lacks.push(if of.supervisor_name.is_empty() {
            "a certified supervisor".to_owned()
        } else {
            of.supervisor_name.clone()
        });
    }
    let left = countdown(&of.site_state, of.restricted, of.applied_on, today);
    Row { left, lacks: lacks.join(" and "), by, may_sign, of }
}

/// The days that are left, as a badge.
fn left(last: NaiveDate, today: NaiveDate) -> (&'static str, String) {
    match (last - today).num_days() {
        0 => ("due", "Today is the last day".to_owned()),
        1 => ("soon", "1 day left".to_owned()),
        days if days > 1 => ("soon", format!("{days} days left")),
        -1 => ("late", "1 day late".to_owned()),
        days => ("late", format!("{} days late", -days)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_counted_down_and_on() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let said = |last: &str| left(day(last), day("2026-11-25")).1;
        assert_eq!(said("2026-11-30"), "5 days left");
        assert_eq!(said("2026-11-26"), "1 day left");
        assert_eq!(said("2026-11-25"), "Today is the last day");
        assert_eq!(said("2026-11-24"), "1 day late");
        assert_eq!(left(day("2026-10-25"), day("2026-11-25")), ("late", "31 days late".to_owned()));
    }
}
