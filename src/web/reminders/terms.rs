//! The company's dates: when customers are reminded, and on which days nothing goes out.
use super::AT;
use crate::{
    actions::mail_terms as verbs,
    db::mail_terms::Terms,
    web::{
        AppState, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
        words::WEEKDAYS,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;

#[derive(Template, WebTemplate)]
#[template(path = "reminder/terms.html")]
struct TermsPage {
    page: Page,
    form: Form,
    weekdays: [(i16, &'static str); 7],
}

fn page(actor: &Actor, form: Form) -> TermsPage {
    TermsPage { page: Page::of(actor, "Dates of reminders", AT), form, weekdays: WEEKDAYS }
}

fn list<T: ToString>(all: &[T]) -> String {
    all.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

/// GET /reminders/terms
pub async fn terms_form(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let t = verbs::terms(&mut *state.pool.acquire().await?).await?;
    let mut values = vec![
        ("running", if t.running { "yes" } else { "no" }.to_owned()),
        ("days_before", list(&t.days_before)),
        ("days_after", list(&t.days_after)),
        ("quiet_dates", t.quiet_dates.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")),
        ("link_days", t.link_days.to_string()),
    ];
    values.extend(t.quiet_weekdays.iter().map(|day| ("quiet_weekdays", day.to_string())));
    Ok(page(&actor, Form::filled(values)).into_response())
}

/// POST /reminders/terms
pub async fn change_terms(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let new = read(&mut form);
    if form.is_good() {
        match verbs::change(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, AT, "The dates are saved.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&actor, form)).into_response())
}

fn read(form: &mut Form) -> Terms {
    let running = form.choice("running", |text| match text {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    });
    let mut days_before = days(form, "days_before");
    days_before.sort_unstable_by(|a, b| b.cmp(a));
    let weekdays: Vec<i16> =
        form.values("quiet_weekdays").iter().filter_map(|day| day.parse().ok()).collect();
    Terms {
        running: running.unwrap_or_default(),
        days_before,
        days_after: days(form, "days_after"),
        quiet_weekdays: (1..=7).filter(|day| weekdays.contains(day)).collect(),
        quiet_dates: dates(form),
        link_days: form.whole("link_days", 30..=400).unwrap_or_else(|| {
            if form.error("link_days").is_none() {
                form.fail("link_days", "Please fill this in.");
            }
            90
        }),
    }
}

/// Whole days from 0 to 365 with commas between, each once, the shortest first.
fn days(form: &mut Form, name: &str) -> Vec<i32> {
    let typed = form.line(name);
    let parts = typed.split([',', ' ', ';']).filter(|part| !part.is_empty());
    let read: Option<Vec<i32>> =
        parts.map(|part| part.parse().ok().filter(|days| (0..=365).contains(days))).collect();
    match read {
        Some(mut all) if all.len() <= 6 => {
            all.sort_unstable();
            all.dedup();
            all
        }
        _ => {
            form.fail(
                name,
                "Write up to six whole numbers from 0 to 365 with commas between, such as 45, 21, 7.",
            );
            vec![]
        }
    }
}

fn dates(form: &mut Form) -> Vec<NaiveDate> {
    let typed = form.text("quiet_dates");
    let parts = typed.split([',', ' ', '\n', '\r']).filter(|part| !part.is_empty());
    let read: Option<Vec<NaiveDate>> = parts.map(|part| part.parse().ok()).collect();
    match read {
        Some(mut all) if all.len() <= 100 => {
            all.sort_unstable();
            all.dedup();
            all
        }
        _ => {
            form.fail("quiet_dates", "Write one day a line, as 2026-12-24; at most 100.");
            vec![]
        }
    }
}
