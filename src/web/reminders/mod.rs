//! Reminders: what goes out in the next weeks and why, how one would read, and the company's dates.
mod terms;

pub use terms::{change_terms, terms_form};

use super::{
    AppState, Error, Result,
    form::Posted,
    page::Page,
    session::{self, Actor},
    words,
};
use crate::{
    actions::{
        mail_terms,
        reminder::{self as verbs, AHEAD},
    },
    db::{
        customer,
        mail_terms::Terms,
        message,
        reminder::{self, Row},
        site,
    },
    domain::reminder::Step,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Response},
};
use chrono::{Days, NaiveDate};
use uuid::Uuid;

const AT: &str = "/reminders";
/// So many plants are looked at; more than that is told, not hidden.
const MOST: usize = 5000;

/// A reminder to come.
struct Coming {
    on: NaiveDate,
    site: Uuid,
    street: String,
    customer: Uuid,
    name: String,
    plants: String,
    why: String,
    badge: &'static str,
    state: &'static str,
}

#[derive(Template, WebTemplate)]
#[template(path = "reminder/list.html")]
struct ListPage {
    page: Page,
    terms: Terms,
    coming: Vec<Coming>,
    counts: message::Counts,
    until: NaiveDate,
    leaves: bool,
    cut: bool,
}

/// GET /reminders
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let terms = mail_terms::terms(&mut conn).await?;
    let dates = terms.dates();
    let until = actor.today + Days::new(AHEAD);
    let (from, last) = verbs::span(&dates, actor.today, until);
    let mut rows = reminder::open_plants(&mut conn, from, last, None).await?;
    let cut = rows.len() > MOST;
    rows.truncate(MOST);
    let mut coming = vec![];
    for group in rows.chunk_by(|a, b| a.site_id == b.site_id) {
        let ahead = dates.ahead(&verbs::plants(group), actor.today, until);
        let Some(first) = group.first().filter(|_| !ahead.is_empty()) else { continue };
        let (badge, state) = match (first.no_offers, first.paused, first.email.is_empty()) {
            (true, ..) => ("off", "Wants no offers"),
            (_, true, _) => ("held", "Paused for this customer"),
            (.., true) => ("due", "As a letter: no e-mail address"),
            _ => ("soon", "By e-mail"),
        };
        coming.extend(ahead.into_iter().map(|(on, round)| Coming {
            on,
            site: first.site_id,
            street: first.street.clone(),
            customer: first.customer_id,
            name: first.customer_name.clone(),
            plants: counted(&round.plants.iter().map(|at| &group[*at]).collect::<Vec<_>>()),
            why: why(&group[round.plants[0]], round.step, round.on < on),
            badge,
            state,
        }));
    }
    coming.sort_by(|a, b| (a.on, &a.street, a.site).cmp(&(b.on, &b.street, b.site)));
    let counts = message::counts(&mut conn).await?;
    let leaves = state.config.mail.smtp_host.is_some();
    Ok(ListPage { page: Page::of(&actor, "Reminders", AT), terms, coming, counts, until, leaves, cut }
        .into_response())
}

fn counted(rows: &[&Row]) -> String {
    let first = rows.first().map_or("", |r| &r.host_plant);
    match rows.len() {
        1 => first.to_owned(),
        2 => format!("{first} and 1 more record"),
        n => format!("{first} and {} more records", n - 1),
    }
}

fn why(first: &Row, step: Step, late: bool) -> String {
    let (host, due, lapse) = (&first.host_plant, words::day(first.due_on), words::day(first.lapses_on));
    let late = if late { " Its day has passed." } else { "" };
    match step {
        Step::Before(days) => format!(
            "{} before {due}, when the {} is due; protected until {lapse}.{late}",
            words::days(days.into()),
            host.to_lowercase()
        ),
        Step::After(days) => format!(
            "{} after protection of the {} ended on {lapse}.{late}",
            words::days(days.into()),
            host.to_lowercase()
        ),
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "reminder/preview.html")]
struct PreviewPage {
    page: Page,
    site: Uuid,
    street: String,
    customer: Uuid,
    name: String,
    email: String,
    on: Option<NaiveDate>,
    subject: String,
    text: String,
    html: String,
    own_email: String,
}

/// GET /sites/{id}/reminders
pub async fn preview(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let place = site::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let who = customer::find(&mut conn, place.customer_id).await?.ok_or(Error::NotFound)?;
    let found = verbs::preview(&mut conn, &actor.doer(), id).await?;
    let own = crate::db::person::find(&mut conn, actor.id).await?.map(|p| p.email).unwrap_or_default();
    let (on, written) = found.map_or((None, None), |(on, _, told)| (Some(on), Some(told.written)));
    let written = written.unwrap_or(crate::mail::Written {
        subject: String::new(),
        text: String::new(),
        html: String::new(),
    });
    // The message is a page of its own; here only what it says is shown.
    let body =
        written.html.split("<body>").nth(1).and_then(|b| b.split("</body>").next()).unwrap_or_default();
    Ok(PreviewPage {
        page: Page::of(&actor, format!("Reminder, {}", place.street), AT),
        site: id,
        street: place.street.clone(),
        customer: who.id,
        name: who.name,
        email: who.email,
        on,
        html: body.to_owned(),
        subject: written.subject,
        text: written.text,
        own_email: own,
    }
    .into_response())
}

/// POST /sites/{id}/reminders/tests
pub async fn test(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let message = verbs::test(&actor.doer(), id).await?;
    let leaves = state.config.mail.smtp_host.is_some();
    let words = if leaves {
        "It is on its way to your own address."
    } else {
        "It is written; no mail server is set up, so look at it here."
    };
    Ok(session::done(&state, &format!("/messages/{message}"), words))
}
