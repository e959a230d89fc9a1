//! Who may use the interface: somebody with a session, and with the session's token for a write.
use super::problem::{Problem, Result};
use crate::web::session::Actor;
use axum::{
    extract::Request,
    http::{HeaderMap, Method, header},
    middleware::Next,
    response::{IntoResponse, Response},
};
use subtle::ConstantTimeEq;

/// Carries the session's token; no form of another site can set it.
pub const TOKEN: &str = "x-plantward-token";

/// Lets through whoever is signed in; a write must carry the token.
pub async fn admit(actor: Option<Actor>, request: Request, next: Next) -> Response {
    let Some(actor) = actor else { return Problem::SignedOut.into_response() };
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !reads && !has_token(request.headers(), &actor) {
        return Problem::Forbidden.into_response();
    }
    next.run(request).await
}

fn has_token(headers: &HeaderMap, actor: &Actor) -> bool {
    let sent = headers.get(TOKEN).map(|v| v.as_bytes()).unwrap_or_default();
    sent.ct_eq(actor.csrf.as_bytes()).into()
}

/// Whether the body is said to be of one of these kinds; parameters aside.
pub fn is_of_kind(headers: &HeaderMap, kinds: &[&str], wanted: &'static str) -> Result<String> {
    let sent = headers.get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or_default();
    let sent = sent.split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
    if kinds.contains(&sent.as_str()) { Ok(sent) } else { Err(Problem::WrongKind(wanted)) }
}
