//! What a visitor sees when a page cannot be given. Inner reasons go to the log, never to the page.
use super::{account::asked_language, page::Page, session::Actor};
use askama::Template;
use axum::{
    extract::Request,
    http::{HeaderValue, StatusCode, header},
    middleware::Next,
    response::{Html, IntoResponse, Response},
};

/// Why a page was not given.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Not there, or not theirs to see: the two look the same from outside.
    #[error("not found")]
    NotFound,
    /// The write did not come from one of our own forms, or the form is from an older session.
    #[error("not from our form")]
    Forbidden,
    /// The form could not be read at all.
    #[error("unreadable form: {0}")]
    Unreadable(&'static str),
    /// The rules refuse it; the words say why and what to do.
    #[error("{0}")]
    Refused(String),
    /// The session is over.
    #[error("signed out")]
    SignedOut,
    /// Our own failure.
    #[error(transparent)]
    Internal(#[from] anyhow::Error),
}

pub type Result<T, E = Error> = std::result::Result<T, E>;

impl From<sqlx::Error> for Error {
    fn from(e: sqlx::Error) -> Self {
        Self::Internal(e.into())
    }
}

impl From<askama::Error> for Error {
    fn from(e: askama::Error) -> Self {
        Self::Internal(e.into())
    }
}

impl From<crate::actions::Error> for Error {
    fn from(e: crate::actions::Error) -> Self {
        use crate::actions::Error as A;
        match e {
            A::NotFound => Self::NotFound,
            A::Refused { words, .. } => Self::Refused(words),
            A::Database(e) => e.into(),
            A::Internal(e) => Self::Internal(e),
        }
    }
}

impl IntoResponse for Error {
    fn into_response(self) -> Response {
        let (status, title, words) = match self {
            Self::NotFound => (StatusCode::NOT_FOUND, "Nothing here", "There is no such page, or it is not yours to see.".into()),
            Self::Forbidden => (
                StatusCode::FORBIDDEN,
                "Please send it again",
                "This form is from an older session or another site. Go back, reload the page and send it again.".into(),
            ),
            Self::Unreadable(why) => (StatusCode::BAD_REQUEST, "The form could not be read", why.into()),
            Self::Refused(words) => (StatusCode::CONFLICT, "That is not possible", words),
            Self::SignedOut => (StatusCode::UNAUTHORIZED, "You are signed out", "Sign in and try again.".into()),
            Self::Internal(reason) => {
                tracing::error!(%reason, detail = ?reason, "a page failed");
                (
                    StatusCode::INTERNAL_SERVER_ERROR,
                    "Something went wrong on our side",
                    "Nothing was saved. Go back and try again; if it stays so, tell whoever runs this service.".into(),
                )
            }
        };
        render(status, title, words)
    }
}

/// What an error page says. It travels with the answer until it is known who reads it.
#[derive(Debug, Clone)]
pub struct Said {
    title: String,
    words: String,
}

/// An error page with this status; [`dress`] gives it its frame.
pub fn render(status: StatusCode, title: &str, words: String) -> Response {
    let mut response = status.into_response();
    response.extensions_mut().insert(Said { title: title.to_owned(), words });
    response
}

#[derive(Template)]
#[template(path = "error.html")]
struct VisitorPage<'a> {
    page: Page,
    words: &'a str,
}

#[derive(Template)]
#[template(path = "error_inside.html")]
struct InsidePage<'a> {
    page: Page,
    words: &'a str,
}

/// Gives errors the frame of whoever reads them, those of the framework too, which speak to programmers.
pub async fn dress(actor: Option<Actor>, request: Request, next: Next) -> Response {
    // Strangers have chosen none: their browser has.
    let language = actor.as_ref().map_or_else(|| asked_language(request.headers()), Actor::reads);
    let response = next.run(request).await;
    let status = response.status();
    let said = match response.extensions().get::<Said>() {
        Some(said) => said.clone(),
        None if is_bare(&response) => {
            let (title, words) = ("Nothing here", "The address, or what was sent to it, cannot be read.");
            Said { title: title.to_owned(), words: words.to_owned() }
        }
        None => return response,
    };
    let words = &language.said(&said.words);
    let html = match &actor {
        Some(actor) => InsidePage { page: Page::of(actor, said.title.as_str(), ""), words }.render(),
        None => {
            let page = Page { language, ..Page::new(&language.said(&said.title)) };
            VisitorPage { page, words }.render()
        }
    };
    match html {
        Ok(html) => (status, Html(html)).into_response(),
        Err(reason) => {
            tracing::error!(%reason, "the error page failed");
            (status, said.title).into_response()
        }
    }
}

/// A refusal in plain text: the framework could not read a part of the address or of what was sent.
fn is_bare(response: &Response) -> bool {
    let kind = response.headers().get(header::CONTENT_TYPE).map(HeaderValue::as_bytes);
    response.status().is_client_error() && kind.is_some_and(|kind| kind.starts_with(b"text/plain"))
}
