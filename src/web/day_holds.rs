//! Days on hold: the list, placing and lifting.
use super::{
    AppState, Result,
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
};
use crate::{
    actions::day_hold as verbs,
    db::day_hold::{self, Hold, New},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{Days, NaiveDate};
use uuid::Uuid;

const AT: &str = "/visits";
/// The list looks so far back.
const DAYS_SHOWN: u64 = 60;

#[derive(Template, WebTemplate)]
#[template(path = "day_hold/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    holds: Vec<Hold>,
    places: Vec<(String, String)>,
}

async fn page(state: &AppState, actor: &Actor, form: Form) -> Result<ListPage> {
    let mut conn = state.pool.acquire().await?;
    let holds = day_hold::from(&mut conn, actor.today - Days::new(DAYS_SHOWN)).await?;
    let known = day_hold::counties(&mut conn).await?;
    let county = |(state, county): (String, String)| {
        let words = format!("{county} County, {state}");
        (format!("{state} {county}"), words)
    };
    let everywhere = ("everywhere".to_owned(), "Everywhere".to_owned());
    let places = std::iter::once(everywhere).chain(known.into_iter().map(county)).collect();
    Ok(ListPage { page: Page::of(actor, "Days on hold", AT), form, holds, places })
}

/// GET /day-holds
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let mut form = Form::for_new();
    form.set("place", "everywhere");
    Ok(page(&state, &actor, form).await?.into_response())
}

/// POST /day-holds
pub async fn place(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (on, reason) = (form.required_date("on"), form.required_line("reason"));
    let place = form.choice("place", |text| match text.split_once(' ') {
        None => (text == "everywhere").then_some(None),
        Some((state, county)) if state.len() == 2 && !county.is_empty() => {
            Some(Some((state.to_owned(), county.to_owned())))
        }
        Some(_) => None,
    });
    let new = New {
        id: form.id()?,
        on_date: on.unwrap_or(NaiveDate::MIN),
        place: place.unwrap_or_default(),
        reason,
    };
    if form.is_good() {
        match verbs::place(&actor.doer(), actor.today, &new).await {
            Ok(sent) => {
                let words = match sent {
                    0 => "The day is on hold; no booked visit was on it.".to_owned(),
                    1 => "The day is on hold; 1 visit waits for another day.".to_owned(),
                    sent => format!("The day is on hold; {sent} visits wait for another day."),
                };
                return Ok(session::done(&state, "/day-holds", &words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, form).await?).into_response())
}

/// POST /day-holds/{id}/lifts
pub async fn lift(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let freed = verbs::lift(&actor.doer(), id).await?;
    let visits = if freed == 1 { "1 visit stands".to_owned() } else { format!("{freed} visits stand") };
    Ok(session::done(&state, "/day-holds", &format!("The hold is lifted; {visits} again.")))
}
