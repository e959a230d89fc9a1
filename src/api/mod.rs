//! The interface of the field page and of other programs: the same actions as JSON. What a page says with a
//! form and its errors, this says with a problem (RFC 9457).
mod completions;
mod description;
mod documents;
mod door;
mod photos;
mod problem;
mod session;
pub mod shapes;
mod visits;

pub use description::document;
pub use problem::{Problem, dress};

use crate::web::AppState;
use axum::{
    Router,
    extract::DefaultBodyLimit,
    http::Method,
    middleware::from_fn,
    routing::{MethodRouter, get, post, put},
};

/// A batch of completions is text; a photo is resized on the phone.
const BATCH_BYTES: usize = 2 * 1024 * 1024;
const PHOTO_BYTES: usize = 8 * 1024 * 1024;

/// One line of the interface.
pub struct Line {
    pub method: Method,
    pub path: &'static str,
    /// Whether a stranger may ask.
    pub open: bool,
    answers: MethodRouter<AppState>,
}

/// Every line there is.
#[must_use]
pub fn table() -> Vec<Line> {
    let line = |method, path, open, answers| Line { method, path, open, answers };
    vec![
        line(Method::GET, "/api/openapi.json", true, get(description::show)),
        line(Method::GET, "/api/session", false, get(session::show)),
        line(Method::POST, "/api/phone-keys/{person}", false, post(session::lend)),
        line(Method::GET, "/api/visits", false, get(visits::since)),
        line(Method::GET, "/api/documents/{id}", false, get(documents::show)),
        line(
            Method::POST,
            "/api/completions",
            false,
            post(completions::accept).layer(DefaultBodyLimit::max(BATCH_BYTES)),
        ),
        line(
            Method::PUT,
            "/api/photos/{id}",
            false,
            put(photos::keep).layer(DefaultBodyLimit::max(PHOTO_BYTES)),
        ),
    ]
}

/// The lines behind their door.
pub fn routes() -> Router<AppState> {
    let mut router = Router::new();
    for line in table() {
        let answers = if line.open { line.answers } else { line.answers.layer(from_fn(door::admit)) };
        router = router.route(line.path, answers);
    }
    router
}
