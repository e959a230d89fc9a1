//! Beginning and stopping a calculation.
use super::{page, week};
use crate::{
    actions::plan as verbs,
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
use uuid::Uuid;

/// POST /plans/{monday}/runs : a plan gathered anew with `gather=yes`, else the one that is there.
pub async fn start(
    State(state): State<AppState>,
    actor: Actor,
    Path(monday): Path<String>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let monday = week(&monday)?;
    let seen = form.choice("version", |text| text.parse::<i32>().ok());
    let seconds = form.choice("seconds", |text| text.parse().ok().filter(|s| verbs::SECONDS.contains(s)));
    let anew = form.value("gather") == "yes";
    let mut technicians = vec![];
    for id in form.values("technicians") {
        technicians.extend(id.parse::<Uuid>());
    }
    if anew && technicians.is_empty() {
        form.fail("technicians", "Choose at least one person to send out.");
    }
    if let (true, Some(seen), Some(seconds)) = (form.is_good(), seen, seconds) {
        let technicians = anew.then_some(technicians);
        let wanted = verbs::Start { id: form.id()?, monday, seen, seconds, technicians };
        match verbs::start(&actor.doer(), &wanted).await {
            Ok(_) => {
                return Ok(session::done(&state, &format!("/plans/{monday}"), "The week is being planned."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    page(&actor, monday, Some(form), true).await
}

/// POST /plans/{monday}/runs/{id}/ends
pub async fn stop(
    State(state): State<AppState>,
    actor: Actor,
    Path((monday, id)): Path<(String, Uuid)>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let monday = week(&monday)?;
    match verbs::stop_run(&actor.doer(), monday, id).await {
        Ok(()) => {
            let words = "The calculation is asked to stop; the best plan so far is kept.";
            Ok(session::done(&state, &format!("/plans/{monday}"), words))
        }
        Err(e) => {
            form.absorb(e)?;
            page(&actor, monday, Some(form), true).await
        }
    }
}
