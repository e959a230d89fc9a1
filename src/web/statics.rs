//! Files that never change under their address: the address carries a hash of the content. The modules of the
//! phone's page name each other, so that one hash stands for all of them.
use super::{Error, field};
use crate::{domain::chain::hex, texts::Language};
use axum::{
    extract::Path,
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

struct Static {
    name: &'static str,
    kind: &'static str,
    bytes: &'static [u8],
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

static FILES: [Static; 4] = [
    Static {
        name: "app.css",
        kind: "text/css; charset=utf-8",
        bytes: include_bytes!("../../static/app.css"),
    },
    Static { name: "icon.svg", kind: "image/svg+xml", bytes: include_bytes!("../../static/icon.svg") },
    Static { name: "icon-192.png", kind: "image/png", bytes: include_bytes!("../../static/icon-192.png") },
    Static { name: "icon-512.png", kind: "image/png", bytes: include_bytes!("../../static/icon-512.png") },
];

macro_rules! modules {
    ($($name:literal)*) => {
        [$(($name, include_bytes!(concat!("../../static/field/", $name)).as_slice())),*]
    };
}

/// What the phone's page runs on.
static MODULES: [(&str, &[u8]); 20] = modules![
    "caps.js" "door.js" "documents.js" "dom.js" "dose.js" "draft.js" "exact.js" "ids.js" "outbox.js" "page.js" "photos.js" "plant.js"
    "queue.js" "seal.js" "server.js" "stop.js" "store.js" "sync.js" "visits.js" "words.js"
];

/// What a technician reads, by file.
static TEXTS: LazyLock<Vec<(String, Vec<u8>)>> = LazyLock::new(|| {
    let sheet = |language: Language| (field::texts_name(language), language.sheet().to_string().into_bytes());
    Language::ALL.map(sheet).to_vec()
});

/// Addresses by file, in the order of `FILES`.
static ADDRESSES: LazyLock<Vec<String>> = LazyLock::new(|| FILES.iter().map(address).collect());

/// The hash of modules and texts together.
static FIELD: LazyLock<String> = LazyLock::new(|| {
    let mut all = Sha256::new();
    MODULES.iter().for_each(|(_, bytes)| all.update(bytes));
    TEXTS.iter().for_each(|(_, bytes)| all.update(bytes));
    hex(&all.finalize()[..6])
});

fn address(file: &Static) -> String {
    format!("/static/{}/{}", hex(&Sha256::digest(file.bytes)[..6]), file.name)
}

/// The address of a file that stands alone.
#[must_use]
pub fn address_of(name: &str) -> &'static str {
    FILES.iter().position(|f| f.name == name).map_or("", |i| &ADDRESSES[i])
}

/// The address of a module or of texts of the phone's page.
#[must_use]
pub fn field(name: &str) -> String {
    format!("/static/{}/{name}", *FIELD)
}

/// Every module by its name.
pub fn modules() -> impl Iterator<Item = &'static str> {
    MODULES.iter().map(|(name, _)| *name)
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
    let (kind, bytes) =
        if hash == *FIELD { of_field(&name) } else { alone(&hash, &name) }.ok_or(Error::NotFound)?;
    let forever = HeaderValue::from_static("public, max-age=31536000, immutable");
    let kind = HeaderValue::from_static(kind);
    Ok(([(header::CACHE_CONTROL, forever), (header::CONTENT_TYPE, kind)], bytes).into_response())
}

fn alone(hash: &str, name: &str) -> Option<(&'static str, &'static [u8])> {
    let file = FILES.iter().find(|f| f.name == name)?;
    (address_of(name) == format!("/static/{hash}/{name}")).then_some((file.kind, file.bytes))
}

fn of_field(name: &str) -> Option<(&'static str, &'static [u8])> {
    let module = MODULES.iter().find(|(held, _)| *held == name).map(|(_, bytes)| (SCRIPT, *bytes));
    let texts = || {
        TEXTS.iter().find(|(held, _)| held == name).map(|(_, bytes)| ("application/json", bytes.as_slice()))
    };
    module.or_else(texts)
}
