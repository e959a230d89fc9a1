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
    web::{
        AppState, Error, Result, documents,
        form::{Form, Posted},
        page::Page,
        products::version_state,
        session::{self, Actor},
        words::day,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
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
    fn of(item: Use) -> Self {
        let per = words::per(&item.measure, item.rate_per);
        let one = item.rate_low == item.rate_high && item.rate_high == Decimal::ONE;
        let rate = format!(
            "{} {} per {per}",
            words::band(item.rate_low, item.rate_high),
            crate::web::words::units(&item.rate_unit, one)
        );
        let water = match (item.water_low, item.water_high, item.water_unit.as_deref()) {
            (Some(low), Some(high), Some(unit)) => {
                format!("{} {} per {per}", words::band(low, high), crate::web::words::unit(unit))
            }
            _ => "Not stated".to_owned(),
        };
        let protection = counted(item.protection_value, &item.protection_unit);
        Self { method: words::method(&item.method), rate, water, protection, limits: limits(&item), item }
    }
}

fn limits(item: &Use) -> Vec<String> {
    let mut all = vec![];
    if item.min_interval_days > 0 {
        all.push(format!("At least {} days between applications", item.min_interval_days));
    }
    match item.max_per_year {
        Some(1) => all.push("Once a year".to_owned()),
        Some(times) => all.push(format!("{times} times a year")),
        None => {}
    }
    let day = crate::web::words::month_day;
    let spans = [(&item.season_from, &item.season_to), (&item.season2_from, &item.season2_to)];
    let spans: Vec<String> = spans
        .into_iter()
        .filter_map(|(from, to)| Some(format!("from {} to {}", day(from.as_ref()?), day(to.as_ref()?))))
        .collect();
    if !spans.is_empty() {
        all.push(format!("Only {}", spans.join(" and ")));
    }
    match (item.barred_in_bloom, item.bloom_lead_days) {
        (true, Some(days)) => {
            all.push(format!("Not while the plant is in bloom, nor in the {} before", counted(days, "day")));
        }
        (true, None) => all.push("Not while the plant is in bloom".to_owned()),
        (false, _) => {}
    }
    all.push(match (item.covers_food, item.preharvest_days) {
        (true, Some(days)) => {
            format!("Covers bearing food plants, at the latest {} before harvest", counted(days, "day"))
        }
        (true, None) => "Covers bearing food plants".to_owned(),
        (false, _) => "Does not cover bearing food plants".to_owned(),
    });
    if let Some(days) = item.foliar_rest_days {
        all.push(format!("After it no foliar use of group 4 for {}", counted(days, "day")));
    }
    if item.no_group_repeat {
        all.push("Not on a plant that had the same mode of action before".to_owned());
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
    badge: (&'static str, &'static str),
    /// `in packets`, and what a volume or a piece weighs, where the label states it.
    form_words: &'static str,
    weighs: Option<(&'static str, String)>,
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
fn weighs(of: &Product, v: &Version) -> Option<(&'static str, String)> {
    if let Some((value, unit)) = v.piece_mass.zip(v.piece_unit.as_deref()) {
        let one = if of.form == "tablet" { "One tablet" } else { "One packet" };
        return Some((one, format!("{} {unit}", words::number(value))));
    }
    let (value, unit) = v.density.zip(v.density_unit.as_deref())?;
    Some(("Density", format!("{} {unit}", words::number(value))))
}

fn times(item: &Use) -> Option<(String, String)> {
    let most = item.max_per_year?;
    Some((item.name.clone(), format!("{} to one plant", counted(most, "application"))))
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
    let refusal = verbs::may_sign(&held, &v.category, actor.today).err().map(|why| why.words(&v.category));
    let gaps = if v.is_draft() { verbs::gaps(&product, &label)? } else { vec![] };
    let ingredient = |i: &label::Ingredient| {
        (i.name.clone(), i.irac_group.clone(), format!("{} {}", words::number(i.strength), i.strength_unit))
    };
    let cap = |c: &label::Cap| {
        (
            c.ingredient.clone().unwrap_or_else(|| format!("{}, the product itself", product.name)),
            format!("{} {}", words::number(c.amount), words::cap_unit(&c.unit)),
            words::year(&c.year).to_owned(),
        )
    };
    let on = |at: chrono::DateTime<chrono::Utc>| day(at.with_timezone(&actor.time_zone).date_naive());
    Ok(ShowPage {
        page: Page::of(actor, format!("{}, label version {}", product.name, v.number), "/products"),
        badge: version_state(v),
        form_words: product.kind().words(),
        weighs: weighs(&product, v),
        times: label.uses.iter().filter_map(times).collect(),
        uses: label.uses.iter().cloned().map(UseLine::of).collect(),
        ingredients: label.ingredients.iter().map(ingredient).collect(),
        caps: label.caps.iter().map(cap).collect(),
        seen: verbs::fingerprint(&product, &label),
        gaps,
        refusal,
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
    Ok(show_page(&state, &actor, id, Form::default()).await?.into_response())
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
