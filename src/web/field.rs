//! The page on a technician's phone: its shell, the modules behind it, the worker that keeps it there without
//! signal, and the manifest. Nothing here is about a person or a customer: that comes by the interface.
use super::{Error, statics};
use crate::{domain::chain::hex, texts::Language};
use askama::Template;
use axum::{
    http::{HeaderValue, header},
    response::{Html, IntoResponse, Response},
};
use serde_json::json;
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

/// Address of the page, which is also what its worker answers for.
pub const PAGE: &str = "/field";

#[derive(Template)]
#[template(path = "field_page.html")]
struct Shell {
    css: &'static str,
    icon: &'static str,
    start: String,
    /// Modules beside the first, fetched at once with it.
    modules: Vec<String>,
    /// By language: tag, address of its texts, words while it loads, words without script, the page without.
    languages: Vec<Words>,
}

struct Words {
    code: &'static str,
    texts: String,
    loading: String,
    no_script: String,
    visits: String,
    foot: String,
    skip: String,
}

static SHELL: LazyLock<Result<String, String>> = LazyLock::new(|| {
    let words = |language: Language| Words {
        code: language.code(),
        texts: statics::field(&texts_name(language)),
        loading: language.say("loading"),
        no_script: language.say("no-script"),
        visits: language.say("nav-visits"),
        foot: language.say("foot"),
        skip: language.say("skip-to-main"),
    };
    let beside = statics::modules().filter(|name| !["page.js", "door.js"].contains(name));
    let shell = Shell {
        css: statics::css(),
        icon: statics::icon(),
        start: statics::field("page.js"),
        modules: beside.map(statics::field).collect(),
        languages: Language::ALL.into_iter().map(words).collect(),
    };
    shell.render().map_err(|e| e.to_string())
});

/// The file of a language's texts.
#[must_use]
pub fn texts_name(language: Language) -> String {
    format!("texts-{}.json", language.code())
}

fn fresh(kind: &'static str, body: impl IntoResponse) -> Response {
    let headers = [
        (header::CACHE_CONTROL, HeaderValue::from_static("no-cache")),
        (header::CONTENT_TYPE, HeaderValue::from_static(kind)),
    ];
    (headers, body).into_response()
}

/// GET /field
pub async fn show() -> Result<Response, Error> {
    let shell = SHELL.as_ref().map_err(|e| Error::Internal(anyhow::anyhow!("the shell: {e}")))?;
    Ok(fresh("text/html; charset=utf-8", Html(shell.as_str())))
}

/// GET /field-worker.js
///
/// Its bytes change with any file that it keeps, and so the phone takes up the new page.
pub async fn worker() -> Result<Response, Error> {
    let shell = SHELL.as_ref().map_err(|e| Error::Internal(anyhow::anyhow!("the shell: {e}")))?;
    let mut files = vec![
        PAGE.to_owned(),
        "/manifest.webmanifest".to_owned(),
        statics::css().to_owned(),
        statics::icon().to_owned(),
    ];
    files.extend(statics::modules().filter(|name| *name != "door.js").map(statics::field));
    files.extend(Language::ALL.map(|language| statics::field(&texts_name(language))));
    let version = hex(&Sha256::digest(shell)[..6]);
    let body = format!("const VERSION = {}, FILES = {};\n{WORKER}", json!(version), json!(files));
    Ok(fresh("text/javascript; charset=utf-8", body))
}

const WORKER: &str = include_str!("../../static/field/worker.js");

/// GET /manifest.webmanifest
pub async fn manifest() -> Response {
    let icon = |name: &str, sizes: &str, kind: &str| json!({ "src": statics::address_of(name), "sizes": sizes, "type": kind, "purpose": "any" });
    let body = json!({
        "id": PAGE, "name": "Plantward", "short_name": "Plantward", "start_url": PAGE, "scope": "/",
        "display": "standalone", "background_color": "#ffffff", "theme_color": "#5a1f3e",
        "icons": [
            icon("icon.svg", "any", "image/svg+xml"),
            icon("icon-192.png", "192x192", "image/png"),
            icon("icon-512.png", "512x512", "image/png"),
        ],
    });
    fresh("application/manifest+json", body.to_string())
}
