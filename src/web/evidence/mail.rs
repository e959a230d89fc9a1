//! To whom heads are mailed, and mailing one by hand.
use super::{Asked, page};
use crate::{
    actions::head_mail as verbs,
    db::head_mail::{self, HeadMail},
    domain::head_mail::Often,
    web::{
        AppState, Result, account,
        form::{Form, Posted},
        session::{self, Actor},
    },
};
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// The setting as the page shows it.
pub(super) struct Shown {
    pub form: Form,
    pub choices: Vec<(&'static str, &'static str)>,
    /// To whom and how often, in words; none: nobody.
    pub set: Option<String>,
    /// Whether mail leaves by itself.
    pub leaves: bool,
}

/// The setting, or the form of it as typed.
pub(super) async fn shown(state: &AppState, typed: Option<Form>) -> Result<Shown> {
    let own = head_mail::find(&mut *state.pool.acquire().await?).await?;
    let own = own.unwrap_or_else(|| HeadMail { recipient: String::new(), every: "month".to_owned() });
    let every = Often::from_code(&own.every).map_or("", Often::words);
    let set = (!own.recipient.is_empty()).then(|| format!("{every}, to {}", own.recipient));
    let saved = || Form::filled([("email", own.recipient.clone()), ("every", own.every.clone())]);
    Ok(Shown {
        form: typed.unwrap_or_else(saved),
        choices: Often::ALL.map(|often| (often.code(), often.words())).to_vec(),
        set,
        leaves: state.config.mail.smtp_host.is_some(),
    })
}

/// POST /evidence/mail
pub async fn change(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let recipient = if form.value("email").is_empty() { String::new() } else { account::email(&mut form) };
    let every = form.choice("every", Often::from_code);
    if let (Some(every), true) = (every, form.is_good()) {
        let off = recipient.is_empty();
        match verbs::change(&actor.doer(), &HeadMail { recipient, every: every.code().to_owned() }).await {
            Ok(()) => {
                let words = if off {
                    "Saved: no head is mailed."
                } else {
                    "Saved. The first head goes out within minutes."
                };
                return Ok(session::done(&state, "/evidence", words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    let asked = Asked { mail: Some(form), ..Asked::default() };
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, asked).await?).into_response())
}

/// POST /evidence/heads/{id}/mails
pub async fn send(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let words = if verbs::mail_by_hand(&actor.doer(), id).await? {
        "It is in the outbox and goes out next."
    } else {
        "It went there before: the outbox says what became of it."
    };
    Ok(session::done(&state, &format!("/evidence/heads/{id}"), words))
}
