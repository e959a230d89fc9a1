//! A version as lines of name and value, and what differs between two versions.
use crate::{
    db::record::{Head, Item, Version},
    domain::{label::METHODS, record::Conditions},
    texts::Language,
    web::{pour, visits::WINDS},
};
use chrono::{DateTime, NaiveTime, Utc};
use rust_decimal::Decimal;

/// Name of a part and what it says.
pub type Said = (String, String);

/// A part that an amendment changed.
pub struct Change {
    pub what: String,
    pub before: String,
    pub after: String,
}

/// Everything that the version says, in reading order. What was not stated is the empty text.
pub fn said(language: Language, version: &Version) -> Vec<Said> {
    let mut all = head(language, &version.head);
    for item in &version.items {
        all.extend(item_lines(language, item));
    }
    all
}

/// The stop itself, without its plants.
pub fn head(language: Language, h: &Head) -> Vec<Said> {
    let number = |value: Option<Decimal>, unit: &str| {
        value.map(|d| format!("{} {unit}", pour::number(d))).unwrap_or_default()
    };
    let time = |value: Option<NaiveTime>| value.map(|t| t.format("%H:%M").to_string()).unwrap_or_default();
    let with = |name: &str, number: &str| match number {
        "" => name.to_owned(),
        number => language.filled("record-certified", &[("name", name), ("number", number)]),
    };
    let either = |first: bool, one: &str, other: &str| language.say(if first { one } else { other });
    [
        ("counts", either(h.withdrawn, "record-counts-no", "record-counts-yes")),
        ("applied-on", language.day(&h.applied_on)),
        ("started", time(h.started_at)),
        ("finished", time(h.finished_at)),
        ("applied-by", either(h.origin == "own", "record-by-us", "record-by-others")),
        ("applicator", with(&h.applicator_name, &h.applicator_certification)),
        ("supervisor", with(&h.supervisor_name, &h.supervisor_certification)),
        ("customer", h.customer_name.clone()),
        ("customer-address", h.customer_address.clone()),
        ("site", h.site_address.clone()),
        ("county", format!("{}, {}", h.site_county, h.site_state)),
        ("wind", wind(language, &h.wind_direction)),
        ("wind-speed", number(h.wind_mph, "mph")),
        ("temperature", number(h.temperature_f, "°F")),
        ("area", number(h.area_treated_sqft, "sq ft")),
        ("note", h.note.clone()),
    ]
    .map(|(name, value)| (part(language, name), value))
    .into_iter()
    .chain(h.conditions.iter().flat_map(|found_there| found(language, found_there)))
    .collect()
}

/// The name of a part.
fn part(language: Language, name: &str) -> String {
    language.say(&format!("record-part-{name}"))
}

/// English keeps the letters of the compass.
pub fn wind(language: Language, from: &str) -> String {
    match language {
        Language::Spanish if WINDS.contains(&from) => language.say(&format!("wind-{from}")),
        _ => from.to_owned(),
    }
}

/// What was confirmed on the spot.
fn found(language: Language, c: &Conditions) -> Vec<Said> {
    let seen = |what: &str, value: &Option<String>| {
        value.as_ref().map(|value| language.say(&format!("record-{what}-{value}"))).unwrap_or_default()
    };
    let feet = |value: Option<Decimal>| value.map(|d| format!("{} ft", pour::number(d))).unwrap_or_default();
    let clock = |at: Option<DateTime<Utc>>| at.map(|at| at.format("%Y-%m-%d %H:%M:%S UTC").to_string());
    let told = c.neighbours_told.iter().map(|n| format!("{}, {}", n.who, n.at.format("%Y-%m-%d %H:%M UTC")));
    let off = match c.clock_ahead_seconds {
        None | Some(0) => String::new(),
        Some(s) if s > 0 => language.filled("record-clock-ahead", &[("seconds", &s.to_string())]),
        Some(s) => language.filled("record-clock-behind", &[("seconds", &(-s).to_string())]),
    };
    [
        ("bloom", seen("bloom", &c.bloom)),
        ("soil", seen("soil", &c.soil)),
        ("rain", seen("rain", &c.rain)),
        ("nearest-water", feet(c.water_distance_ft)),
        ("well", feet(c.well_distance_ft)),
        ("slope", seen("slope", &c.slope)),
        ("ticket", c.utility_ticket.clone()),
        ("told", told.collect::<Vec<_>>().join("\n")),
        ("signs", c.signs_posted.map(|n| n.to_string()).unwrap_or_default()),
        ("beneficials", c.beneficials.clone()),
        ("pests", c.pests.clone()),
        ("photos", c.photos.len().checked_sub(1).map(|n| (n + 1).to_string()).unwrap_or_default()),
        ("phone-finished", clock(c.phone_completed_at).unwrap_or_default()),
        ("phone-sent", clock(c.phone_sent_at).unwrap_or_default()),
        ("phone-clock", off),
    ]
    .map(|(name, value)| (part(language, name), value))
    .to_vec()
}

fn item_lines(language: Language, i: &Item) -> Vec<Said> {
    let measured = i.measure.map(|m| pour::measure_in(language, m, &i.measure_basis)).unwrap_or_default();
    let rate = i.rate.map(|r| pour::rate_in(language, r, &i.unit, &i.measure_basis, Decimal::ONE));
    let product = [("product", i.product_name.as_str()), ("number", i.registration_number.as_str())];
    let position = i.position.to_string();
    [
        ("plant", plant(i)),
        ("product", language.filled("record-product-number", &product)),
        ("method", method(language, &i.method)),
        ("pest", i.target_pest.clone()),
        ("count", i.count.to_string()),
        ("measure", measured),
        ("rate", rate.unwrap_or_default()),
        ("amount", pour::written_in(language, i.amount, &i.unit)),
        ("water", water(language, i)),
        ("lot", i.lot.clone()),
    ]
    .map(|(name, value)| {
        let of = [("number", position.as_str()), ("what", &part(language, name))];
        (language.filled("record-item-part", &of), value)
    })
    .to_vec()
}

/// How it was applied.
pub fn method(language: Language, code: &str) -> String {
    match code {
        known if METHODS.contains(&known) => language.say(&format!("method-{known}")),
        other => other.replace('-', " "),
    }
}

/// The water that was used; nothing where it was not noted.
pub fn water(language: Language, i: &Item) -> String {
    let unit = i.water_unit.as_deref().unwrap_or_default();
    i.water
        .map(|w| format!("{} {}", pour::number(w), pour::unit_in(language, unit, w == Decimal::ONE)))
        .unwrap_or_default()
}

/// The plant in words.
pub fn plant(i: &Item) -> String {
    if i.host_plant.is_empty() {
        i.plant_words.clone()
    } else {
        format!("{}, {}", i.host_plant, i.plant_words)
    }
}

/// What differs, in the order in which the newer version says it; what it no longer says comes last.
pub fn changes(language: Language, before: &Version, after: &Version) -> Vec<Change> {
    let (old, new) = (said(language, before), said(language, after));
    let value = |all: &[Said], name: &str| {
        all.iter().find(|(n, _)| n == name).map_or(String::new(), |(_, v)| v.clone())
    };
    let gone = old.iter().filter(|(name, _)| new.iter().all(|(n, _)| n != name));
    let names = new.iter().chain(gone).map(|(name, _)| name.clone());
    names
        .map(|what| Change { before: value(&old, &what), after: value(&new, &what), what })
        .filter(|change| change.before != change.after)
        .collect()
}
