//! A version as lines of name and value, and what differs between two versions.
use crate::{
    db::record::{Head, Item, Version},
    domain::record::Conditions,
    web::{pour, words},
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
    .into_iter()
    .chain(h.conditions.iter().flat_map(found))
    .collect()
}

/// What was confirmed on the spot.
fn found(c: &Conditions) -> Vec<Said> {
    let words = |value: &Option<String>| value.clone().unwrap_or_default();
    let feet = |value: Option<Decimal>| value.map(|d| format!("{} ft", pour::number(d))).unwrap_or_default();
    let clock = |at: Option<DateTime<Utc>>| at.map(|at| at.format("%Y-%m-%d %H:%M:%S UTC").to_string());
    let told = c.neighbours_told.iter().map(|n| format!("{}, {}", n.who, n.at.format("%Y-%m-%d %H:%M UTC")));
    let off = match c.clock_ahead_seconds {
        None | Some(0) => String::new(),
        Some(s) if s > 0 => format!("{s} seconds ahead"),
        Some(s) => format!("{} seconds behind", -s),
    };
    [
        ("Bloom seen", words(&c.bloom)),
        ("Soil", words(&c.soil)),
        ("Rain", words(&c.rain)),
        ("Nearest water", feet(c.water_distance_ft)),
        ("Nearest well", feet(c.well_distance_ft)),
        ("Slope", words(&c.slope)),
        ("Utility-locate ticket", c.utility_ticket.clone()),
        ("Neighbours told", told.collect::<Vec<_>>().join("\n")),
        ("Signs posted", c.signs_posted.map(|n| n.to_string()).unwrap_or_default()),
        ("Beneficials seen", c.beneficials.clone()),
        ("Pests seen", c.pests.clone()),
        ("Photos", c.photos.len().checked_sub(1).map(|n| (n + 1).to_string()).unwrap_or_default()),
        ("Finished by the phone's clock", clock(c.phone_completed_at).unwrap_or_default()),
        ("Sent by the phone's clock", clock(c.phone_sent_at).unwrap_or_default()),
        ("The phone's clock was", off),
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
        ("lot", i.lot.clone()),
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
