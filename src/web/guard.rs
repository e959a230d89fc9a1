//! What every answer carries and every write must show, and who may open a line of the router's table.
use super::{AppState, Error, session::Actor};
use crate::domain::user::Role;
use axum::{
    extract::{Request, State},
    http::{HeaderMap, HeaderValue, Method, header},
    middleware::Next,
    response::{IntoResponse, Redirect, Response},
};

/// Who may open a line of the table. Finer questions (whose visit is it) belong to the noun's own door.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Who {
    /// A visitor without a session as well.
    Anyone,
    /// Everybody who is signed in.
    SignedIn,
    /// Owner and office.
    Office,
    /// The owner alone.
    Owner,
}

impl Who {
    /// Whether this role may; nobody in particular is `None`.
    #[must_use]
    pub fn admits(self, role: Option<Role>) -> bool {
        match (self, role) {
            (Who::Anyone, _) | (Who::SignedIn, Some(_)) => true,
            (Who::Office, Some(role)) => role != Role::Technician,
            (Who::Owner, Some(role)) => role == Role::Owner,
            (_, None) => false,
        }
    }
}

/// Lets through who may; sends visitors to sign in and shows everybody else nothing.
pub async fn admit(State(who): State<Who>, actor: Option<Actor>, request: Request, next: Next) -> Response {
    let role = actor.map(|a| a.role);
    if who.admits(role) {
        return next.run(request).await;
    }
    if role.is_some() {
        return Error::NotFound.into_response();
    }
    if matches!(*request.method(), Method::GET | Method::HEAD) {
        let from = request.uri().path_and_query().map_or("/", |p| p.as_str());
        let query = serde_urlencoded::to_string([("next", from)]).unwrap_or_default();
        return Redirect::to(&format!("/sign-in?{query}")).into_response();
    }
    Error::SignedOut.into_response()
}

/// Control characters in an address come from no link of ours, and the database takes no NUL: they are
/// dropped from what is asked for, and no path holds them.
pub async fn readable(mut request: Request, next: Next) -> Response {
    let (path, query) = (request.uri().path(), request.uri().query());
    if without_controls(path) != path {
        return Error::NotFound.into_response();
    }
    if let Some(query) = query
        && let clean = without_controls(query)
        && clean != query
    {
        match format!("{path}?{clean}").parse() {
            Ok(address) => *request.uri_mut() = address,
            Err(_) => return Error::NotFound.into_response(),
        }
    }
    next.run(request).await
}

/// An address without its escaped control characters; line ends and tabs stay.
fn without_controls(address: &str) -> String {
    let mut parts = address.split('%');
    let mut clean = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let byte = part.get(..2).and_then(|hex| u8::from_str_radix(hex, 16).ok());
        match byte {
            Some(byte) if byte.is_ascii_control() && !b"\t\n\r".contains(&byte) => clean.push_str(&part[2..]),
            _ => {
                clean.push('%');
                clean.push_str(part);
            }
        }
    }
    clean
}

/// A write must come from our own pages: browsers say so in Sec-Fetch-Site, older ones in Origin.
/// The form's own token, checked where the form is read, is the second lock.
pub async fn same_origin(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let reads = matches!(*request.method(), Method::GET | Method::HEAD | Method::OPTIONS);
    // A mail program ends offers from wherever it is; the address that it was sent is all it needs (RFC 8058).
    let one_click = request.uri().path().starts_with("/u/");
    if reads || one_click || from_here(request.headers(), &state.config.base_url()) {
        return next.run(request).await;
    }
    Error::Forbidden.into_response()
}

fn from_here(headers: &HeaderMap, public_url: &str) -> bool {
    let text = |name: &str| headers.get(name).and_then(|v| v.to_str().ok());
    if let Some(site) = text("sec-fetch-site") {
        return matches!(site, "same-origin" | "none");
    }
    let Some(origin) = text("origin") else { return true };
    let host = text("host").unwrap_or_default();
    let authority = origin.split_once("://").map_or("", |(_, rest)| rest);
    authority == host || origin == public_url.trim_end_matches('/')
}

/// Nothing from elsewhere, nothing inline, nobody frames us.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
    connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; \
    frame-ancestors 'none'";

/// Puts the security headers on every answer, errors included.
pub async fn headers(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    let mut set = |name: &'static str, value: &'static str| {
        headers.insert(name, HeaderValue::from_static(value));
    };
    set("content-security-policy", POLICY);
    set("x-content-type-options", "nosniff");
    set("x-frame-options", "DENY");
    set("referrer-policy", "same-origin");
    set("cross-origin-opener-policy", "same-origin");
    set("cross-origin-resource-policy", "same-origin");
    set("permissions-policy", "camera=(self), geolocation=(self), microphone=()");
    if state.config.cookies_are_secure() {
        set("strict-transport-security", "max-age=31536000");
    }
    // Pages show customers: no shared or stored copy unless the handler says otherwise.
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers_of(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        pairs.iter().map(|(k, v)| ((*k).parse().unwrap(), HeaderValue::from_static(v))).collect()
    }

    #[test]
    fn writes_from_elsewhere_are_told_apart() {
        let here = "https://plants.example.test";
        for (pairs, ours) in [
            (&[("sec-fetch-site", "same-origin")][..], true),
            (&[("sec-fetch-site", "cross-site"), ("origin", "https://plants.example.test")], false),
            (&[("sec-fetch-site", "same-site")], false),
            (&[("origin", "http://a.test"), ("host", "a.test")], true),
            (&[("origin", "http://b.test"), ("host", "a.test")], false),
            (&[("origin", "null"), ("host", "a.test")], false),
            (&[("origin", "https://plants.example.test"), ("host", "127.0.0.1:80")], true),
            (&[], true),
        ] {
            assert_eq!(from_here(&headers_of(pairs), here), ours, "{pairs:?}");
        }
    }

    #[test]
    fn control_characters_are_dropped_and_everything_else_stays() {
        for (address, clean) in [
            ("area=%00", "area="),
            ("area=a%1Fb%7f", "area=ab"),
            ("area=a%0D%0Ab%20c%C3%A9", "area=a%0D%0Ab%20c%C3%A9"),
            ("area=100%", "area=100%"),
            ("area=%zz%é", "area=%zz%é"),
        ] {
            assert_eq!(without_controls(address), clean, "{address}");
        }
    }

    #[test]
    fn each_door_admits_its_people() {
        let everyone = [None, Some(Role::Technician), Some(Role::Office), Some(Role::Owner)];
        let admitted = |who: Who| everyone.map(|r| who.admits(r));
        assert_eq!(admitted(Who::Anyone), [true, true, true, true]);
        assert_eq!(admitted(Who::SignedIn), [false, true, true, true]);
        assert_eq!(admitted(Who::Office), [false, false, true, true]);
        assert_eq!(admitted(Who::Owner), [false, false, false, true]);
    }
}
