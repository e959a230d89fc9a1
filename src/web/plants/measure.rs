//! Measuring a plant on the spot: the one thing at a plant that a technician changes.
use super::{
    super::{
        AppState, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
    },
    AT,
};
use crate::{
    actions::plant as verbs,
    db::{plant::Plant, site::Site},
    domain::{
        measure::StemRule,
        plant::{Measure, parse_stems, stems_words},
    },
    texts::Language,
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

/// How several stems may count.
const STEM_RULES: [(&str, &str); 3] =
    [("sum", "stems-sum"), ("quadratic", "stems-quadratic"), ("largest-plus-half", "stems-largest")];

/// How several stems may count, in words.
pub(super) fn stem_rules(language: Language) -> Vec<(&'static str, String)> {
    STEM_RULES.map(|(code, text)| (code, language.say(text))).to_vec()
}

/// The units of treated ground.
const GROUND_UNITS: [&str; 3] = ["sqft", "acre", "m2"];

/// The units of treated ground, in words.
pub(super) fn ground_units(language: Language) -> Vec<(&'static str, String)> {
    GROUND_UNITS.map(|code| (code, language.say(&format!("unit-{code}")))).to_vec()
}

/// What was measured, as people write it: `8 ft`, `stems 5, 6, 8 in`; empty when nothing was.
pub(super) fn said(language: Language, measure: &Measure) -> String {
    let figure = |text: &str, figure: String| language.say_of(text, "figure", figure);
    let number = |value: Decimal| value.normalize().to_string();
    let ground = measure.ground.zip(measure.ground_unit.as_deref());
    let trunk = if measure.stems_in.len() == 1 { "measured-trunk" } else { "measured-stems" };
    let parts = [
        measure.height_ft.map(|feet| figure("measured-height", number(feet))),
        measure.girth_in.map(|inches| figure("measured-girth", number(inches))),
        (!measure.stems_in.is_empty()).then(|| figure(trunk, stems_words(&measure.stems_in))),
        ground.map(|(size, unit)| {
            figure("measured-ground", format!("{} {}", number(size), unit.replace("sqft", "sq ft")))
        }),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// Girths beyond that of the thickest trunk are a slip of the tape.
const WIDEST_GIRTH: i64 = 1900;

/// Reads height, trunk and ground; what is wrong stays in the form.
pub(super) fn read(form: &mut Form) -> Measure {
    let height_ft = form.positive("height_ft");
    if height_ft.is_some_and(|h| h > Decimal::from(400)) {
        form.fail("height_ft", "No plant is as tall as that.");
    }
    let stems_in = parse_stems(form.value("stems")).unwrap_or_else(|e| {
        form.fail("stems", e.to_string());
        vec![]
    });
    let known = |code: &str| StemRule::from_code(code).map(|rule| rule.code().to_owned());
    let stem_rule = match (stems_in.len(), form.value("stem_rule")) {
        (0 | 1, _) => None,
        (_, "") => {
            form.fail("stem_rule", "Say how several stems count as one diameter.");
            None
        }
        _ => form.choice("stem_rule", known),
    };
    let girth_in = girth(form, !stems_in.is_empty());
    let (ground, ground_unit) = ground(form);
    Measure { height_ft, stems_in, stem_rule, girth_in, ground, ground_unit }
}

/// The girth of a trunk that was not measured across.
fn girth(form: &mut Form, stems: bool) -> Option<Decimal> {
    let girth = form.positive("girth_in");
    if girth.is_some_and(|inches| inches > Decimal::from(WIDEST_GIRTH)) {
        form.fail("girth_in", "No trunk is as thick as that.");
    } else if girth.is_some() && stems {
        form.fail("girth_in", "Write the trunk's girth or its diameter, not both.");
    }
    girth
}

/// The treated ground with its unit; a unit alone says nothing.
fn ground(form: &mut Form) -> (Option<Decimal>, Option<String>) {
    let Some(ground) = form.positive("ground") else { return (None, None) };
    let unit = form.choice("ground_unit", |code| {
        GROUND_UNITS.iter().find(|known| **known == code).map(|known| (*known).to_owned())
    });
    (Some(ground), unit)
}

/// The fields as the plant stands now.
pub(super) fn fields(plant: &Plant) -> [(&'static str, String); 6] {
    let number = |value: Option<Decimal>| value.map_or_else(String::new, |n| n.normalize().to_string());
    [
        ("height_ft", number(plant.height_ft)),
        ("stems", stems_words(&plant.stems_in)),
        ("stem_rule", plant.stem_rule.clone().unwrap_or_default()),
        ("girth_in", number(plant.girth_in)),
        ("ground", number(plant.ground)),
        ("ground_unit", plant.ground_unit.clone().unwrap_or_else(|| "sqft".to_owned())),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "plant/measure.html")]
struct MeasurePage {
    page: Page,
    form: Form,
    plant: Plant,
    site: Site,
    stem_rules: Vec<(&'static str, String)>,
    ground_units: Vec<(&'static str, String)>,
}

fn measure_page(actor: &Actor, form: Form, plant: Plant, site: Site) -> MeasurePage {
    let page = Page::of(actor, actor.reads().say("measure-plant"), AT);
    let form = form.speaking(actor.reads());
    MeasurePage {
        page,
        form,
        plant,
        site,
        stem_rules: stem_rules(actor.reads()),
        ground_units: ground_units(actor.reads()),
    }
}

/// GET /plants/{id}/measures
pub async fn measure_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let (plant, site) = super::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    Ok(measure_page(&actor, Form::filled(fields(&plant)), plant, site).into_response())
}

/// POST /plants/{id}/measures
pub async fn measure(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (plant, site) = super::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let measure = read(&mut form);
    if form.is_good() && measure == Measure::default() {
        form.fail("height_ft", "Write a height, the trunk's diameter or girth, or the treated ground.");
    }
    if form.is_good() {
        match verbs::measure(&actor.doer(), id, &measure).await {
            Ok(()) => {
                return Ok(session::done(
                    &state,
                    &format!("/plants/{id}"),
                    &actor.reads().say("measure-saved"),
                ));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, measure_page(&actor, form, plant, site)).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_measured_reads_in_english_as_the_rules_write_it() {
        let d = |text: &str| Some(text.parse().unwrap());
        let stems = |text: &str| parse_stems(text).unwrap();
        let height = Measure { height_ft: d("8.50"), ..Measure::default() };
        let girth = Measure { girth_in: d("30"), ..height.clone() };
        let one = Measure { stems_in: stems("5"), ..Measure::default() };
        let many = Measure { stems_in: stems("5, 6, 8"), ..height.clone() };
        let bed = Measure { ground: d("400"), ground_unit: Some("sqft".to_owned()), ..Measure::default() };
        let whole = Measure { ground: bed.ground, ground_unit: bed.ground_unit.clone(), ..many.clone() };
        for measure in [Measure::default(), height, girth, one, many.clone(), bed, whole] {
            assert_eq!(said(Language::English, &measure), measure.words());
        }
        assert_eq!(said(Language::Spanish, &many), "8.5 ft de altura, troncos 5, 6, 8 in");
    }
}
