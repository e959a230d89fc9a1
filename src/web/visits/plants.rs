//! The plants on a booking form: what is due first, what is held back last with its reason, and the
//! dose or the refusal of each once it was asked for.
use crate::{
    actions::visit::Preview,
    db::visit::Bookable,
    domain::plan::PlannedDose,
    web::{form::Form, pour, words},
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::collections::HashMap;
use uuid::Uuid;

/// A plant on the form.
pub struct Row {
    pub id: Uuid,
    pub name: String,
    pub about: String,
    pub treatment: String,
    pub band: String,
    /// Name of its rate's field.
    pub rate: String,
    pub ticked: bool,
    /// Set where no visit can be booked for it yet.
    pub lacks: Option<&'static str>,
    /// Kind and words of where it stands; the group in which it is listed.
    pub state: (&'static str, String),
    group: (u8, Option<NaiveDate>),
    /// The dose and what goes with it, or why not, after the form asked for it.
    pub dose: Vec<String>,
    pub refused: Option<String>,
}

/// What the form asked about each plant, answered.
pub type Answers = HashMap<Uuid, Result<Vec<String>, String>>;

/// The lines of a site's plants: overdue and due first, then what comes later, held ones last.
pub fn rows(plants: &[Bookable], form: &mut Form, today: NaiveDate, answers: &Answers) -> Vec<Row> {
    let mut rows: Vec<Row> = plants.iter().filter_map(|plant| row(plant, form, today)).collect();
    for row in &mut rows {
        match answers.get(&row.id) {
            Some(Ok(dose)) => row.dose.clone_from(dose),
            Some(Err(words)) => row.refused = Some(words.clone()),
            None => {}
        }
    }
    // The sort keeps the order by place within a group and day.
    rows.sort_by_key(|row| row.group);
    rows
}

/// The plant's line; retired plants are left out.
fn row(plant: &Bookable, form: &mut Form, today: NaiveDate) -> Option<Row> {
    if plant.retired_at.is_some() {
        return None;
    }
    let rate = rate_field(plant.plant_id);
    if let (Some(low), false) = (plant.rate_low, form.values.iter().any(|(name, _)| *name == rate)) {
        form.set(&rate, pour::number(plant.planned_rate.unwrap_or(low)));
    }
    let basis = plant.measure_basis.clone().unwrap_or_default();
    let per = plant.rate_per.unwrap_or(Decimal::ONE);
    let band = plant.rate_low.zip(plant.rate_high).zip(plant.rate_unit.as_deref());
    let measure = plant.measure();
    let measured =
        measure.has(&basis).then(|| match (basis.as_str(), plant.height_ft, plant.stems_in.as_slice()) {
            ("height-ft", Some(height), _) => pour::measure(height, "height-ft"),
            ("diameter-in", _, [one]) => pour::measure(*one, "diameter-in"),
            ("diameter-in", _, several) if several.len() > 1 => format!("{} stems", several.len()),
            ("plant" | "container", ..) => pour::measure(Decimal::ONE, &basis),
            _ => measure.words(),
        });
    let lacks = lacks(plant, measured.is_some());
    let (group, state) = standing(plant, lacks, today);
    let about = [Some(words::counted(&plant.kind, plant.count)), measured].into_iter().flatten();
    let about = about.filter(|words| !words.is_empty());
    Some(Row {
        id: plant.plant_id,
        name: name(plant),
        about: about.collect::<Vec<_>>().join(", "),
        treatment: [plant.product_name.clone(), plant.use_name.clone()]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(": "),
        band: band.map(|((low, high), unit)| pour::band(low, high, unit, &basis, per)).unwrap_or_default(),
        ticked: form.is("plant", &plant.plant_id.to_string()),
        rate,
        lacks,
        state,
        group: (group, plant.due_on),
        dose: vec![],
        refused: None,
    })
}

fn lacks(plant: &Bookable, measured: bool) -> Option<&'static str> {
    if plant.product_name.is_none() {
        Some("No treatment is chosen yet.")
    } else if plant.product_retired_at.is_some() {
        Some("Its product is retired; choose another treatment.")
    } else if plant.label_use_id.is_none() {
        Some("No signed label has its use yet.")
    } else if !measured {
        Some("It is not measured yet.")
    } else {
        None
    }
}

/// The group in which the plant is listed, and where it stands as a badge.
fn standing(plant: &Bookable, lacks: Option<&'static str>, today: NaiveDate) -> (u8, (&'static str, String)) {
    if let Some(why) = lacks {
        return (5, ("held", why.to_owned()));
    }
    if let Some(day) = plant.visit_on {
        return (3, ("done", format!("Booked for {}", words::day(day))));
    }
    if let Some(rule) = plant.held_by.first() {
        let until = plant.due_on.map(|day| format!(" until {}", words::day(day))).unwrap_or_default();
        return (4, ("held", format!("Held back{until}: {}", words::held(rule))));
    }
    match plant.due_on {
        Some(day) if day < today => {
            (0, ("late", format!("Overdue {}", words::days((today - day).num_days()))))
        }
        Some(day) if day == today => (1, ("due", "Due today".to_owned())),
        Some(day) => (2, ("soon", format!("Due {}", words::day(day)))),
        None => (2, ("soon", "No day is known".to_owned())),
    }
}

/// Host and place, as every message about a plant names it.
pub fn name(plant: &Bookable) -> String {
    format!("{}, {}", plant.host_plant, plant.place)
}

/// Name of the field of a plant's rate.
pub fn rate_field(plant: Uuid) -> String {
    format!("rate-{plant}")
}

/// The answers of the rules, by plant, in words.
pub fn answered(previews: Vec<Preview>) -> Answers {
    let said = |one: Preview| {
        let words = one.answer.map(|planned| dose_words(&planned)).map_err(|why| words::sentence(&why));
        (one.plant, words)
    };
    previews.into_iter().map(said).collect()
}

fn dose_words(planned: &PlannedDose) -> Vec<String> {
    let dose = &planned.dose;
    let grams: Vec<String> = dose
        .ingredients
        .iter()
        .map(|(name, grams)| format!("{} g of {name}", crate::domain::quantity::fixed_half_up(grams, 2)))
        .collect();
    let mut said = vec![words::sentence(&format!(
        "{} of product ({}); the band gives {} to {}.",
        dose.product.words(),
        grams.join(", "),
        dose.low.words(),
        dose.high.words()
    ))];
    if let Some(water) = &dose.water {
        said.push(words::sentence(&format!(
            "Carrier water: {} to {}.",
            water.low.words(),
            water.high.words()
        )));
    }
    said.extend(planned.cautions.iter().map(|one| words::sentence(one)));
    said
}
