//! One label version: what it says, who signed it, and the signature itself.
use super::{AT, words};
use crate::{
    actions::{error::ENTERED, label as verbs},
    db::{
        label::{self, Label, Use, Version},
        person,
        product::{self, Product},
    },
    domain::document::Kind,
    texts::Language,
    web::{
        AppState, Error, Result, documents,
        form::{Form, Posted},
        page::Page,
        pour::unit_in,
        products::version_state,
        records::changes::method,
        session::{self, Actor},
        words::month_day_in,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// The one door to a label version. Signed ones are open to everybody who is signed in; a draft
/// to those who enter labels and to whoever may sign it.
pub async fn door(state: &AppState, actor: &Actor, id: Uuid) -> Result<(Product, Label)> {
    let mut conn = state.pool.acquire().await?;
    let label = label::load(&mut conn, id).await?.ok_or(Error::NotFound)?;
    if label.version.is_draft() && !actor.role.may_enter_products() {
        let held = person::certifications(&mut conn, actor.id).await?;
        verbs::may_sign(&held, &label.version.category, actor.today).map_err(|_| Error::NotFound)?;
    }
    let of = product::find(&mut conn, label.version.product_id).await?.ok_or(Error::NotFound)?;
    Ok((of, label))
}

struct UseLine {
    item: Use,
    method: String,
    /// `3 to 6 mL per ft of height`
    rate: String,
    water: String,
    protection: String,
    /// Limits in words, one each.
    limits: Vec<String>,
}

impl UseLine {
    fn of(language: Language, item: Use) -> Self {
        let per = language.said(&words::per(&item.measure, item.rate_per));
        let each = |low: Decimal, high: Decimal, unit: &str| {
            let amount = format!("{} {unit}", band(language, low, high));
            language.filled("rate-per", &[("amount", &amount), ("what", &per)])
        };
        let one = item.rate_low == item.rate_high && item.rate_high == Decimal::ONE;
        let rate = each(item.rate_low, item.rate_high, &unit_in(language, &item.rate_unit, one));
        let water = match (item.water_low, item.water_high, item.water_unit.as_deref()) {
            (Some(low), Some(high), Some(unit)) => each(low, high, &unit_in(language, unit, false)),
            _ => language.say("label-not-stated"),
        };
        let protection = language.said(&counted(item.protection_value, &item.protection_unit));
        let method = raised(&method(language, &item.method));
        Self { method, rate, water, protection, limits: limits(language, &item), item }
    }
}

/// `3 to 6`, or `3` where both ends are the same.
fn band(language: Language, low: Decimal, high: Decimal) -> String {
    let (least, most) = (words::number(low), words::number(high));
    if low == high { least } else { language.filled("from-to", &[("low", &least), ("high", &most)]) }
}

/// With a capital letter, to stand alone.
fn raised(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn limits(language: Language, item: &Use) -> Vec<String> {
    let mut all = vec![];
    if item.min_interval_days > 0 {
        all.push(language.say_of("label-limit-interval", "days", item.min_interval_days));
    }
    if let Some(times) = item.max_per_year {
        all.push(language.say_of("label-limit-times", "count", times));
    }
    let spans = [(&item.season_from, &item.season_to), (&item.season2_from, &item.season2_to)];
    let span = |from: &str, to: &str| {
        let (from, to) = (month_day_in(language, from), month_day_in(language, to));
        language.filled("label-limit-span", &[("from", &from), ("to", &to)])
    };
    let spans: Vec<String> =
        spans.into_iter().filter_map(|(from, to)| Some(span(from.as_ref()?, to.as_ref()?))).collect();
    if !spans.is_empty() {
        let spans = spans.join(&language.say("and-between"));
        all.push(language.say_of("label-limit-only", "spans", spans));
    }
    match (item.barred_in_bloom, item.bloom_lead_days) {
        (true, Some(days)) => all.push(language.say_of("label-limit-bloom-lead", "count", days)),
        (true, None) => all.push(language.say("label-limit-bloom")),
        (false, _) => {}
    }
    all.push(match (item.covers_food, item.preharvest_days) {
        (true, Some(days)) => language.say_of("label-limit-harvest", "count", days),
        (true, None) => language.say("label-limit-food"),
        (false, _) => language.say("label-limit-no-food"),
    });
    if let Some(days) = item.foliar_rest_days {
        all.push(language.say_of("label-limit-rest", "count", days));
    }
    if item.no_group_repeat {
        all.push(language.say("label-limit-group"));
    }
    all
}

fn counted(n: i32, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

#[derive(Template, WebTemplate)]
#[template(path = "label/show.html")]
pub(in crate::web) struct ShowPage {
    page: Page,
    product: Product,
    label: Label,
    badge: (&'static str, String),
    /// `in packets`, and what a volume or a piece weighs, where the label states it.
    form_words: String,
    weighs: Option<(String, String)>,
    /// Uses that may be repeated only so often: beside the caps, since they limit a year as well.
    times: Vec<(String, String)>,
    uses: Vec<UseLine>,
    ingredients: Vec<(String, String, String)>,
    caps: Vec<(String, String, String)>,
    /// What the draft lacks before it can be signed.
    gaps: Vec<String>,
    /// Why this person cannot sign it; nothing: they can.
    refusal: Option<String>,
    form: Form,
    /// What a signature from this page covers.
    seen: String,
    /// Entering and changing drafts.
    enters: bool,
    /// Label files and data sheets, the newest of each kind first.
    documents: Vec<documents::Line>,
    kinds: Vec<(&'static str, &'static str)>,
    fresh: Uuid,
    entered_on: String,
    signed_on: Option<String>,
}

/// What a volume or a piece weighs.
fn weighs(language: Language, of: &Product, v: &Version) -> Option<(String, String)> {
    if let Some((value, unit)) = v.piece_mass.zip(v.piece_unit.as_deref()) {
        let one = if of.form == "tablet" { "label-one-tablet" } else { "label-one-packet" };
        return Some((language.say(one), format!("{} {unit}", words::number(value))));
    }
    let (value, unit) = v.density.zip(v.density_unit.as_deref())?;
    Some((language.say("label-density"), format!("{} {unit}", words::number(value))))
}

fn times(language: Language, item: &Use) -> Option<(String, String)> {
    Some((item.name.clone(), language.say_of("label-to-one-plant", "count", item.max_per_year?)))
}

/// `lb/gal`, `g/packet`: what a cap or a strength is stated in.
fn stated(language: Language, unit: &str) -> String {
    match unit.split_once('/') {
        Some((one @ ("packet" | "tablet"), area)) => format!("{}/{area}", unit_in(language, one, true)),
        Some((mass, one @ ("packet" | "tablet"))) => format!("{mass}/{}", unit_in(language, one, true)),
        _ => unit.to_owned(),
    }
}

fn ingredient(language: Language, held: &label::Ingredient) -> (String, String, String) {
    let strength = format!("{} {}", words::number(held.strength), stated(language, &held.strength_unit));
    (held.name.clone(), held.irac_group.clone(), language.said(&strength))
}

fn cap(language: Language, product: &Product, of: &label::Cap) -> (String, String, String) {
    let itself = || language.say_of("label-product-itself", "product", product.name.as_str());
    (
        of.ingredient.clone().unwrap_or_else(itself),
        format!("{} {}", words::number(of.amount), stated(language, &words::cap_unit(&of.unit))),
        language.said(words::year(&of.year)),
    )
}

/// The page with a form as it was sent.
///
/// # Errors
/// When it is not there, or not theirs to see.
pub(in crate::web) async fn show_page(
    state: &AppState,
    actor: &Actor,
    id: Uuid,
    mut form: Form,
) -> Result<ShowPage> {
    let (product, label) = door(state, actor, id).await?;
    let v = &label.version;
    if form.value(ENTERED).is_empty() {
        form.set(ENTERED, Uuid::now_v7().to_string());
    }
    let mut conn = state.pool.acquire().await?;
    let held = person::certifications(&mut conn, actor.id).await?;
    let documents = documents::lines(&mut conn, actor, product.id, Some(id)).await?;
    drop(conn);
    let language = actor.reads();
    let refusal = verbs::may_sign(&held, &v.category, actor.today).err().map(|why| why.words(&v.category));
    let gaps = if v.is_draft() { verbs::gaps(&product, &label)? } else { vec![] };
    let on = |at: DateTime<Utc>| language.day(&at.with_timezone(&actor.time_zone).date_naive());
    let title = language.say_of("label-version", "number", v.number);
    Ok(ShowPage {
        page: Page::of(actor, format!("{}, {title}", product.name), "/products"),
        badge: version_state(language, v),
        form_words: language.say(&format!("product-kind-{}", product.form)),
        weighs: weighs(language, &product, v),
        times: label.uses.iter().filter_map(|item| times(language, item)).collect(),
        uses: label.uses.iter().cloned().map(|item| UseLine::of(language, item)).collect(),
        ingredients: label.ingredients.iter().map(|held| ingredient(language, held)).collect(),
        caps: label.caps.iter().map(|of| cap(language, &product, of)).collect(),
        seen: verbs::fingerprint(&product, &label),
        gaps: gaps.iter().map(|gap| language.said(gap)).collect(),
        refusal: refusal.map(|why| language.said(&why)),
        form,
        enters: actor.role.may_enter_products(),
        documents,
        kinds: Kind::ALL.map(|kind| (kind.code(), kind.words())).to_vec(),
        fresh: Uuid::now_v7(),
        entered_on: on(v.entered_at),
        signed_on: v.signed_at.map(on),
        product,
        label,
    })
}

/// GET /label-versions/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    Ok(show_page(&state, &actor, id, Form::default().speaking(actor.reads())).await?.into_response())
}

/// POST /label-versions/{id}/signatures
pub async fn sign(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    if form.value("compared") != "yes" {
        form.fail("compared", "Tick this once you have compared every line with the label in hand.");
    }
    if form.is_good() {
        match verbs::sign(&actor.doer(), id, form.value("seen"), actor.today).await {
            Ok(()) => {
                let words = "Signed. This version is in force and stays as it is.";
                return Ok(session::done(&state, &format!("{AT}/{id}"), words));
            }
            // Whoever may not see the draft still hears why they cannot sign it.
            Err(e) if !actor.role.may_enter_products() => return Err(e.into()),
            Err(crate::actions::Error::Refused { words, .. }) => {
                form.set("compared", "");
                form.fail("compared", words);
            }
            Err(e) => return Err(e.into()),
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, show_page(&state, &actor, id, form).await?).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_of_a_label_read_like_its_reader_speaks() {
        let (en, es) = (Language::English, Language::Spanish);
        let (low, high) = (Decimal::new(30, 1), Decimal::new(600, 2));
        assert_eq!((band(en, low, high).as_str(), band(es, low, high).as_str()), ("3 to 6", "3 a 6"));
        assert_eq!(band(en, low, Decimal::new(3, 0)), "3", "both ends are the same");
        assert_eq!(stated(es, "g/packet"), "g/sobre");
        assert_eq!(stated(es, "tablet/acre"), "pastilla/acre");
        assert_eq!(
            (stated(en, "packet/acre").as_str(), stated(en, "lb/gal").as_str()),
            ("packet/acre", "lb/gal")
        );
        assert_eq!(raised(&method(en, "basal-drench")), "Basal drench");
    }
}
