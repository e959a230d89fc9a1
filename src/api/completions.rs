//! Completions of visits, sent again until they are accepted.
use super::{
    door,
    problem::{Problem, Result},
    shapes::{self, Batch, Outcomes},
};
use crate::{
    actions::completion::{self, Outcome, Sent},
    web::{AppState, session::Actor},
};
use axum::{
    Json,
    body::Bytes,
    extract::State,
    http::{HeaderMap, StatusCode},
    response::{IntoResponse, Response},
};

const AT_ONCE: usize = 100;

/// POST /api/completions
///
/// Each item has a key of its own and an outcome of its own. Of a batch of one the outcome's status is that
/// of the answer, and its key may stand in the header `Idempotency-Key` instead.
#[utoipa::path(post, path = "/api/completions", tag = "completions",
    params(("Idempotency-Key" = Option<String>, Header, description = "Key of the only item, as a string in quotes")),
    request_body = Batch,
    security(("session" = [], "token" = [])),
    responses(
        (status = 200, description = "What became of each item", body = Outcomes),
        (status = 400, description = "Not readable as a batch, or the only item has no key", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 401, description = "Nobody is signed in", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 403, description = "Without the session's token, or from another site", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 409, description = "The only item is still at work", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 413, description = "Too much at once", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 415, description = "Not JSON", body = shapes::Problem, content_type = "application/problem+json"),
        (status = 422, description = "The key of the only item was used for other content", body = shapes::Problem,
            content_type = "application/problem+json")))]
pub async fn accept(
    State(state): State<AppState>,
    actor: Actor,
    headers: HeaderMap,
    body: Bytes,
) -> Result<Response> {
    door::is_of_kind(&headers, &["application/json"], "application/json")?;
    let received_at = state.clock.now();
    let batch: Batch = serde_json::from_slice(&body)
        .map_err(|e| Problem::Unreadable(format!("This is not a batch of completions: {e}.")))?;
    if batch.items.is_empty() || batch.items.len() > AT_ONCE {
        return Err(Problem::Unreadable(format!("A batch holds 1 to {AT_ONCE} completions.")));
    }
    let header = header_key(&headers)?;
    if header.is_some() && batch.items.len() > 1 {
        let words = "The header Idempotency-Key names one completion; in a batch each item has its own key.";
        return Err(Problem::Unreadable(words.to_owned()));
    }
    let alone = batch.items.len() == 1;
    let mut outcomes = Vec::with_capacity(batch.items.len());
    for item in batch.items {
        let key = item.key.filter(|key| !key.is_empty()).or_else(|| header.clone());
        let sent = Sent {
            key: key.unwrap_or_default(),
            sent_at: batch.sent_at,
            received_at,
            content: item.completion,
        };
        let outcome = completion::accept(&actor.doer(), actor.today, actor.time_zone, &sent).await;
        outcomes.push(outcome.read_in(actor.reads()));
    }
    if alone && let Some(problem) = outcomes.first().and_then(refused) {
        return Err(problem);
    }
    Ok(Json(Outcomes { received_at, outcomes }).into_response())
}

fn refused(outcome: &Outcome) -> Option<Problem> {
    let status = StatusCode::from_u16(outcome.status).ok()?;
    let bad = status.is_client_error() || status.is_server_error();
    bad.then(|| Problem::Other(status, outcome.words.clone()))
}

/// The header's key: a string in quotes (RFC 8941); a bare one is read as well.
fn header_key(headers: &HeaderMap) -> Result<Option<String>> {
    let Some(value) = headers.get("idempotency-key") else { return Ok(None) };
    let text =
        value.to_str().map_err(|_| Problem::Unreadable("The Idempotency-Key is not readable.".into()))?;
    let bare = text.trim().strip_prefix('"').and_then(|t| t.strip_suffix('"')).unwrap_or(text.trim());
    Ok((!bare.is_empty()).then(|| bare.to_owned()))
}
