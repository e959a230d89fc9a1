//! How long protection really lasted: by product, pest and rate, with the uncertainty and the number of plants.
use super::{AppState, Result, page::Page, pour, session::Actor};
use crate::{
    db::look::{self, Treated},
    domain::survival::{Curve, Look, Watched, curve, watched},
    output::svg::{self, Steps},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Response},
};
use serde::Deserialize;
use std::collections::BTreeMap;

const AT: &str = "/customers";
/// Fewer plants than this say little, and the page says so.
const FEW: u32 = 10;

/// Which curve is drawn; the one with most plants where nothing is said.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    of: String,
}

/// Treatments that have product, pest and rate in common.
struct Kind {
    key: String,
    product: String,
    pest: String,
    rate: String,
    curve: Curve,
    /// What the label states, the shortest of its uses.
    label_days: u32,
}

/// A line of the comparison.
struct Row {
    href: String,
    kind: Kind,
    median: String,
    at_label: String,
    few: bool,
}

/// A step in words.
struct StepRow {
    day: u32,
    at_risk: u32,
    seen: u32,
    share: String,
    range: String,
}

/// The curve that is drawn.
struct Drawn {
    title: String,
    picture: String,
    steps: Vec<StepRow>,
    said: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "renewal/survival.html")]
struct SurvivalPage {
    page: Page,
    rows: Vec<Row>,
    drawn: Option<Drawn>,
}

fn rate_words(one: &Treated) -> String {
    match one.rate {
        Some(rate) => pour::rate(rate, &one.unit, &one.measure_basis, rust_decimal::Decimal::ONE),
        None => "rate not noted".to_owned(),
    }
}

fn watched_of(one: &Treated) -> Option<Watched> {
    let looks: Vec<Look> =
        one.looked_on.iter().zip(&one.looked_seen).map(|(on, seen)| Look { on: *on, seen: *seen }).collect();
    watched(one.on, u32::try_from(one.uptake_days).unwrap_or_default(), one.next_on, &looks)
}

/// Product, pest, rate and the product's id.
type Key = (String, String, String, String);

fn kinds(all: &[Treated]) -> Vec<Kind> {
    let mut groups: BTreeMap<Key, (Vec<Watched>, u32)> = BTreeMap::new();
    for one in all {
        let Some(seen) = watched_of(one) else { continue };
        let key = (one.product.clone(), one.pest.clone(), rate_words(one), one.product_id.to_string());
        let label = u32::try_from(one.label_days).unwrap_or_default();
        let group = groups.entry(key).or_insert((vec![], label));
        group.0.push(seen);
        group.1 = group.1.min(label);
    }
    let kind = |((product, pest, rate, id), (seen, label_days)): (Key, (Vec<Watched>, u32))| Kind {
        key: format!("{id}|{pest}|{rate}"),
        product,
        pest,
        rate,
        curve: curve(&seen),
        label_days,
    };
    let mut kinds: Vec<Kind> = groups.into_iter().map(kind).collect();
    kinds.sort_by_key(|one| std::cmp::Reverse(one.curve.watched));
    kinds
}

/// An estimate for people: whole per cent say enough.
fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

fn days(day: Option<u32>) -> String {
    day.map_or_else(|| "not reached".to_owned(), |day| day.to_string())
}

fn at_label(one: &Kind) -> String {
    match one.curve.at(one.label_days) {
        Some((share, low, high)) => format!("{} ({} to {})", percent(share), percent(low), percent(high)),
        None => format!("nobody looked after day {}", one.curve.longest),
    }
}

fn median_words(curve: &Curve) -> String {
    match curve.median {
        Some(median) => format!("{median} ({} to {})", days(curve.median_low), days(curve.median_high)),
        None => "not reached".to_owned(),
    }
}

fn drawn(one: &Kind) -> Drawn {
    let title = format!("{} against {}, {}", one.product, one.pest, one.rate);
    let said = format!(
        "{} treatments watched, the pest seen after {} of them. Half are no longer protected after: {} days. On day {}, \
         when the label's protection ends: {} still protected.",
        one.curve.watched,
        one.curve.seen,
        median_words(&one.curve),
        one.label_days,
        at_label(one)
    );
    let points: Vec<(u32, f64, f64, f64)> =
        one.curve.steps.iter().map(|s| (s.day, s.share, s.low, s.high)).collect();
    let mark = format!("label: {} days", one.label_days);
    let picture = svg::steps(&Steps {
        id: "survival",
        title: &format!("How long it lasted: {title}"),
        desc: &said,
        until: one.curve.longest.max(one.label_days).max(1),
        longest: one.curve.longest,
        steps: &points,
        mark: Some((one.label_days, &mark)),
    });
    let step = |s: &crate::domain::survival::Step| StepRow {
        day: s.day,
        at_risk: s.at_risk,
        seen: s.seen,
        share: percent(s.share),
        range: format!("{} to {}", percent(s.low), percent(s.high)),
    };
    Drawn { title, picture, steps: one.curve.steps.iter().map(step).collect(), said }
}

fn row(kind: Kind) -> Row {
    let of = serde_urlencoded::to_string([("of", &kind.key)]).unwrap_or_default();
    Row {
        href: format!("/survival?{of}"),
        median: median_words(&kind.curve),
        at_label: at_label(&kind),
        few: kind.curve.watched < FEW,
        kind,
    }
}

/// GET /survival
pub async fn show(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let all = look::treated(&mut *state.pool.acquire().await?).await?;
    let kinds = kinds(&all);
    let chosen = kinds.iter().find(|one| one.key == ask.of).or(kinds.first());
    Ok(SurvivalPage {
        page: Page::of(&actor, "How long protection lasted", AT),
        drawn: chosen.map(drawn),
        rows: kinds.into_iter().map(row).collect(),
    }
    .into_response())
}
