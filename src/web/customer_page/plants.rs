//! A customer's site: its plants with their strips, what was done, and what they may decide now.
use super::Frame;
use crate::{
    db::{
        answer::{OwnPlant, Treatment},
        reminder::Row,
        site,
    },
    domain::{
        book::{Book, Entry},
        calendar::add_days,
        facts::Facts,
    },
    output::svg::{self, SpanKind, Strip},
};
use chrono::NaiveDate;
use std::collections::BTreeMap;
use uuid::Uuid;

/// A plant as its customer sees it.
pub struct PlantLine {
    pub name: String,
    pub picture: String,
    /// Sentences: protection, the next day, what they answered.
    pub said: Vec<String>,
}

/// What was done on a day.
pub struct Done {
    pub day: String,
    pub iso: NaiveDate,
    pub plant: String,
    pub product: String,
    pub registration: String,
    pub against: String,
}

/// A site of the customer.
pub struct Place {
    pub id: Uuid,
    pub title: String,
    pub plants: Vec<PlantLine>,
    /// Plants to decide about: id and name.
    pub open: Vec<(Uuid, String)>,
    /// About when we would come.
    pub yes_on: Option<NaiveDate>,
    /// Days that can be offered: value and words.
    pub days: Vec<(String, String)>,
    pub done: Vec<Done>,
    /// What the labels of what was done say: product and words.
    pub precautions: Vec<(String, String)>,
    /// The next answer's name.
    pub answer_id: Uuid,
    /// Whom they named and nobody has decided about, in words.
    pub named: Vec<String>,
    /// The next named neighbour's name.
    pub neighbour_id: Uuid,
}

impl Place {
    pub(super) fn of(
        frame: &Frame,
        line: site::Line,
        (open, days): (Vec<Row>, Vec<NaiveDate>),
        (plants, treatments): (Vec<OwnPlant>, Vec<Treatment>),
        facts: &Facts,
    ) -> anyhow::Result<Self> {
        let book =
            Book::new(facts).map_err(|errors| anyhow::anyhow!("facts do not fit together: {errors:?}"))?;
        let mut precautions = BTreeMap::new();
        for t in treatments.iter().filter(|t| !t.precautions.is_empty()) {
            precautions.entry(t.product_name.clone()).or_insert_with(|| t.precautions.clone());
        }
        let name = if line.name.is_empty() { String::new() } else { format!(" ({})", line.name) };
        Ok(Self {
            id: line.id,
            title: format!("{}{name}, {}", line.street, line.city),
            plants: plants.iter().map(|p| plant_line(frame, &book, p)).collect(),
            yes_on: open.iter().map(|r| r.due_on).min().map(|due| due.max(facts.today)),
            open: open.iter().map(|r| (r.plant_id, format!("{}, {}", r.host_plant, r.place))).collect(),
            days: days.iter().map(|day| (day.to_string(), frame.language.day(day))).collect(),
            done: treatments.into_iter().map(|t| done(frame, t)).collect(),
            precautions: precautions.into_iter().collect(),
            answer_id: Uuid::now_v7(),
            named: vec![],
            neighbour_id: Uuid::now_v7(),
        })
    }
}

fn done(frame: &Frame, t: Treatment) -> Done {
    Done {
        day: frame.language.day(&t.applied_on),
        iso: t.applied_on,
        plant: if t.plant_words.is_empty() {
            t.host_plant
        } else {
            format!("{}, {}", t.host_plant, t.plant_words)
        },
        product: t.product_name,
        registration: t.registration_number,
        against: t.target_pest,
    }
}

fn plant_line(frame: &Frame, book: &Book<'_>, p: &OwnPlant) -> PlantLine {
    let today = book.facts.today;
    let id = p.plant_id.to_string();
    let own: Vec<&Entry<'_>> =
        book.applied.iter().filter(|e| e.fact.plant.as_deref() == Some(id.as_str())).collect();
    let count = frame.language.say_of("plants", "count", p.count);
    let name = format!("{}, {} ({count})", p.host_plant, p.place);
    let said = said(frame, p, today);
    let spans: Vec<svg::Span> = own.iter().flat_map(|e| spans(frame, e)).collect();
    let applications: Vec<svg::Application> = own.iter().map(|e| applied(frame, e)).collect();
    let (from, until) = svg::around(today);
    let picture = svg::strip(&Strip {
        id: &format!("plant-{id}"),
        title: &frame.language.say_of("own-strip", "plant", name.as_str()),
        desc: &said.join(" "),
        from,
        until,
        today,
        today_words: &frame.on("own-strip-today", &today),
        spans: &spans,
        applications: &applications,
    });
    PlantLine { name, picture, said }
}

/// Protection first, then what comes, then what they answered.
fn said(frame: &Frame, p: &OwnPlant, today: NaiveDate) -> Vec<String> {
    let mut all = vec![match p.protected_until {
        Some(end) if end > today => frame.on("own-protected", &end),
        Some(end) => frame.on("own-lapsed", &end),
        None => frame.say("own-untreated"),
    }];
    match (p.visit_on, p.answer.as_deref(), p.answer_on) {
        (Some(day), ..) => all.push(frame.on("own-booked", &day)),
        (_, Some("no"), _) => all.push(frame.say("own-answer-no")),
        (_, Some("yes"), Some(day)) => all.push(frame.on("own-answer-yes", &day)),
        (_, Some(_), Some(day)) => all.push(frame.on("own-answer-other", &day)),
        _ => match p.due_on {
            Some(day) => all.push(frame.on("own-due", &day)),
            None if p.protected_until.is_some() => all.push(frame.say("own-held")),
            None => {}
        },
    }
    all
}

fn applied(frame: &Frame, entry: &Entry<'_>) -> svg::Application {
    let mut args = fluent_bundle::FluentArgs::new();
    args.set("day", frame.language.day(&entry.fact.on));
    args.set("product", entry.product.words().to_owned());
    svg::Application { on: entry.fact.on, words: frame.language.fill("own-applied", &args) }
}

/// Uptake first, then protection until its end.
fn spans(frame: &Frame, entry: &Entry<'_>) -> Vec<svg::Span> {
    let (Some(item), Some(end)) = (entry.item, entry.protected_until()) else { return vec![] };
    let start = entry.fact.on;
    let works = add_days(start, item.uptake_days).min(end);
    [
        (SpanKind::Uptake, start, works, "own-uptake-until"),
        (SpanKind::Protected, works, end, "own-protected-until"),
    ]
    .into_iter()
    .filter(|(_, from, until, _)| until > from)
    .map(|(kind, from, until, name)| svg::Span { kind, from, until, words: frame.on(name, &until) })
    .collect()
}
