//! Products: the list, one product with its registrations and label versions.
mod edit;

pub use edit::{create, edit_form, new_form, retire, take_back, update};

use super::{
    AppState, Error, Result, documents,
    form::{Form, Posted},
    page::Page,
    pour,
    session::{self, Actor},
    words,
};
use crate::{
    actions::product as verbs,
    db::{
        label::{self, Version},
        product::{self, Listed, Product, Registration, Wanted},
    },
    domain::{
        registration::{Standing, standing},
        us,
    },
    texts::Language,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use fluent_bundle::FluentArgs;
use serde::Deserialize;
use uuid::Uuid;

const AT: &str = "/products";
/// Rows a page; one more is read to know whether there is another page.
const PAGE: usize = 50;

/// What the address may ask for. Anything that cannot be read narrows nothing.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    q: String,
    show: String,
    after: String,
    before: String,
}

impl Ask {
    fn wanted(&self) -> Wanted {
        Wanted {
            words: self.q.trim().to_owned(),
            retired_too: self.show == "all",
            after: self.after.parse().ok(),
            before: self.before.parse().ok(),
        }
    }

    /// The address of the page on that side of a product.
    fn at(&self, side: &str, id: Uuid) -> String {
        let id = id.to_string();
        let ask = [("q", self.q.as_str()), ("show", &self.show), (side, &id)];
        let ask: Vec<_> = ask.into_iter().filter(|(_, v)| !v.is_empty()).collect();
        format!("{AT}?{}", serde_urlencoded::to_string(ask).unwrap_or_default())
    }
}

