//! Photos from the field.
use super::{
    door,
    problem::Result,
    shapes::{self, PhotoKept},
};
use crate::{
    actions::photo,
    web::{AppState, session::Actor},
};
use axum::{
    Json,
    body::Bytes,
    extract::{Path, State},
    http::HeaderMap,
};
use uuid::Uuid;

/// PUT /api/photos/{id}
///
/// The same photo under the same id again gives the same answer; another photo under it is refused.
#[utoipa::path(put, path = "/api/photos/{id}", tag = "photos",
    params(("id" = Uuid, Path, description = "Made on the phone")),
    request_body(content = Vec<u8>, content_type = "image/jpeg", description = "JPEG or PNG, 8 MB at most"),
    security(("session" = [], "token" = [])),
    responses(
        (status = 200, description = "Kept, without location data", body = PhotoKept),
        (status = 400, description = "Not a JPEG or PNG that can be read", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 401, description = "Nobody is signed in", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 403, description = "Without the session's token, or from another site", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 404, description = "An address with letters that nobody sees", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 409, description = "Another photo has this id", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 413, description = "More than 8 MB", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 415, description = "Neither JPEG nor PNG", body = shapes::Problem,
            content_type = "application/problem+json")))]
pub async fn keep(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    headers: HeaderMap,
    body: Bytes,
) -> Result<Json<PhotoKept>> {
    let kind = door::is_of_kind(&headers, &["image/jpeg", "image/png"], "image/jpeg or image/png")?;
    let kept = photo::keep(&actor.doer(), id, &kind, &body, state.clock.now()).await?;
    Ok(Json(PhotoKept { id, bytes: kept.bytes, stripped: kept.stripped }))
}
