//! The first page, and whether the service is well.
use super::{AppState, session::Actor};
use crate::{db::migration, domain::user::Role};
use axum::{extract::State, http::StatusCode, response::Redirect};
use std::time::Duration;

/// GET / : everybody starts with what they must do now.
pub async fn show(actor: Actor) -> Redirect {
    Redirect::to(if actor.role == Role::Technician { "/visits" } else { "/due" })
}

/// GET /healthz : the program runs.
pub async fn health() -> &'static str {
    "ok"
}

/// GET /readyz : the database answers and every migration is in.
pub async fn ready(State(state): State<AppState>) -> (StatusCode, &'static str) {
    let asked = tokio::time::timeout(Duration::from_secs(3), migration::faults(&state.pool));
    match asked.await {
        Ok(Ok(faults)) if faults.is_empty() => (StatusCode::OK, "ready\n"),
        Ok(Ok(_)) => (StatusCode::SERVICE_UNAVAILABLE, "migrations are missing\n"),
        _ => (StatusCode::SERVICE_UNAVAILABLE, "the database does not answer\n"),
    }
}
