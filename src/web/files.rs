//! Files that are given out: their names and kinds, and bodies that are made where no request waits.
use super::Result;
use axum::{
    body::{Body, Bytes},
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
};
use futures_util::{StreamExt, stream};
use std::io;
use tokio::sync::mpsc;

/// A part of a file, or why there is no more.
pub type Piece = io::Result<Bytes>;

/// A file to be saved under this name.
///
/// # Errors
/// When name or kind hold what no header may.
pub fn attachment(name: &str, kind: &str, body: impl Into<Body>) -> Result<Response> {
    given("attachment", name, kind, body)
}

/// A file to be looked at in the browser, and saved under this name.
///
/// # Errors
/// As [`attachment`].
pub fn inline(name: &str, kind: &str, body: impl Into<Body>) -> Result<Response> {
    given("inline", name, kind, body)
}

fn given(how: &str, name: &str, kind: &str, body: impl Into<Body>) -> Result<Response> {
    let value = |text: &str| HeaderValue::try_from(text).map_err(anyhow::Error::from);
    let disposition = value(&format!("{how}; filename=\"{name}\""))?;
    let about = [(header::CONTENT_TYPE, value(kind)?), (header::CONTENT_DISPOSITION, disposition)];
    Ok((about, body.into()).into_response())
}

/// A file to print. Setting many pages takes some tenths of a second: it is not done where requests wait.
///
/// # Errors
/// As [`attachment`]; when the sheet cannot be written.
pub async fn pdf(
    name: &str,
    write: impl FnOnce() -> anyhow::Result<Vec<u8>> + Send + 'static,
) -> Result<Response> {
    let bytes = tokio::task::spawn_blocking(write).await.map_err(anyhow::Error::from)??;
    inline(name, "application/pdf", bytes)
}

/// A body of the pieces that come, no faster than they are taken.
pub fn streamed(take: mpsc::Receiver<Piece>) -> Body {
    let pieces = stream::unfold(take, |mut take| async move { take.recv().await.map(|piece| (piece, take)) });
    // Compression asks once more after the end.
    Body::from_stream(pieces.fuse())
}
