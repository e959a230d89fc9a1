//! Who is signed in on this phone, and the token of the session.
use super::shapes::{Problem, Session};
use crate::web::{AppState, session::Actor};
use axum::{Json, extract::State};

/// GET /api/session
#[utoipa::path(get, path = "/api/session", tag = "session",
    responses(
        (status = 200, description = "Who is signed in", body = Session),
        (status = 401, description = "Nobody is signed in", body = Problem, content_type = "application/problem+json")))]
pub async fn show(State(state): State<AppState>, actor: Actor) -> Json<Session> {
    Json(Session {
        person: actor.id,
        name: actor.name,
        token: actor.csrf,
        company: actor.company,
        today: actor.today,
        time_zone: actor.time_zone.name().to_owned(),
        now: state.clock.now(),
    })
}