struct Line {
    product: Listed,
    label: (&'static str, String),
    /// Of the company's own state, else the one that ends first.
    registration: Option<(&'static str, String)>,
}

#[derive(Template, WebTemplate)]
#[template(path = "product/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    lines: Vec<Line>,
    prev: Option<String>,
    next: Option<String>,
    shows: [(&'static str, String); 2],
    /// Whether the whole list was asked for: an empty answer then means that nothing is entered.
    whole: bool,
    enters: bool,
}

/// GET /products
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let wanted = ask.wanted();
    let mut rows = product::list(&mut *state.pool.acquire().await?, &wanted, PAGE as i64 + 1).await?;
    let more = rows.len() > PAGE;
    rows.truncate(PAGE);
    let (mut earlier, mut later) = (wanted.after.is_some(), more);
    if wanted.before.is_some() {
        rows.reverse();
        (earlier, later) = (more, true);
    }
    let prev = rows.first().filter(|_| earlier).map(|p| ask.at("before", p.id));
    let next = rows.last().filter(|_| later).map(|p| ask.at("after", p.id));
    let language = actor.reads();
    let form = Form::filled([("q", ask.q.as_str()), ("show", ask.show.as_str())]).speaking(language);
    Ok(ListPage {
        page: Page::of(&actor, language.say("nav-products"), AT),
        form,
        lines: rows.into_iter().map(|p| Line::of(language, p, actor.today)).collect(),
        prev,
        next,
        shows: [("", language.say("product-in-use")), ("all", language.say("product-retired-too"))],
        whole: wanted.words.is_empty() && wanted.after.is_none() && wanted.before.is_none(),
        enters: actor.role.may_enter_products(),
    }
    .into_response())
}

impl Line {
    fn of(language: Language, product: Listed, today: NaiveDate) -> Self {
        let label = match (product.retired_at, product.in_force, product.has_draft) {
            (Some(_), ..) => ("off", language.say("product-retired")),
            (_, Some(number), false) => ("done", language.say_of("product-in-force", "number", number)),
            (_, Some(number), true) => ("draft", language.say_of("product-draft-waits", "number", number)),
            (_, None, true) => ("flag", language.say("product-not-signed")),
            (_, None, false) => ("off", language.say("product-no-label")),
        };
        let registration =
            product.registered_in.as_deref().zip(product.registered_until).map(|(state, day)| {
                let (kind, said) = standing_words(language, day, today);
                (kind, format!("{}: {said}", us::state_name(state).unwrap_or(state)))
            });
        Self { product, label, registration }
    }

    /// The name of its form's text.
    fn form_text(&self) -> String {
        format!("product-form-{}", self.product.form)
    }
}

/// How a registration stands: the badge's kind and its words.
fn standing_words(language: Language, expires_on: NaiveDate, today: NaiveDate) -> (&'static str, String) {
    let day = language.day(&expires_on);
    match standing(expires_on, today) {
        Standing::Expired => ("late", language.say_of("product-expired", "day", day)),
        Standing::EndsSoon { days: 0 } => ("due", language.say_of("product-last-day", "day", day)),
        Standing::EndsSoon { days } => {
            let mut args = FluentArgs::new();
            args.set("count", days);
            args.set("day", day);
            ("due", language.fill("product-days-left", &args))
        }
        Standing::Current => ("done", language.say_of("product-until", "day", day)),
    }
}

/// How a label version stands: the badge's kind and its words.
pub fn version_state(language: Language, version: &Version) -> (&'static str, String) {
    let (kind, text) = match (version.is_draft(), version.in_force) {
        (true, _) => ("draft", "label-state-draft"),
        (false, true) => ("done", "label-state-in-force"),
        (false, false) => ("off", "label-state-replaced"),
    };
    (kind, language.say(text))
}

struct RegistrationLine {
    state: String,
    /// The first day, where one is entered.
    from: Option<String>,
    badge: (&'static str, String),
}

struct VersionLine {
    version: Version,
    badge: (&'static str, String),
}

#[derive(Template, WebTemplate)]
#[template(path = "product/show.html")]
struct ShowPage {
    page: Page,
    product: Product,
    registrations: Vec<RegistrationLine>,
    versions: Vec<VersionLine>,
    plants: i64,
    /// What one unit costs.
    price: Option<String>,
    form: Form,
    enters: bool,
    /// Safety data sheets, the newest first.
    documents: Vec<documents::Line>,
    form_words: String,
    /// The name that a new draft will have, should one be made from here.
    fresh: Uuid,
}

async fn show_page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ShowPage> {
    let mut conn = state.pool.acquire().await?;
    let product = product::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let registrations = product::registrations(&mut conn, &[id]).await?;
    let versions = label::versions_of(&mut conn, id).await?;
    let plants = product::plants_using(&mut conn, id).await?;
    let enters = actor.role.may_enter_products();
    let documents = documents::lines(&mut conn, actor, id, None).await?;
    let language = actor.reads();
    let line = |r: Registration| RegistrationLine {
        badge: match r.valid_from.filter(|from| *from > actor.today) {
            Some(from) => ("soon", language.say_of("product-only-from", "day", language.day(&from))),
            None => standing_words(language, r.expires_on, actor.today),
        },
        from: r.valid_from.map(|from| language.day(&from)),
        state: r.state,
    };
    Ok(ShowPage {
        page: Page::of(actor, product.name.clone(), AT),
        registrations: registrations.into_iter().map(line).collect(),
        versions: versions
            .into_iter()
            .filter(|v| enters || !v.is_draft())
            .map(|version| VersionLine { badge: version_state(language, &version), version })
            .collect(),
        price: product.price.zip(product.price_unit.as_deref()).map(|(price, unit)| {
            let (price, unit) = (pour::number(price), pour::unit_in(language, unit, true));
            language.filled("product-price", &[("price", &price), ("unit", &unit)])
        }),
        form_words: language.say(&format!("product-kind-{}", product.form)),
        product,
        plants,
        form,
        enters,
        documents,
        fresh: Uuid::now_v7(),
    })
}

/// GET /products/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    Ok(show_page(&state, &actor, id, Form::default().speaking(actor.reads())).await?.into_response())
}

/// POST /products/{id}/registrations
pub async fn register(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (in_state, last_day) = (form.state("state"), form.last_day("expires_on"));
    let valid_from = form.date("valid_from");
    if let (true, Some(expires_on)) = (form.is_good(), last_day) {
        let new = Registration { product_id: id, state: in_state, valid_from, expires_on };
        match verbs::register(&actor.doer(), &new).await {
            Ok(()) => {
                let words = format!("{}: registered until {}.", new.state, words::day(expires_on));
                return Ok(session::done(&state, &format!("{AT}/{id}"), &words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, show_page(&state, &actor, id, form).await?).into_response())
}
