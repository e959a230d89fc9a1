//! Notices and signs by law on the pages of a visit: what is asked, by which rule, and what was done of it.
use super::{door, show::again};
use crate::{
    actions::duty as verbs,
    db::{
        Conn, duty,
        visit::{self, Visit},
    },
    domain::{
        notice::{Duty, Rule, Standing},
        user::Role,
    },
    web::{
        AppState, Result,
        form::{Form, Posted},
        session::{self, Actor},
    },
};
use axum::{
    extract::{Path, State},
    response::Response,
};
use chrono::{DateTime, NaiveDateTime, TimeZone, Utc};
use uuid::Uuid;

/// A duty in words.
pub struct DutyLine {
    pub rule: &'static Rule,
    pub standing: Standing,
    /// What was done of it: when, by whom, how; and, where it was for another day or the law leaves it open, that.
    pub deeds: Vec<String>,
    /// By when it must be done: the name of the text, and the moment.
    pub by: Option<(&'static str, String)>,
    /// It was done so late that work may begin only then.
    pub late: Option<String>,
    /// Work may not begin before it is done.
    pub holds: bool,
    /// The program can write it.
    pub writes: bool,
    /// Whoever looks may say that the law leaves it open.
    pub excusable: bool,
    /// Its form came back: what was typed stands in it again.
    pub typed: Option<Typed>,
}

/// What was typed about a duty and not taken.
pub struct Typed {
    pub how: String,
    pub when: String,
    pub excuse: String,
}

impl DutyLine {
    /// The name of the text that says what it is.
    #[must_use]
    pub fn text(&self) -> String {
        format!("duty-{}", self.rule.duty.code())
    }

    /// The badge: its kind, and the name of its text.
    #[must_use]
    pub fn badge(&self) -> (&'static str, &'static str) {
        match self.standing {
            Standing::Done => ("done", "duty-done"),
            Standing::Excused => ("off", "duty-excused"),
            _ if self.holds => ("held", "duty-holds"),
            _ => ("due", "duty-open"),
        }
    }

    /// Whether nothing more is to be done.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.standing.is_settled()
    }

    fn of(line: verbs::Line, of: &Visit, actor: &Actor) -> Self {
        let language = actor.reads();
        let deed = |d: &duty::Done| {
            let mut words = format!("{}, {}: {}", actor.moment(d.done_at), d.by, d.how);
            if d.excused {
                words = format!("{words} ({})", language.say("duty-excused"));
            }
            if d.for_day != of.on_date {
                words = format!("{words} ({})", language.say_of("duty-for", "day", language.day(&d.for_day)));
            }
            words
        };
        let by = if line.begin.planned { "duty-by" } else { "duty-by-usual" };
        let holds = line.holds() && of.is_booked();
        Self {
            by: line.by().map(|at| (by, actor.moment(at))),
            late: match line.standing {
                Standing::Late(from) => Some(actor.moment(from)),
                _ => None,
            },
            deeds: line.deeds.iter().map(deed).collect(),
            holds,
            writes: line.rule.duty != Duty::Sign,
            excusable: holds && actor.role == Role::Owner,
            typed: None,
            standing: line.standing,
            rule: line.rule,
        }
    }
}

/// The duties of a visit.
pub async fn lines(conn: &mut Conn, of: &Visit, actor: &Actor) -> Result<Vec<DutyLine>> {
    let doses = visit::doses(conn, of.id).await?;
    let done = duty::of_visits(conn, &[of.id]).await?;
    let all = verbs::lines(&verbs::Of::visit(of, &doses), &done, actor.time_zone);
    Ok(all.into_iter().map(|line| DutyLine::of(line, of, actor)).collect())
}

/// Gives what was typed back to the duty whose form it was.
pub(super) fn give_back(lines: &mut [DutyLine], form: &Form) {
    let own = lines.iter_mut().find(|d| form.is("duty", d.rule.code));
    if let Some(line) = own.filter(|_| !form.is_good()) {
        let value = |name: &str| form.value(name).to_owned();
        line.typed = Some(Typed { how: value("how"), when: value("when"), excuse: value("excuse") });
    }
}

/// POST /visits/{id}/duties/{code}
pub async fn mark(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, code)): Path<(Uuid, String)>,
    Posted(mut form): Posted,
) -> Result<Response> {
    door(&mut *state.pool.acquire().await?, &actor, id).await?;
    form.set("duty", code.as_str());
    let how = form.line("how");
    let when = when(&mut form, &actor);
    if !form.is_good() {
        return again(&state, &actor, id, form).await;
    }
    match verbs::mark(&actor.doer(), id, &code, &how, when).await {
        Ok(()) => Ok(session::done(&state, &format!("/visits/{id}"), "Noted.")),
        Err(e @ crate::actions::Error::Refused { .. }) if actor.role != Role::Technician => {
            form.absorb(e)?;
            again(&state, &actor, id, form).await
        }
        Err(e) => Err(e.into()),
    }
}

/// The moment that the form names, as browsers send it; empty: just now.
fn when(form: &mut Form, actor: &Actor) -> Option<DateTime<Utc>> {
    let typed = form.line("when");
    if typed.is_empty() {
        return None;
    }
    let read = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"];
    let local = read.iter().find_map(|format| NaiveDateTime::parse_from_str(&typed, format).ok());
    let moment = local.and_then(|at| actor.time_zone.from_local_datetime(&at).earliest());
    if moment.is_none() {
        form.fail("when", form.say("duty-when-wrong"));
    }
    moment.map(|at| at.to_utc())
}

/// POST /visits/{id}/duties/{code}/exceptions
pub async fn excuse(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, code)): Path<(Uuid, String)>,
    Posted(mut form): Posted,
) -> Result<Response> {
    form.set("duty", code.as_str());
    let why = form.text("excuse");
    match verbs::excuse(&actor.doer(), id, &code, &why).await {
        Ok(()) => Ok(session::done(&state, &format!("/visits/{id}"), "Noted in your name.")),
        Err(e) => {
            form.absorb(e)?;
            again(&state, &actor, id, form).await
        }
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
