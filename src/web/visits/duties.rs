//! Notices and signs by law on the pages of a visit: what is asked, by which rule, and what was done of it.
use super::{door, show::again};
use crate::{
    actions::duty as verbs,
    db::{
        Conn, duty,
        visit::{self, Visit},
    },
    domain::{
        notice::{Duty, Rule},
        user::Role,
    },
    web::{
        AppState, Result,
        form::Posted,
        session::{self, Actor},
    },
};
use axum::{
    extract::{Path, State},
    response::Response,
};
use chrono::Duration;
use uuid::Uuid;

/// A duty in words.
pub struct DutyLine {
    pub rule: &'static Rule,
    /// Done: when, by whom and how.
    pub done: Option<String>,
    /// `Nov 28, 2026, 09:00`; none: at any time before.
    pub by: Option<String>,
    /// Work may not begin before it is done.
    pub holds: bool,
    /// The program can write it.
    pub writes: bool,
}

impl DutyLine {
    /// The name of the text that says what it is.
    #[must_use]
    pub fn text(&self) -> &'static str {
        match self.rule.duty {
            Duty::Neighbours => "duty-neighbours",
            Duty::Registry => "duty-registry",
            Duty::Customer => "duty-customer",
            Duty::Statement => "duty-statement",
            Duty::Sign => "duty-sign",
        }
    }
}

/// The duties of a visit.
pub async fn lines(conn: &mut Conn, of: &Visit, actor: &Actor) -> Result<Vec<DutyLine>> {
    let doses = visit::doses(conn, of.id).await?;
    let done = duty::of_visits(conn, &[of.id]).await?;
    let line = |rule: &'static Rule| {
        let done = done.iter().find(|d| d.code == rule.code).map(|d| {
            let at = d.done_at.with_timezone(&actor.time_zone).format("%b %-d, %Y, %H:%M");
            format!("{at}, {}: {}", d.by, d.how)
        });
        let begins = of.on_date.and_hms_opt(8, 0, 0).unwrap_or_default();
        let by = begins - Duration::hours(rule.lead_hours.into());
        DutyLine {
            by: (rule.lead_hours > 0).then(|| by.format("%b %-d, %Y, %H:%M").to_string()),
            holds: rule.holds() && done.is_none() && of.is_booked(),
            writes: rule.duty != Duty::Sign,
            done,
            rule,
        }
    };
    Ok(verbs::required(of, &doses).into_iter().map(line).collect())
}

/// POST /visits/{id}/duties/{code}
pub async fn mark(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, code)): Path<(Uuid, String)>,
    Posted(mut form): Posted,
) -> Result<Response> {
    door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let how = form.line("how");
    match verbs::mark(&actor.doer(), id, &code, &how).await {
        Ok(()) => Ok(session::done(&state, &format!("/visits/{id}"), "Noted.")),
        Err(e @ crate::actions::Error::Refused { .. }) if actor.role != Role::Technician => {
            form.absorb(e)?;
            again(&state, &actor, id, form).await
        }
        Err(e) => Err(e.into()),
    }
}

/// POST /visits/{id}/duties/{code}/notices
pub async fn tell(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, code)): Path<(Uuid, String)>,
    _form: Posted,
) -> Result<Response> {
    let written = verbs::tell(&actor.doer(), id, &code).await?;
    let words = match written {
        0 => "They were told already.".to_owned(),
        1 => "1 notice stands in the outbox.".to_owned(),
        n => format!("{n} notices stand in the outbox."),
    };
    Ok(session::done(&state, &format!("/visits/{id}"), &words))
}
