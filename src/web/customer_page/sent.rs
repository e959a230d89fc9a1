//! What a customer sends from their page.
use super::{ended, page};
use crate::{
    actions::{
        answer::{self as verbs, Choice, Decision, Details, REASONS},
        customer_mail as links, neighbour_proposal as proposals,
    },
    db::neighbour_proposal::Proposal,
    texts::Language,
    web::{
        AppState, Error, Result,
        form::{Form, OpenForm},
    },
};
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Redirect, Response},
};
use uuid::Uuid;

/// The customer of a link with their language; nobody's is answered by the page of ended links.
async fn whose(state: &AppState, link: &str) -> Result<Option<(Uuid, Language)>> {
    let mut conn = state.pool.acquire().await?;
    let Some(found) = links::whose_page(&mut conn, &state.nobody(), link).await? else { return Ok(None) };
    let own = crate::db::customer_mail::find(&mut conn, found.id).await?;
    Ok(Some((found.id, Language::from_code(&own.language).unwrap_or_default())))
}

/// Mistakes are named by their texts until here.
fn translated(form: &mut Form, language: Language) {
    for error in &mut form.errors {
        error.message = match error.message.as_str() {
            known @ ("answer-choose" | "answer-day" | "answer-day-gone" | "answer-reason"
            | "details-email" | "neighbour-name" | "neighbour-many") => language.say(known),
            _ => language.say("details-long"),
        };
    }
}

/// POST /c/{link}/answers
pub async fn answer(
    State(state): State<AppState>,
    Path(link): Path<String>,
    OpenForm(mut form): OpenForm,
) -> Result<Response> {
    let Some((customer, language)) = whose(&state, &link).await? else { return ended(&state).await };
    let site = form.value("site").parse().map_err(|_| Error::NotFound)?;
    let choice = read_choice(&mut form);
    let note = form.text("note");
    if let (true, Some(choice)) = (form.is_good(), choice) {
        let said = if matches!(choice, Choice::No(_)) { "no" } else { "yes" };
        let plants = form.values("plant").iter().filter_map(|id| id.parse().ok()).collect();
        let decision = Decision { id: form.id()?, site, plants, choice, note };
        match verbs::decide(&state.nobody(), customer, &decision).await {
            Ok(()) => return Ok(Redirect::to(&format!("/c/{link}?said={said}")).into_response()),
            Err(e) => form.absorb(e)?,
        }
    }
    translated(&mut form, language);
    page(&state, link, form, "").await
}

fn read_choice(form: &mut Form) -> Option<Choice> {
    match form.value("choice") {
        "yes" => Some(Choice::Yes),
        "other" => {
            let day = form.value("day").parse().ok();
            if day.is_none() {
                form.fail("day", "answer-day");
            }
            day.map(Choice::Other)
        }
        "no" => {
            let reason = REASONS.into_iter().find(|code| *code == form.value("reason"));
            if reason.is_none() {
                form.fail("reason", "answer-reason");
            }
            reason.map(|code| Choice::No(code.to_owned()))
        }
        _ => {
            form.fail("choice", "answer-choose");
            None
        }
    }
}

/// POST /c/{link}/details
pub async fn details(
    State(state): State<AppState>,
    Path(link): Path<String>,
    OpenForm(mut form): OpenForm,
) -> Result<Response> {
    let Some((customer, language)) = whose(&state, &link).await? else { return ended(&state).await };
    let email = read_email(&mut form, "email");
    let new = Details {
        email,
        phone: form.line("phone"),
        language: Language::from_code(form.value("language")).unwrap_or(language),
        offers: form.is("offers", "yes"),
    };
    if form.is_good() {
        verbs::tell(&state.nobody(), customer, &new).await?;
        return Ok(Redirect::to(&format!("/c/{link}?said=details")).into_response());
    }
    form.set("details", "sent");
    translated(&mut form, language);
    page(&state, link, form, "").await
}

/// An address, or nothing.
fn read_email(form: &mut Form, name: &str) -> String {
    let email = form.line(name);
    let (local, host) = email.split_once('@').unwrap_or_default();
    let is_address = !local.is_empty() && host.contains('.') && !email.contains(char::is_whitespace);
    if !email.is_empty() && !is_address {
        form.fail(name, "details-email");
    }
    email
}

/// POST /c/{link}/neighbours
pub async fn neighbour(
    State(state): State<AppState>,
    Path(link): Path<String>,
    OpenForm(mut form): OpenForm,
) -> Result<Response> {
    let Some((customer_id, language)) = whose(&state, &link).await? else { return ended(&state).await };
    let site_id = form.value("neighbour-site").parse().map_err(|_| Error::NotFound)?;
    let name = form.line("name");
    if name.is_empty() {
        form.fail("name", "neighbour-name");
    }
    let new = Proposal {
        id: form.id()?,
        site_id,
        customer_id,
        name,
        address: form.line("address"),
        phone: form.line("their-phone"),
        email: read_email(&mut form, "their-email"),
        note: form.text("why"),
        given_at: state.clock.now(),
    };
    if form.is_good() {
        match proposals::propose(&state.nobody(), &new).await {
            Ok(()) => return Ok(Redirect::to(&format!("/c/{link}?said=neighbour")).into_response()),
            Err(e) => form.absorb(e)?,
        }
    }
    translated(&mut form, language);
    page(&state, link, form, "").await
}
