//! Signing in and out, taking up an invitation, the first set-up, and one's own account.
use super::{
    AppState, Result,
    error::render,
    form::{Form, OpenForm, Posted},
    page::Page,
    session::{self, Actor},
};
use crate::{
    actions::{
        account::{self, SetUp, SignIn},
        secret,
    },
    db::{Conn, calendar_feed, company::Company, invitation, person},
    texts::Language,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{ConnectInfo, Path, Query, State},
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use axum_extra::extract::CookieJar;
use chrono::DateTime;
use chrono_tz::Tz;
use serde::Deserialize;
use std::net::SocketAddr;
use uuid::Uuid;

#[derive(Template, WebTemplate)]
#[template(path = "account/sign_in.html")]
struct SignInPage {
    page: Page,
    form: Form,
}

#[derive(Deserialize)]
pub struct Next {
    #[serde(default)]
    next: String,
}

/// GET /sign-in
pub async fn sign_in_form(actor: Option<Actor>, headers: HeaderMap, Query(q): Query<Next>) -> Response {
    if actor.is_some() {
        return Redirect::to("/").into_response();
    }
    sign_in_page(Form::filled([("next", q.next)]).speaking(asked_language(&headers))).into_response()
}

/// POST /sign-in
pub async fn sign_in(
    State(state): State<AppState>,
    address: Option<axum::Extension<ConnectInfo<SocketAddr>>>,
    headers: HeaderMap,
    OpenForm(form): OpenForm,
) -> Result<Response> {
    let mut form = form.speaking(asked_language(&headers));
    let address = address.map_or_else(String::new, |a| a.0.0.ip().to_string());
    let password = form.values.iter().find(|(n, _)| n == "password").map_or("", |(_, v)| v).to_owned();
    let (email, agent) = (form.line("email"), session::user_agent(&headers));
    if !form.is_good() {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, sign_in_page(form)).into_response());
    }
    let status = match account::sign_in(&state.nobody(), &email, password, &address, &agent).await? {
        SignIn::Welcome(secret) => {
            let jar = CookieJar::new().add(session::cookie(&state, secret));
            return Ok((jar, Redirect::to(own_address(form.value("next")))).into_response());
        }
        SignIn::Wrong => {
            form.fail("email", form.say("sign-in-wrong"));
            StatusCode::UNPROCESSABLE_ENTITY
        }
        SignIn::Pause => {
            form.fail("email", form.say("sign-in-pause"));
            let wait = [(header::RETRY_AFTER, "900")];
            return Ok((StatusCode::TOO_MANY_REQUESTS, wait, sign_in_page(form)).into_response());
        }
    };
    Ok((status, sign_in_page(form)).into_response())
}

fn sign_in_page(form: Form) -> SignInPage {
    SignInPage { page: Page::open("sign-in", form.language), form }
}

/// The language that a browser asks for first among ours.
pub(super) fn asked_language(headers: &HeaderMap) -> Language {
    let asked =
        headers.get(header::ACCEPT_LANGUAGE).and_then(|value| value.to_str().ok()).unwrap_or_default();
    // Browsers list them in the order of preference.
    let tags = asked.split(',').filter_map(|one| one.trim().get(..2));
    tags.filter_map(|tag| Language::from_code(&tag.to_lowercase())).next().unwrap_or_default()
}

/// Only an address within this service is followed after sign-in.
fn own_address(next: &str) -> &str {
    let ours = next.starts_with('/') && !next.starts_with("//") && !next.contains(['\\', '\r', '\n', '\t']);
    if ours { next } else { "/" }
}

/// POST /sign-out
pub async fn sign_out(State(state): State<AppState>, actor: Actor, _form: Posted) -> Result<Response> {
    account::sign_out(&actor.doer(), &actor.secret_hash).await?;
    Ok((CookieJar::new().add(session::no_cookie(&state)), Redirect::to("/sign-in")).into_response())
}

