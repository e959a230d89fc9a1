//! Who is signed in on this phone, the token of the session, and the key of what is not sent yet.
use super::{
    problem::{Problem, Result},
    shapes::{self, PhoneKey, Session},
};
use crate::{
    actions::phone_key,
    domain::user::Role,
    web::{
        AppState,
        session::{self, Actor},
    },
};
use axum::{
    Json,
    extract::{Path, State},
    http::{HeaderMap, StatusCode, header},
    response::{AppendHeaders, IntoResponse, Response},
};
use base64::{Engine, engine::general_purpose::STANDARD};
use uuid::Uuid;

/// GET /api/session
///
/// The session's cookie is set once more, so that it outlives the phone's browser.
#[utoipa::path(get, path = "/api/session", tag = "session",
    responses(
        (status = 200, description = "Who is signed in", body = Session),
        (status = 401, description = "Nobody is signed in", body = shapes::Problem,
            content_type = "application/problem+json")))]
pub async fn show(State(state): State<AppState>, actor: Actor, headers: HeaderMap) -> Result<Response> {
    let secret = phone_key::own(&actor.doer()).await?;
    let now = state.clock.now();
    let said = Json(Session {
        person: actor.id,
        name: actor.name,
        role: actor.role.code().to_owned(),
        language: actor.language.code().to_owned(),
        token: actor.csrf,
        phone_key: STANDARD.encode(secret),
        company: actor.company,
        today: actor.today,
        time_zone: actor.time_zone.name().to_owned(),
        now,
        holds_until: now + chrono::Days::new(state.config.phone_days.max(1).into()),
    });
    let cookie = session::lasting_cookie(&state, &headers).map(|cookie| (header::SET_COOKIE, cookie));
    Ok((AppendHeaders(cookie), said).into_response())
}

/// POST /api/phone-keys/{person}
///
/// The owner opens what somebody left unsent on this phone. That it was done is written down.
#[utoipa::path(post, path = "/api/phone-keys/{person}", tag = "session",
    params(("person" = Uuid, Path, description = "Whose work it is")),
    security(("session" = [], "token" = [])),
    responses(
        (status = 200, description = "The secret of their key", body = PhoneKey),
        (status = 400, description = "Not an identifier", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 401, description = "Nobody is signed in", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 403, description = "Without the session's token, or from another site", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 404, description = "No such person, or not the owner who asks", body = shapes::Problem,
            content_type = "application/problem+json")))]
pub async fn lend(actor: Actor, Path(person): Path<Uuid>) -> Result<Json<PhoneKey>> {
    if actor.role != Role::Owner {
        return Err(Problem::Other(StatusCode::NOT_FOUND, "It is not there, or not yours to see.".into()));
    }
    let secret = phone_key::lend(&actor.doer(), person).await?;
    Ok(Json(PhoneKey { person, phone_key: STANDARD.encode(secret) }))
}
