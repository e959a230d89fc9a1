//! Files that never change under their address: the address carries a hash of the content.
use axum::{
    extract::Path,
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
};
use sha2::{Digest, Sha256};
use std::{fmt::Write, sync::LazyLock};

use super::Error;

struct Static {
    name: &'static str,
    kind: &'static str,
    bytes: &'static [u8],
}

static FILES: [Static; 2] = [
    Static {
        name: "app.css",
        kind: "text/css; charset=utf-8",
        bytes: include_bytes!("../../static/app.css"),
    },
    Static { name: "icon.svg", kind: "image/svg+xml", bytes: include_bytes!("../../static/icon.svg") },
];

/// Addresses by file, in the order of `FILES`.
static ADDRESSES: LazyLock<Vec<String>> = LazyLock::new(|| FILES.iter().map(address).collect());

fn address(file: &Static) -> String {
    let digest = Sha256::digest(file.bytes);
    let mut hash = String::new();
    for byte in &digest[..6] {
        // Writing to a String cannot fail.
        let _ = write!(hash, "{byte:02x}");
    }
    format!("/static/{hash}/{}", file.name)
}

fn address_of(name: &str) -> &'static str {
    FILES.iter().position(|f| f.name == name).map_or("", |i| &ADDRESSES[i])
}

/// The address of the style sheet.
#[must_use]
pub fn css() -> &'static str {
    address_of("app.css")
}

/// The address of the icon.
#[must_use]
pub fn icon() -> &'static str {
    address_of("icon.svg")
}

/// GET /static/{hash}/{name}
pub async fn show(Path((hash, name)): Path<(String, String)>) -> Result<Response, Error> {
    let file = FILES.iter().find(|f| f.name == name).ok_or(Error::NotFound)?;
    if address_of(&name) != format!("/static/{hash}/{name}") {
        return Err(Error::NotFound);
    }
    let forever = HeaderValue::from_static("public, max-age=31536000, immutable");
    let kind = HeaderValue::from_static(file.kind);
    Ok(([(header::CACHE_CONTROL, forever), (header::CONTENT_TYPE, kind)], file.bytes).into_response())
}
