//! What the router's table says a page shows of customers and records is written into the audit before the page
//! leaves, so that no page can forget it. What cannot be written down is not shown.
use super::{AppState, Error, session::Actor};
use crate::actions::evidence::{self, View};
use axum::{
    extract::{Request, State},
    http::{Method, header},
    middleware::Next,
    response::{IntoResponse, Response},
};
use serde_json::{Map, Value, json};
use uuid::Uuid;

/// A line's part: where to write, and what its page shows.
#[derive(Clone)]
pub struct Shows {
    pub state: AppState,
    pub noun: &'static str,
}

/// Answers, and writes down that this was seen or taken out.
pub async fn note(
    State(shows): State<Shows>,
    actor: Option<Actor>,
    request: Request,
    next: Next,
) -> Response {
    let looks = *request.method() == Method::GET;
    let (id, detail) = asked(&request);
    let response = next.run(request).await;
    let Some(actor) = actor.filter(|_| looks && response.status().is_success()) else { return response };
    let headers = response.headers();
    let view = View {
        file: headers.contains_key(header::CONTENT_DISPOSITION),
        noun: shows.noun,
        id,
        detail,
        // It asks for itself again until something is ready: one row for all of these looks.
        again: headers.contains_key(header::REFRESH),
    };
    match evidence::viewed(&actor.doer(), view).await {
        Ok(()) => response,
        Err(e) => Error::from(e).into_response(),
    }
}

/// Of which thing, by the first name in the address, and in detail: which of its pages, and what was asked for.
fn asked(request: &Request) -> (Option<Uuid>, Value) {
    let (path, query) = (request.uri().path(), request.uri().query().unwrap_or_default());
    let named = |part: &str| part.split('.').next().and_then(|bare| bare.parse::<Uuid>().ok());
    let id = path.split('/').find_map(named);
    let parts: Vec<&str> = path.split('/').skip(1).collect();
    let place = parts.iter().position(|part| named(part).is_some()).unwrap_or(0);
    let part = parts.get(place + 1..).unwrap_or_default().join("/");
    let mut detail = Map::new();
    if !part.is_empty() {
        detail.insert("part".to_owned(), part.into());
    }
    if !query.is_empty() {
        let pairs: Vec<(String, String)> = serde_urlencoded::from_str(query).unwrap_or_default();
        let said: Vec<String> = pairs
            .into_iter()
            .filter(|(_, value)| !value.is_empty())
            .map(|(name, value)| format!("{name} {value}"))
            .collect();
        detail.insert("asked for".to_owned(), json!(said.join(", ").chars().take(200).collect::<String>()));
    }
    (id, Value::Object(detail))
}