/// POST /account/sign-outs
pub async fn sign_out_everywhere(
    State(state): State<AppState>,
    actor: Actor,
    _form: Posted,
) -> Result<Response> {
    account::sign_out_everywhere(&actor.doer(), actor.id).await?;
    Ok((CookieJar::new().add(session::no_cookie(&state)), Redirect::to("/sign-in")).into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "account/show.html")]
struct AccountPage {
    page: Page,
    form: Form,
    languages: Vec<(&'static str, &'static str)>,
    certifications: Vec<person::Certification>,
    calendar: Calendar,
    /// The reader's own, and not somebody's whom the owner looks at.
    own: bool,
}

/// What a page says of a person's calendar.
pub(super) struct Calendar {
    /// When its address was made; none: there is none.
    pub(super) made_at: Option<DateTime<Tz>>,
    /// The same as people write it.
    pub(super) made_on: String,
    /// The address, just made: it is shown this once, only its hash is kept.
    pub(super) link: Option<String>,
    /// Where it is made.
    pub(super) path: String,
}

impl Calendar {
    pub(super) async fn of(
        conn: &mut Conn,
        actor: &Actor,
        person: Uuid,
        path: String,
        link: Option<String>,
    ) -> Result<Self> {
        let made_at = calendar_feed::made_at(conn, person).await?;
        let made_at = made_at.map(|at| at.with_timezone(&actor.time_zone));
        let made_on = made_at.map_or_else(String::new, |at| actor.reads().day(&at.date_naive()));
        Ok(Self { made_at, made_on, link, path })
    }
}

/// One's own account, with the calendar's address where it was just made.
pub(super) async fn page(state: &AppState, actor: &Actor, link: Option<String>) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let certifications = person::certifications(&mut conn, actor.id).await?;
    let calendar = Calendar::of(&mut conn, actor, actor.id, "/account/calendars".into(), link).await?;
    let form = Form::filled([("language", actor.language.code())]).speaking(actor.reads());
    let page = Page::of(actor, actor.title("nav-account", "My account"), "/account");
    let languages = Language::ALL.map(|one| (one.code(), one.name())).to_vec();
    Ok(AccountPage { page, form, languages, certifications, calendar, own: true }.into_response())
}

/// GET /account
pub async fn show(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    page(&state, &actor, None).await
}

/// POST /account/languages
pub async fn choose_language(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let chosen = form.choice("language", Language::from_code).unwrap_or(actor.language);
    account::choose_language(&actor.doer(), actor.id, chosen).await?;
    Ok(session::done(&state, "/account", &chosen.say("language-saved")))
}

#[derive(Template, WebTemplate)]
#[template(path = "account/invitation.html")]
struct InvitationPage {
    page: Page,
    form: Form,
    name: String,
    secret: String,
}

async fn invited(state: &AppState, secret: &str) -> Result<Option<invitation::Invitation>> {
    let mut conn = state.pool.acquire().await?;
    Ok(invitation::find_open(&mut conn, &secret::hash(secret), state.clock.now()).await?)
}

fn spent() -> Response {
    let words = "This link was used before or is too old. Ask the owner for a new one.";
    render(StatusCode::GONE, "This link no longer works", words.into())
}

/// GET /invitation/{secret}
pub async fn invitation_form(
    State(state): State<AppState>,
    Path(secret): Path<String>,
    headers: HeaderMap,
) -> Result<Response> {
    let Some(invited) = invited(&state, &secret).await? else { return Ok(spent()) };
    let form = Form::default().speaking(asked_language(&headers));
    let page = Page::open("invitation-title", form.language);
    Ok(InvitationPage { page, form, name: invited.name, secret }.into_response())
}

