//! Who asks: the cookie, the session behind it, and what a request carries on.
use super::{AppState, Error, error};
use crate::{
    actions::{Doer, secret},
    db::session,
    domain::user::Role,
    texts::Language,
};
use axum::{
    extract::{FromRequestParts, OptionalFromRequestParts, Request, State},
    http::{HeaderMap, HeaderValue, header, request::Parts},
    middleware::Next,
    response::{IntoResponse, Response},
};
use axum_extra::extract::cookie::{Cookie, CookieJar, SameSite};
use chrono::{DateTime, Duration, NaiveDate, Utc};
use chrono_tz::Tz;
use uuid::Uuid;

/// The notice that the next page shows once.
const NOTICE: &str = "plantward-notice";

/// A person who is signed in, asking for something.
#[derive(Clone, Debug)]
pub struct Actor {
    pub id: Uuid,
    pub name: String,
    pub role: Role,
    pub csrf: String,
    pub company: String,
    /// The day it is where the company works.
    pub today: NaiveDate,
    pub time_zone: Tz,
    /// What they chose to read the field pages in.
    pub language: Language,
    /// What the last write has to say.
    pub notice: Option<String>,
    pub secret_hash: Vec<u8>,
    doer: Doer,
}

impl Actor {
    /// The actions' world with this person acting.
    #[must_use]
    pub fn doer(&self) -> Doer {
        self.doer.clone()
    }
    /// The language of their pages: what technicians chose, and English in the office.
    #[must_use]
    pub fn reads(&self) -> Language {
        if self.role == Role::Technician { self.language } else { Language::English }
    }

    /// A moment as they read it: the day in their language, the hour where the company works.
    #[must_use]
    pub fn moment(&self, at: DateTime<Utc>) -> String {
        let local = at.with_timezone(&self.time_zone);
        format!("{}, {}", self.reads().day(&local.date_naive()), local.format("%H:%M"))
    }

    /// A page's title: in the field by the name of its text, in the office as it stands.
    #[must_use]
    pub fn title(&self, name: &str, office: &str) -> String {
        if self.role == Role::Technician { self.language.say(name) } else { office.to_owned() }
    }
    /// The role as the page's head names it.
    #[must_use]
    pub fn role_label(&self) -> &'static str {
        self.role.code()
    }
}

/// The cookie's name: the __Host- prefix binds it to this very host over TLS.
fn cookie_name(state: &AppState) -> &'static str {
    if state.config.cookies_are_secure() { "__Host-plantward" } else { "plantward" }
}

/// The cookie that carries a session's secret.
#[must_use]
pub fn cookie(state: &AppState, secret: String) -> Cookie<'static> {
    built(state, cookie_name(state), secret)
}

/// The session's cookie as a phone keeps it: it outlives the browser, so that an empty battery signs nobody out.
/// How long the session lasts is still the server's to say.
#[must_use]
pub fn lasting_cookie(state: &AppState, headers: &HeaderMap) -> Option<HeaderValue> {
    let jar = CookieJar::from_headers(headers);
    let held = jar.get(cookie_name(state))?;
    let seconds = state.config.session_limit().num_seconds();
    format!("{}; Max-Age={seconds}", cookie(state, held.value().to_owned())).parse().ok()
}

/// The cookie that takes the session's cookie away.
#[must_use]
pub fn no_cookie(state: &AppState) -> Cookie<'static> {
    let mut gone = cookie(state, String::new());
    gone.make_removal();
    gone
}

fn built(state: &AppState, name: &'static str, value: String) -> Cookie<'static> {
    Cookie::build((name, value))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(state.config.cookies_are_secure())
        .build()
}

/// Sends the browser on after a write; the next page shows the words once.
#[must_use]
pub fn done(state: &AppState, to: &str, words: &str) -> Response {
    use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
    let notice = built(state, NOTICE, URL_SAFE_NO_PAD.encode(words));
    (CookieJar::new().add(notice), axum::response::Redirect::to(to)).into_response()
}

/// Finds out who asks, once a request, and hands it on. Without a cookie it costs nothing.
pub async fn load(State(state): State<AppState>, mut request: Request, next: Next) -> Response {
    let jar = CookieJar::from_headers(request.headers());
    let Some(held) = jar.get(cookie_name(&state)) else { return next.run(request).await };
    let actor = match find(&state, held.value()).await {
        Ok(actor) => actor,
        Err(e) => return Error::from(e).into_response(),
    };
    let Some(mut actor) = actor else { return next.run(request).await };
    let shows_page = request.method() == axum::http::Method::GET;
    if shows_page {
        actor.notice = jar.get(NOTICE).and_then(|c| read_notice(c.value()));
    }
    let clear = actor.notice.is_some();
    request.extensions_mut().insert(actor);
    let mut response = next.run(request).await;
    if clear {
        let mut gone = built(&state, NOTICE, String::new());
        gone.make_removal();
        if let Ok(value) = HeaderValue::from_str(&gone.to_string()) {
            response.headers_mut().append(header::SET_COOKIE, value);
        }
    }
    response
}

fn read_notice(value: &str) -> Option<String> {
    use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
    String::from_utf8(URL_SAFE_NO_PAD.decode(value).ok()?).ok()
}

async fn find(state: &AppState, held: &str) -> sqlx::Result<Option<Actor>> {
    let now = state.clock.now();
    let idle = now - state.config.session_idle();
    let absolute = now - state.config.session_limit();
    let mut conn = state.pool.acquire().await?;
    let Some(s) = session::find(&mut conn, &secret::hash(held), idle, absolute).await? else {
        return Ok(None);
    };
    if now - s.last_seen_at > Duration::minutes(1) {
        session::touch(&mut conn, &s.secret_hash, now).await?;
    }
    let time_zone: Tz = s.time_zone.parse().unwrap_or(Tz::UTC);
    Ok(Some(Actor {
        id: s.person_id,
        name: s.name,
        role: s.role,
        csrf: s.csrf,
        company: s.company,
        today: state.clock.today(time_zone),
        time_zone,
        language: Language::from_code(&s.language).unwrap_or_default(),
        notice: None,
        secret_hash: s.secret_hash,
        doer: state.nobody().acting(s.person_id),
    }))
}

impl<S: Send + Sync> FromRequestParts<S> for Actor {
    type Rejection = error::Error;
    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Self::Rejection> {
        parts.extensions.get::<Actor>().cloned().ok_or(Error::SignedOut)
    }
}

impl<S: Send + Sync> OptionalFromRequestParts<S> for Actor {
    type Rejection = std::convert::Infallible;
    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Option<Self>, Self::Rejection> {
        Ok(parts.extensions.get::<Actor>().cloned())
    }
}

/// The browser's name, for the audit of sessions.
#[must_use]
pub fn user_agent(headers: &HeaderMap) -> String {
    let text = headers.get(header::USER_AGENT).and_then(|v| v.to_str().ok()).unwrap_or_default();
    text.chars().take(200).collect()
}
