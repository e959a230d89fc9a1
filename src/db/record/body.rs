//! The text of a version, as it is hashed.
use super::{Head, Item, Version};
use crate::domain::chain::Value;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// The fixed text of the version with its items.
#[must_use]
pub fn body(version: &Version) -> String {
    let mut parts = head(&version.head);
    parts.insert("items", Value::List(version.items.iter().map(item).collect()));
    Value::Parts(parts).canonical()
}

/// One spelling for equal numbers: 2.50 and 2.5 are the same measurement.
fn decimal(value: Option<Decimal>) -> Value {
    Value::maybe(value.map(|d| d.normalize()).as_ref())
}

/// What came later stands in the text only where it was written: the text of older versions stays.
fn head(h: &Head) -> BTreeMap<&'static str, Value> {
    let mut parts = BTreeMap::from([
        ("amend_reason", Value::text(&h.amend_reason)),
        ("applicator_certification", Value::text(&h.applicator_certification)),
        ("applicator_id", Value::maybe(h.applicator_id.as_ref())),
        ("applicator_name", Value::text(&h.applicator_name)),
        ("applied_on", Value::text(h.applied_on.to_string())),
        ("area_treated_sqft", decimal(h.area_treated_sqft)),
        ("customer_address", Value::text(&h.customer_address)),
        ("customer_name", Value::text(&h.customer_name)),
        ("finished_at", Value::maybe(h.finished_at.as_ref())),
        ("id", Value::text(h.id.to_string())),
        ("note", Value::text(&h.note)),
        ("origin", Value::text(&h.origin)),
        ("parcel_id", Value::text(h.parcel_id.to_string())),
        ("recorded_at", Value::text(h.recorded_at.to_rfc3339_opts(chrono::SecondsFormat::Micros, true))),
        ("recorded_by", Value::text(h.recorded_by.to_string())),
        ("site_address", Value::text(&h.site_address)),
        ("site_county", Value::text(&h.site_county)),
        ("site_id", Value::text(h.site_id.to_string())),
        ("site_state", Value::text(&h.site_state)),
        ("started_at", Value::maybe(h.started_at.as_ref())),
        ("supervisor_certification", Value::text(&h.supervisor_certification)),
        ("supervisor_id", Value::maybe(h.supervisor_id.as_ref())),
        ("supervisor_name", Value::text(&h.supervisor_name)),
        ("temperature_f", decimal(h.temperature_f)),
        ("version", Value::Whole(h.version.into())),
        ("visit_id", Value::maybe(h.visit_id.as_ref())),
        ("wind_direction", Value::text(&h.wind_direction)),
        ("wind_mph", decimal(h.wind_mph)),
        ("withdrawn", Value::Flag(h.withdrawn)),
    ]);
    parts.extend(h.conditions.as_ref().map(|found| ("conditions", found.value())));
    parts
}

fn item(i: &Item) -> Value {
    let mut parts = BTreeMap::from([
        ("amount", decimal(Some(i.amount))),
        ("count", Value::Whole(i.count.into())),
        ("host_plant", Value::text(&i.host_plant)),
        ("label_use_id", Value::maybe(i.label_use_id.as_ref())),
        ("label_version_id", Value::text(i.label_version_id.to_string())),
        ("measure", decimal(i.measure)),
        ("measure_basis", Value::text(&i.measure_basis)),
        ("method", Value::text(&i.method)),
        ("plant_id", Value::maybe(i.plant_id.as_ref())),
        ("plant_words", Value::text(&i.plant_words)),
        ("position", Value::Whole(i.position.into())),
        ("product_id", Value::text(i.product_id.to_string())),
        ("product_name", Value::text(&i.product_name)),
        ("rate", decimal(i.rate)),
        ("registration_number", Value::text(&i.registration_number)),
        ("target_pest", Value::text(&i.target_pest)),
        ("unit", Value::text(&i.unit)),
        ("water", decimal(i.water)),
        ("water_unit", Value::maybe(i.water_unit.as_ref())),
    ]);
    if !i.lot.is_empty() {
        parts.insert("lot", Value::text(&i.lot));
    }
    Value::Parts(parts)
}
