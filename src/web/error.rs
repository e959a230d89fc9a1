//! What a visitor sees when a page cannot be given. Inner reasons go to the log, never to the page.
use super::page::Plain;
use askama::Template;
use axum::{
    http::StatusCode,
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

#[derive(Template)]
#[template(path = "error.html")]
struct ErrorPage {
    page: Plain,
    words: String,
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

/// An error page with this status.
pub fn render(status: StatusCode, title: &str, words: String) -> Response {
    match (ErrorPage { page: Plain::new(title), words }).render() {
        Ok(html) => (status, Html(html)).into_response(),
        Err(reason) => {
            tracing::error!(%reason, "the error page failed");
            (status, title.to_owned()).into_response()
        }
    }
}
