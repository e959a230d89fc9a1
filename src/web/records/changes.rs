//! A version as lines of name and value, and what differs between two versions.
use crate::{
    db::record::{Head, Item, Version},
    web::{pour, words},
};
use chrono::NaiveTime;
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
pub fn said(version: &Version) -> Vec<Said> {
    let mut all = head(&version.head);
    for item in &version.items {
        all.extend(item_lines(item));
    }
    all
}

/// The stop itself, without its plants.
pub fn head(h: &Head) -> Vec<Said> {
    let number = |value: Option<Decimal>, unit: &str| {
        value.map(|d| format!("{} {unit}", pour::number(d))).unwrap_or_default()
    };
    let time = |value: Option<NaiveTime>| value.map(|t| t.format("%H:%M").to_string()).unwrap_or_default();
    let with = |name: &str, number: &str| {
        if number.is_empty() { name.to_owned() } else { format!("{name}, certification {number}") }
    };
    let own = h.origin == "own";
    [
        ("Does it count?", if h.withdrawn { "no, it was withdrawn" } else { "yes" }.to_owned()),
        ("Applied on", words::day(h.applied_on)),
        ("Started", time(h.started_at)),
        ("Finished", time(h.finished_at)),
        ("Applied by", if own { "our company" } else { "another company" }.to_owned()),
        ("Applicator", with(&h.applicator_name, &h.applicator_certification)),
        ("Supervising applicator", with(&h.supervisor_name, &h.supervisor_certification)),
        ("Customer", h.customer_name.clone()),
        ("Customer's address", h.customer_address.clone()),
        ("Site", h.site_address.clone()),
        ("County", format!("{}, {}", h.site_county, h.site_state)),
        ("Wind from", h.wind_direction.clone()),
        ("Wind speed", number(h.wind_mph, "mph")),
        ("Air temperature", number(h.temperature_f, "°F")),
        ("Area treated", number(h.area_treated_sqft, "sq ft")),
        ("Note", h.note.clone()),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .to_vec()
}

fn item_lines(i: &Item) -> Vec<Said> {
    let measured = i.measure.map(|m| pour::measure(m, &i.measure_basis)).unwrap_or_default();
    let rate = i.rate.map(|r| pour::rate(r, &i.unit, &i.measure_basis, Decimal::ONE));
    let water = i
        .water
        .map(|w| format!("{} {}", pour::number(w), words::unit(i.water_unit.as_deref().unwrap_or_default())));
    [
        ("plant", plant(i)),
        ("product", format!("{}, EPA Reg. No. {}", i.product_name, i.registration_number)),
        ("method", i.method.replace('-', " ")),
        ("target pest", i.target_pest.clone()),
        ("number of plants", i.count.to_string()),
        ("measure", measured),
        ("rate", rate.unwrap_or_default()),
        ("amount", pour::written(i.amount, &i.unit)),
        ("water", water.unwrap_or_default()),
    ]
    .map(|(name, value)| (format!("Item {}, {name}", i.position), value))
    .to_vec()
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
pub fn changes(before: &Version, after: &Version) -> Vec<Change> {
    let (old, new) = (said(before), said(after));
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