/// POST /invitation/{secret}
pub async fn accept(
    State(state): State<AppState>,
    Path(secret): Path<String>,
    headers: HeaderMap,
    OpenForm(form): OpenForm,
) -> Result<Response> {
    let Some(invited) = invited(&state, &secret).await? else { return Ok(spent()) };
    let mut form = form.speaking(asked_language(&headers));
    let password = new_password(&mut form);
    if form.is_good() {
        match account::accept(&state.nobody(), &secret, password).await {
            Ok(()) => return Ok(session::done(&state, "/sign-in", "Your password is set; sign in with it.")),
            Err(crate::actions::Error::NotFound) => return Ok(spent()),
            Err(e) => form.absorb(e)?,
        }
    }
    let page = Page::open("invitation-title", form.language);
    let again = InvitationPage { page, form, name: invited.name, secret };
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

fn new_password(form: &mut Form) -> String {
    let typed = |name: &str| form.values.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v).to_owned();
    let (password, again) = (typed("password"), typed("again"));
    if password != again {
        form.fail("again", "The two passwords differ.");
    }
    password
}

#[derive(Template, WebTemplate)]
#[template(path = "account/setup.html")]
struct SetupPage {
    page: Page,
    form: Form,
    secret: String,
}

/// GET /setup/{secret}
pub async fn setup_form(
    State(state): State<AppState>,
    Path(secret): Path<String>,
    headers: HeaderMap,
) -> Result<Response> {
    if !invitation::setup_is_open(&mut *state.pool.acquire().await?, &secret::hash(&secret)).await? {
        return Ok(spent());
    }
    let form = Form::filled([("time_zone", "America/Los_Angeles")]).speaking(asked_language(&headers));
    Ok(SetupPage { page: Page::open("setup-title", form.language), form, secret }.into_response())
}

/// POST /setup/{secret}
pub async fn set_up(
    State(state): State<AppState>,
    Path(secret): Path<String>,
    headers: HeaderMap,
    OpenForm(form): OpenForm,
) -> Result<Response> {
    let mut form = form.speaking(asked_language(&headers));
    let new = read_setup(&mut form);
    if form.is_good() {
        match account::set_up(&state.nobody(), &secret, new).await {
            Ok(()) => {
                return Ok(session::done(&state, "/sign-in", "The company is set up; sign in as its owner."));
            }
            Err(crate::actions::Error::NotFound) => return Ok(spent()),
            Err(e) => form.absorb(e)?,
        }
    }
    let again = SetupPage { page: Page::open("setup-title", form.language), form, secret };
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

fn read_setup(form: &mut Form) -> SetUp {
    let company = read_company(form);
    SetUp { name: form.required("name"), email: email(form), password: new_password(form), company }
}

/// The company's own data, as the first set-up and the company's page ask for them.
pub(super) fn read_company(form: &mut Form) -> Company {
    let company = Company {
        name: form.required_line("company"),
        street: form.required_line("street"),
        city: form.required_line("city"),
        state: form.state("state"),
        zip: form.required_zip("zip"),
        phone: form.required_line("phone"),
        license_number: form.line("license_number"),
        time_zone: form.required_line("time_zone"),
        emergency_phone: form.line("emergency_phone"),
    };
    if company.time_zone.parse::<chrono_tz::Tz>().is_err() {
        form.fail("time_zone", "Write the zone's name, for example America/Los_Angeles.");
    }
    company
}

/// An e-mail address as accounts keep it: in small letters.
pub(super) fn email(form: &mut Form) -> String {
    let email = form.required("email").to_lowercase();
    let (local, host) = email.split_once('@').unwrap_or_default();
    if !email.is_empty() && (local.is_empty() || !host.contains('.') || email.contains(char::is_whitespace)) {
        form.fail("email", "This is not an e-mail address.");
    }
    email
}

#[cfg(test)]
mod tests {
    use super::own_address;

    #[test]
    fn sign_in_leads_nowhere_else() {
        assert_eq!(own_address("/due?week=2026-W48"), "/due?week=2026-W48");
        for elsewhere in ["", "//evil.test", "https://evil.test", "/\\evil.test", "/a\r\nb"] {
            assert_eq!(own_address(elsewhere), "/", "{elsewhere:?}");
        }
    }
}
