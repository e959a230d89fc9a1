//! How a plant stands, in words with a shape.
use crate::{db::plant::Line, domain::label::MeasureBasis, texts::Language, web::words};
use chrono::{Days, NaiveDate};

/// A state: the words carry the meaning, the kind its shape.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Badge {
    pub kind: &'static str,
    pub words: String,
}

impl Badge {
    /// A badge of that kind.
    pub fn of(kind: &'static str, words: impl Into<String>) -> Self {
        Self { kind, words: words.into() }
    }
}

/// A plant's line of a table.
#[derive(Debug)]
pub struct PlantRow {
    pub line: Line,
    pub measure: String,
    pub treatment: String,
    pub badges: Vec<Badge>,
    /// The rule that holds it back first, in words.
    pub held: String,
    language: Language,
}

impl PlantRow {
    /// The line as it is shown on that day to who reads that language.
    #[must_use]
    pub fn of(line: Line, today: NaiveDate, language: Language) -> Self {
        let treatment = match (&line.product_name, &line.use_name) {
            (Some(product), Some(name)) => format!("{product}: {name}"),
            (Some(product), None) => product.clone(),
            _ => String::new(),
        };
        let measure = super::measure::said(language, &line.plant.measure());
        let rule = line.held_by.as_deref().and_then(|codes| codes.first());
        let waits = line.plant.retired_at.is_none() && line.due_on.is_none_or(|day| day > today);
        let held = rule.filter(|_| waits).map_or_else(String::new, |code| language.said(words::held(code)));
        Self { measure, treatment, held, badges: badges(&line, today, language), language, line }
    }

    /// "hedge of 40", "3 shrubs".
    pub fn kind_and_count(&self) -> String {
        let plant = &self.line.plant;
        self.language.say_of(&format!("counted-{}", plant.kind.code()), "count", plant.count)
    }
}

fn badges(line: &Line, today: NaiveDate, language: Language) -> Vec<Badge> {
    let say = |kind, text: &str| Badge::of(kind, language.say(text));
    if line.plant.retired_at.is_some() {
        return vec![say("off", "plant-is-retired")];
    }
    let mut out = vec![];
    match (&line.product_name, &line.use_name) {
        (None, _) => out.push(say("draft", "plant-badge-no-treatment")),
        _ if line.product_retired => out.push(say("held", "plant-badge-product-retired")),
        (Some(_), None) => out.push(say("unsure", "plant-badge-no-use")),
        (Some(_), Some(_)) if !line.signed => out.push(say("held", "plant-badge-unsigned")),
        _ => {}
    }
    let basis = line.use_measure.as_deref().and_then(MeasureBasis::from_code);
    let wanted = basis.filter(|basis| line.plant.measure().for_basis(*basis).is_none());
    out.extend(wanted.and_then(unmeasured).map(|text| say("unsure", text)));
    out.extend(whole_badge(line).map(|text| say("unsure", text)));
    out.extend(day_badge(line, today, language));
    if line.plant.in_bloom {
        out.push(say("held", "plant-in-bloom"));
    }
    out
}

/// What must be measured for a rate per `basis`; nothing where nothing need be.
fn unmeasured(basis: MeasureBasis) -> Option<&'static str> {
    match basis {
        MeasureBasis::HeightFt => Some("plant-badge-height"),
        MeasureBasis::DiameterIn => Some("plant-badge-trunk"),
        MeasureBasis::CircumferenceIn => Some("plant-badge-girth"),
        MeasureBasis::ThousandSquareFeet | MeasureBasis::Acre => Some("plant-badge-ground"),
        MeasureBasis::Plant | MeasureBasis::Container => None,
    }
}

/// A measured plant of which the due engine knows nothing, since no whole number of packets lies within the band.
fn whole_badge(line: &Line) -> Option<&'static str> {
    let piece = line.use_unit.as_deref().filter(|unit| matches!(*unit, "packet" | "tablet"))?;
    let basis = MeasureBasis::from_code(line.use_measure.as_deref()?)?;
    let measured = line.plant.measure().for_basis(basis).is_some();
    let unknown = line.held_by.is_none() && !line.product_retired;
    (measured && unknown).then_some(if piece == "packet" {
        "plant-badge-no-packet"
    } else {
        "plant-badge-no-tablet"
    })
}

