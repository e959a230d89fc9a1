//! The interface described by itself: every address, what it takes and what it may answer.
use super::{completions, documents, photos, session, shapes, visits};
use axum::Json;
use utoipa::{
    Modify, OpenApi,
    openapi::security::{ApiKey, ApiKeyValue, SecurityScheme},
};

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Plantward, field interface",
        description = "What a technician's phone asks for and sends. A fact is never refused: what can be read is \
            recorded and flagged where it broke a limit, what cannot be read is kept as it was sent. Label, local \
            rules and a licensed person decide; the figures here are help.\n\nEvery request carries the session's \
            cookie. Every write carries the session's token in the header `X-Plantward-Token` (from \
            `GET /api/session`) and comes from our own pages; other sites can do neither. Completions follow the \
            Idempotency-Key draft of the IETF: the same key with the same content gives the stored answer, with \
            other content 422, while the first is still at work 409, and none 400."
    ),
    paths(show, session::show, session::lend, visits::since, documents::show, completions::accept, photos::keep),
    components(schemas(
        crate::actions::completion::Completion,
        crate::actions::completion::Outcome,
        shapes::Problem
    )),
    modifiers(&Doors),
    security(("session" = []))
)]
struct Description;

struct Doors;

impl Modify for Doors {
    fn modify(&self, document: &mut utoipa::openapi::OpenApi) {
        let parts = document.components.get_or_insert_default();
        let cookie = ApiKey::Cookie(ApiKeyValue::new("plantward"));
        parts.add_security_scheme("session", SecurityScheme::ApiKey(cookie));
        let token = ApiKey::Header(ApiKeyValue::new("X-Plantward-Token"));
        parts.add_security_scheme("token", SecurityScheme::ApiKey(token));
    }
}

/// The whole document.
#[must_use]
pub fn document() -> utoipa::openapi::OpenApi {
    Description::openapi()
}

/// GET /api/openapi.json
#[utoipa::path(get, path = "/api/openapi.json", tag = "description", security(()),
    responses((status = 200, description = "This document", content_type = "application/json")))]
pub async fn show() -> Json<utoipa::openapi::OpenApi> {
    Json(document())
}
