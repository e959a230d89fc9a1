//! Label files and safety data sheets, as a phone keeps them.
use super::{
    problem::{Problem, Result},
    shapes,
};
use crate::web::{AppState, documents, session::Actor};
use axum::{
    extract::{Path, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// GET /api/documents/{id}
///
/// The bytes of a file that `GET /api/visits` names; their SHA-256 stands there.
#[utoipa::path(get, path = "/api/documents/{id}", tag = "documents",
    params(("id" = Uuid, Path, description = "As the visits name it")),
    responses(
        (status = 200, description = "The file", body = Vec<u8>, content_type = "application/pdf"),
        (status = 400, description = "Not an identifier", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 401, description = "Nobody is signed in", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 404, description = "No such file, or not yours to see", body = shapes::Problem,
            content_type = "application/problem+json")))]
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let found = documents::door(&state, &actor, id).await;
    let (_, content) = found.map_err(|e| match e {
        crate::web::Error::NotFound => {
            Problem::Other(StatusCode::NOT_FOUND, "It is not there, or not yours to see.".into())
        }
        other => other.into(),
    })?;
    Ok(([(header::CONTENT_TYPE, "application/pdf")], content).into_response())
}
