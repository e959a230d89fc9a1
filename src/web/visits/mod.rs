//! Visits: the list, the door to one of them, and the pages of booking, doing and recording.
mod asked;
mod book;
pub(in crate::web) mod duties;
pub(in crate::web) mod field;
mod offer;
mod plants;
mod record;
mod show;
pub(in crate::web) mod signs;
mod stop;

pub use book::{create, new_form};
pub use record::{outcome, record, record_form};
pub use show::{cancel, move_to, promise, show};
pub use stop::{WINDS, weather};

use super::{AppState, Error, Result, page::Page, session::Actor};
use crate::{
    db::{
        Conn,
        visit::{self, Filter, Line, Visit},
    },
    domain::user::Role,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;
use uuid::Uuid;

const AT: &str = "/visits";
/// Rows a page; one more is read to know whether there is a next one.
const PAGE: i64 = 50;

/// The one door to a visit: the office sees all of them, a technician their own.
pub(super) async fn door(conn: &mut Conn, actor: &Actor, id: Uuid) -> Result<Visit> {
    let found = visit::find(conn, id).await?.ok_or(Error::NotFound)?;
    let theirs = actor.role != Role::Technician || found.technician_id == actor.id;
    if theirs { Ok(found) } else { Err(Error::NotFound) }
}

/// What the address may ask for. Anything that cannot be read narrows nothing.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    show: String,
    after: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "visit/list.html")]
struct OfficePage {
    page: Page,
    booked: bool,
    /// Each with its state as a badge: kind and words.
    lines: Vec<(Line, &'static str, &'static str)>,
    next: Option<String>,
}

/// A heading of the technician's list, by the name of its text, and what stands under it.
struct Group {
    title: &'static str,
    lines: Vec<Line>,
}

#[derive(Template, WebTemplate)]
#[template(path = "visit/mine.html")]
struct FieldPage {
    page: Page,
    groups: Vec<Group>,
    next: Option<String>,
    closed: bool,
}

/// GET /visits
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let booked = ask.show != "done";
    let own = (actor.role == Role::Technician).then_some(actor.id);
    let filter = Filter { technician: own, booked, after: read_place(&ask.after) };
    let mut lines = visit::list(&mut *state.pool.acquire().await?, &filter, PAGE + 1).await?;
    let next = next_page(&mut lines, booked);
    if own.is_none() {
        let told = |line: Line| {
            let (kind, words) = match line.waiting_reason.is_empty() {
                true => badge(&line.status, line.on_date, actor.today),
                false => WAITING,
            };
            (line, kind, words)
        };
        let lines = lines.into_iter().map(told).collect();
        return Ok(OfficePage { page: Page::of(&actor, "Visits", AT), booked, lines, next }.into_response());
    }
    let groups = if booked {
        by_urgency(lines, actor.today)
    } else {
        vec![Group { title: "done-or-cancelled", lines }]
    };
    let groups = groups.into_iter().filter(|g| !g.lines.is_empty()).collect();
    Ok(FieldPage {
        page: Page::of(&actor, actor.language.say("nav-visits"), AT),
        groups,
        next,
        closed: !booked,
    }
    .into_response())
}

/// Today first; then what was not recorded yet, then what comes.
fn by_urgency(lines: Vec<Line>, today: NaiveDate) -> Vec<Group> {
    let (today_and_on, late): (Vec<_>, Vec<_>) = lines.into_iter().partition(|l| l.on_date >= today);
    let (now, coming): (Vec<_>, Vec<_>) = today_and_on.into_iter().partition(|l| l.on_date == today);
    vec![
        Group { title: "today", lines: now },
        Group { title: "not-recorded", lines: late },
        Group { title: "coming", lines: coming },
    ]
}

fn next_page(lines: &mut Vec<Line>, booked: bool) -> Option<String> {
    let page = usize::try_from(PAGE).unwrap_or(usize::MAX);
    if lines.len() <= page {
        return None;
    }
    lines.truncate(page);
    let last = lines.last()?;
    let show = if booked { "" } else { "show=done&" };
    let place = last.stop_number.unwrap_or(visit::UNORDERED);
    Some(format!("/visits?{show}after={}.{place}.{}", last.on_date, last.id))
}

/// Day, place and id of the last line of the page before.
fn read_place(text: &str) -> Option<(NaiveDate, i32, Uuid)> {
    let (day, rest) = text.split_once('.')?;
    let (place, id) = rest.split_once('.')?;
    Some((day.parse().ok()?, place.parse().ok()?, id.parse().ok()?))
}

/// Day and id of the last line of the page before.
pub(super) fn read_after(text: &str) -> Option<(NaiveDate, Uuid)> {
    let (day, id) = text.split_once('.')?;
    Some((day.parse().ok()?, id.parse().ok()?))
}

/// The badge of a visit that waits.
const WAITING: (&str, &str) = ("held", "Waits for another day");

/// The state of a visit as a badge: kind and words.
pub(super) fn badge(status: &str, on: NaiveDate, today: NaiveDate) -> (&'static str, &'static str) {
    match status {
        "done" => ("done", "Done"),
        "cancelled" => ("off", "Cancelled"),
        _ if on < today => ("late", "Not recorded yet"),
        _ if on == today => ("due", "Today"),
        _ => ("soon", "Booked"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_technician_starts_with_today() {
        let line = |day: &str| Line {
            id: Uuid::nil(),
            on_date: day.parse().unwrap(),
            status: "booked".into(),
            technician_id: Uuid::nil(),
            technician_name: String::new(),
            street: day.into(),
            city: String::new(),
            customer_name: String::new(),
            doses: 1,
            stop_number: None,
            arrives_at: None,
            leaves_at: None,
            promised: false,
            waiting_reason: String::new(),
        };
        let lines = ["2026-11-20", "2026-11-25", "2026-11-26"].map(line).to_vec();
        let groups = by_urgency(lines, "2026-11-25".parse().unwrap());
        let order: Vec<&str> =
            groups.iter().flat_map(|g| g.lines.iter().map(|l| l.street.as_str())).collect();
        assert_eq!(order, ["2026-11-25", "2026-11-20", "2026-11-26"]);
    }

    #[test]
    fn an_unreadable_place_in_the_list_is_its_start() {
        assert_eq!(read_after("2026-11-25"), None);
        assert_eq!(read_after("2026-11-25.zebra"), None);
        assert!(read_after("2026-11-25.01890a5d-ac96-774b-bcce-b302099a8057").is_some());
        assert_eq!(read_place("2026-11-25.01890a5d-ac96-774b-bcce-b302099a8057"), None);
        assert!(read_place("2026-11-25.3.01890a5d-ac96-774b-bcce-b302099a8057").is_some());
    }
}
