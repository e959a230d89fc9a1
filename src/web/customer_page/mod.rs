//! The customer's own page behind a signed link. Opening it changes nothing; what it sends carries the link itself as
//! its authority, which no other page can know, and must come from our own pages besides.
mod out;
mod plants;
mod sent;

pub use out::{end_offers, show as out};
pub use sent::{answer, details, neighbour};

use super::{AppState, Result, form::Form, statics};
use crate::{
    actions::{answer as verbs, customer_mail as links, evidence, reminder::house},
    db::{answer, customer::Customer, customer_mail, neighbour_proposal, site},
    mail::words::House,
    texts::Language,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{Months, NaiveDate};
use fluent_bundle::FluentArgs;
use plants::Place;
use serde::Deserialize;

/// What stands around every page of a customer.
pub struct Frame {
    pub language: Language,
    pub house: House,
    pub title: String,
    pub css: &'static str,
    pub icon: &'static str,
    /// What the last write has to say.
    pub notice: Option<String>,
}

impl Frame {
    fn new(language: Language, house: House, title: &str) -> Self {
        let (css, icon, notice) = (statics::css(), statics::icon(), None);
        Self { title: language.say(title), language, house, css, icon, notice }
    }

    /// A text.
    #[must_use]
    pub fn say(&self, name: &str) -> String {
        self.language.say(name)
    }

    /// A text with a day in it.
    #[must_use]
    pub fn on(&self, name: &str, day: &NaiveDate) -> String {
        self.language.say_of(name, "day", self.language.day(day))
    }

    /// A text with the company and its telephone in it.
    #[must_use]
    pub fn house(&self, name: &str) -> String {
        let mut args = FluentArgs::new();
        args.set("company", self.house.name.as_str());
        args.set("phone", self.house.phone.as_str());
        self.language.fill(name, &args)
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "customer_page/show.html")]
struct ShowPage {
    frame: Frame,
    link: String,
    customer: Customer,
    places: Vec<Place>,
    form: Form,
    /// The site whose form was sent and has mistakes.
    wrong_site: String,
    /// The same of the form that names a neighbour.
    wrong_neighbour: String,
    languages: [(&'static str, &'static str); 2],
    reasons: Vec<(&'static str, String)>,
}

#[derive(Template, WebTemplate)]
#[template(path = "customer_page/ended.html")]
struct EndedPage {
    frame: Frame,
    /// The same in the other language: whose link it was is not known.
    other: Frame,
}

/// What a link that is not ours, too old or ended shows: nothing of anybody.
async fn ended(state: &AppState) -> Result<Response> {
    let house = house(&mut *state.pool.acquire().await?).await?;
    let frame = Frame::new(Language::English, house.clone(), "link-ended-title");
    let other = Frame::new(Language::Spanish, house, "link-ended-title");
    Ok((StatusCode::GONE, EndedPage { frame, other }).into_response())
}

/// What the address may say: that something was just sent.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    said: String,
}

/// GET /c/{link}
pub async fn show(
    State(state): State<AppState>,
    Path(link): Path<String>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    page(&state, link, Form::default(), &ask.said).await
}

/// The page, with a form that was sent and is not good yet, or with what was just sent.
async fn page(state: &AppState, link: String, sent: Form, said: &str) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let Some(customer) = links::whose_page(&mut conn, &state.nobody(), &link).await? else {
        drop(conn);
        return ended(state).await;
    };
    evidence::own_page_seen(&state.nobody(), &mut conn, customer.id).await?;
    let own = customer_mail::find(&mut conn, customer.id).await?;
    let language = Language::from_code(&own.language).unwrap_or_default();
    let mut frame = Frame::new(language, house(&mut conn).await?, "own-title");
    frame.notice = match said {
        "yes" => Some(frame.say("own-said-yes")),
        "no" => Some(frame.say("own-said-no")),
        "details" => Some(frame.say("own-said-details")),
        "neighbour" => Some(frame.say("own-said-neighbour")),
        _ => None,
    };
    let zone = crate::db::company::time_zone(&mut conn).await?;
    let today = state.clock.today(zone);
    let since = today.checked_sub_months(Months::new(36)).unwrap_or(today);
    let mut places = vec![];
    for line in site::of_customer(&mut conn, customer.id).await? {
        if line.retired_at.is_some() {
            continue;
        }
        let open = verbs::open_rows(&mut conn, line.id, today).await?;
        let days = verbs::offered(&mut conn, line.id, &open, today).await?;
        let own = answer::own_plants(&mut conn, line.id).await?;
        let done = answer::treatments(&mut conn, line.id, since).await?;
        let facts = match site::find(&mut conn, line.id).await? {
            Some(found) => super::protection::facts(&mut conn, found.parcel_id, today).await?,
            None => continue,
        };
        let named = neighbour_proposal::open_of_site(&mut conn, line.id).await?;
        let mut place = Place::of(&frame, line, (open, days), (own, done), &facts)?;
        place.named =
            named.into_iter().map(|p| language.say_of("own-neighbour-waits", "name", p.name)).collect();
        places.push(place);
    }
    let good = sent.is_good();
    let wrong_site = sent.value("site").to_owned();
    let wrong_neighbour = sent.value("neighbour-site").to_owned();
    let mut form = sent;
    for (name, value) in [
        ("email", customer.email.as_str()),
        ("phone", &customer.phone),
        ("language", &own.language),
        ("offers", if verbs::wants_offers(&own) { "yes" } else { "" }),
    ] {
        let typed = form.values.iter().any(|(n, _)| n == "details");
        if !typed {
            form.set(name, value);
        }
    }
    let reasons = verbs::REASONS.map(|code| (code, language.say(&format!("reason-{code}")))).to_vec();
    let languages = Language::ALL.map(|one| (one.code(), one.name()));
    let shown =
        ShowPage { frame, link, customer, places, form, wrong_site, wrong_neighbour, languages, reasons };
    let status = if good { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    Ok((status, shown).into_response())
}
