//! Problems in answers (RFC 9457).
use super::shapes;
use axum::{
    Json,
    extract::Request,
    http::{HeaderValue, StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Response},
};

/// Why a request was not done.
#[derive(Debug, thiserror::Error)]
pub enum Problem {
    /// Nobody is signed in.
    #[error("signed out")]
    SignedOut,
    /// The token is missing or of another session, or the request comes from another site.
    #[error("not from our page")]
    Forbidden,
    /// Not JSON where JSON is asked for, not a picture where one is.
    #[error("wrong kind: {0}")]
    WrongKind(&'static str),
    /// It cannot be read at all.
    #[error("unreadable: {0}")]
    Unreadable(String),
    /// Another status with its words.
    #[error("{1}")]
    Other(StatusCode, String),
    /// Our own failure.
    #[error(transparent)]
    Internal(#[from] anyhow::Error),
}

pub type Result<T, E = Problem> = std::result::Result<T, E>;

impl From<sqlx::Error> for Problem {
    fn from(e: sqlx::Error) -> Self {
        Self::Internal(e.into())
    }
}

impl From<crate::actions::Error> for Problem {
    fn from(e: crate::actions::Error) -> Self {
        use crate::actions::Error as A;
        match e {
            A::NotFound => Self::Other(StatusCode::NOT_FOUND, "It is not there, or not yours to see.".into()),
            A::Refused { field: Some(crate::actions::photo::UNREADABLE), words } => Self::Unreadable(words),
            A::Refused { words, .. } => Self::Other(StatusCode::CONFLICT, words),
            A::Database(e) => e.into(),
            A::Internal(e) => Self::Internal(e),
        }
    }
}

impl From<crate::web::Error> for Problem {
    fn from(e: crate::web::Error) -> Self {
        Self::Internal(anyhow::anyhow!("{e:?}"))
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let (status, words) = match self {
            Self::SignedOut => (
                StatusCode::UNAUTHORIZED,
                "Sign in on this phone again; what it holds stays here until then.".to_owned(),
            ),
            Self::Forbidden => (
                StatusCode::FORBIDDEN,
                "The token is missing or from an older session. Ask /api/session for the one of today."
                    .to_owned(),
            ),
            Self::WrongKind(wanted) => (StatusCode::UNSUPPORTED_MEDIA_TYPE, format!("Send {wanted}.")),
            Self::Unreadable(why) => (StatusCode::BAD_REQUEST, why),
            Self::Other(status, words) => (status, words),
            Self::Internal(reason) => {
                tracing::error!(%reason, detail = ?reason, "an answer failed");
                (
                    StatusCode::INTERNAL_SERVER_ERROR,
                    "Something went wrong on our side, and nothing was done. Send it again later.".to_owned(),
                )
            }
        };
        said(status, words)
    }
}

/// A problem with this status.
pub fn said(status: StatusCode, detail: String) -> Response {
    let body = shapes::Problem {
        kind: "about:blank".to_owned(),
        title: status.canonical_reason().unwrap_or("Problem").to_owned(),
        status: status.as_u16(),
        detail,
    };
    let mut response = (status, Json(body)).into_response();
    let kind = HeaderValue::from_static("application/problem+json");
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    response
}

/// Whatever is refused before the interface's own code sees it (an unknown address, another method, too
/// much, too slow, another site) is answered as a problem too.
pub async fn dress(request: Request, next: Next) -> Response {
    let ours = request.uri().path().starts_with("/api/");
    let response = next.run(request).await;
    let status = response.status();
    let kind = response.headers().get(header::CONTENT_TYPE).map(HeaderValue::as_bytes);
    let told = kind.is_some_and(|kind| kind.starts_with(b"application/"));
    if !ours || told || !(status.is_client_error() || status.is_server_error()) {
        return response;
    }
    let words = match status {
        StatusCode::NOT_FOUND => "There is no such address.",
        StatusCode::METHOD_NOT_ALLOWED => "This address does not take that kind of request.",
        StatusCode::FORBIDDEN => "A write must come from our own pages.",
        StatusCode::PAYLOAD_TOO_LARGE => "That is more than is taken at once.",
        StatusCode::SERVICE_UNAVAILABLE => "It takes too long just now. Send it again later.",
        status if status.is_server_error() => "Something went wrong on our side. Send it again later.",
        _ => "It cannot be read.",
    };
    let mut dressed = said(status, words.to_owned());
    if let Some(allow) = response.headers().get(header::ALLOW) {
        dressed.headers_mut().insert(header::ALLOW, allow.clone());
    }
    dressed
}