/// What the due engine last said of the plant.
fn day_badge(line: &Line, today: NaiveDate, language: Language) -> Option<Badge> {
    let held = line.held_by.as_ref().is_some_and(|codes| !codes.is_empty());
    let Some(day) = line.due_on else {
        return held.then(|| Badge::of("held", language.say("plant-badge-never")));
    };
    let on = |text: &str| language.say_of(text, "day", language.day(&day));
    Some(match day {
        _ if held && day > today => Badge::of("held", on("plant-badge-until")),
        _ if day < today => Badge::of("late", on("plant-badge-late")),
        _ if day == today => Badge::of("due", language.say("plant-badge-today")),
        _ if day <= today + Days::new(28) => Badge::of("soon", on("plant-badge-due")),
        _ => Badge::of("done", on("plant-badge-due")),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{db::plant::Plant, domain::plant::Kind};
    use uuid::Uuid;

    fn line() -> Line {
        let plant = Plant {
            id: Uuid::nil(),
            site_id: Uuid::nil(),
            place: "front hedge".into(),
            host_plant: "eugenia".into(),
            kind: Kind::Hedge,
            count: 40,
            height_ft: Some(8.into()),
            stems_in: vec![],
            stem_rule: None,
            girth_in: None,
            ground: None,
            ground_unit: None,
            harvest_from: None,
            harvest_to: None,
            harvest_on: None,
            target_pest: String::new(),
            eaten: "no".into(),
            food_in_root_zone: "no".into(),
            bloom_from: None,
            bloom_to: None,
            in_bloom: false,
            product_id: Some(Uuid::nil()),
            use_code: Some("hedge".into()),
            planned_rate: None,
            first_wanted: None,
            retired_at: None,
            retired_reason: String::new(),
        };
        Line {
            plant,
            street: String::new(),
            city: String::new(),
            product_name: Some("Rootward 2F".into()),
            use_name: Some("Hedges".into()),
            use_measure: Some("height-ft".into()),
            use_unit: Some("mL".into()),
            signed: true,
            product_retired: false,
            protected_until: None,
            due_on: None,
            held_by: Some(vec![]),
        }
    }

    fn words(line: Line) -> Vec<String> {
        let row = PlantRow::of(line, "2026-11-25".parse().unwrap(), Language::English);
        row.badges.into_iter().map(|b| b.words).collect()
    }

    #[test]
    fn the_day_says_how_near_it_is() {
        for (day, said) in [
            ("2026-11-24", "Overdue since Nov 24, 2026"),
            ("2026-11-25", "Due today"),
            ("2026-12-23", "Due Dec 23, 2026"),
            ("2027-11-25", "Due Nov 25, 2027"),
        ] {
            assert_eq!(words(Line { due_on: Some(day.parse().unwrap()), ..line() }), [said]);
        }
        let held = Line { held_by: Some(vec!["cap".into(), "bloom".into()]), ..line() };
        assert_eq!(words(held.clone()), ["Held back, no day in sight"]);
        let later = Line { due_on: Some("2027-01-01".parse().unwrap()), ..held };
        assert_eq!(
            PlantRow::of(later.clone(), "2026-11-25".parse().unwrap(), Language::English).held,
            "The annual cap of the land leaves too little"
        );
        assert_eq!(words(later), ["Held back until Jan 1, 2027"]);
    }

    #[test]
    fn what_is_missing_is_said() {
        let mut bare = line();
        bare.product_name = None;
        bare.use_name = None;
        bare.use_measure = None;
        assert_eq!(words(bare), ["No treatment chosen"]);
        assert_eq!(words(Line { use_name: None, use_measure: None, ..line() }), ["Use is not on the label"]);
        let mut unmeasured = Line { signed: false, ..line() };
        unmeasured.plant.height_ft = None;
        unmeasured.plant.in_bloom = true;
        assert_eq!(words(unmeasured), ["Label not signed yet", "No height measured", "In bloom"]);
        let gone = Line { product_retired: true, ..line() };
        assert_eq!(words(gone), ["Without treatment: its product is retired"]);
        let trunk = Line { use_measure: Some("diameter-in".into()), ..line() };
        assert_eq!(words(trunk), ["No trunk measured"]);
        let packet = Line { use_unit: Some("packet".into()), held_by: None, ..line() };
        assert_eq!(words(packet.clone()), ["No whole packet fits the label's band"]);
        assert!(words(Line { held_by: Some(vec![]), ..packet }).is_empty());
    }

    #[test]
    fn kind_and_count_are_one_phrase() {
        let row = PlantRow::of(line(), "2026-11-25".parse().unwrap(), Language::English);
        assert_eq!((row.kind_and_count().as_str(), row.measure.as_str()), ("hedge of 40", "8 ft"));
        assert_eq!(row.treatment, "Rootward 2F: Hedges");
    }
}
