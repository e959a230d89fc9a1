//! What was found and done at a stop beside the work itself: ground, weather to come, water, neighbours,
//! signs, what lives on the plants, and the clocks of whoever wrote it down in the field.

use crate::domain::chain::Value;
use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Conditions of a stop as somebody confirmed them on the spot. Nothing said is `None` or empty, never a
/// favourable default.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Conditions {
    /// Bloom seen: `none`, `some` or `full`.
    pub bloom: Option<String>,
    /// Soil: `dry`, `moist`, `saturated` or `frozen`.
    pub soil: Option<String>,
    /// Rain: `none`, `expected` or `falling`.
    pub rain: Option<String>,
    /// Feet to the nearest water.
    pub water_distance_ft: Option<Decimal>,
    /// Feet to the nearest well.
    pub well_distance_ft: Option<Decimal>,
    /// Slope: `flat`, `gentle` or `steep`.
    pub slope: Option<String>,
    /// Number of the ticket of the utility-locate service, before anything goes into the soil.
    pub utility_ticket: String,
    /// Neighbours who were told, in words with the time of each.
    pub neighbours_told: Vec<Told>,
    /// How many signs were posted.
    pub signs_posted: Option<u32>,
    /// Insects seen that help.
    pub beneficials: String,
    /// Insects and diseases seen that harm.
    pub pests: String,
    /// Photos taken.
    pub photos: Vec<Uuid>,
    /// When the person finished it, by the phone's clock.
    pub phone_completed_at: Option<DateTime<Utc>>,
    /// When the phone sent it, by the phone's clock.
    pub phone_sent_at: Option<DateTime<Utc>>,
    /// Seconds by which the phone's clock was ahead when it was sent; below zero: behind.
    pub clock_ahead_seconds: Option<i64>,
}

/// A neighbour who was told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Told {
    /// Name or place, such as `16 Tamber Lane`.
    pub who: String,
    /// When, by the phone's clock.
    pub at: DateTime<Utc>,
}

impl Conditions {
    /// The parts as they are hashed with the record.
    pub fn value(&self) -> Value {
        let time = |at: &DateTime<Utc>| at.to_rfc3339_opts(chrono::SecondsFormat::Micros, true);
        let decimal = |value: Option<Decimal>| Value::maybe(value.map(|d| d.normalize()).as_ref());
        let told = |told: &Told| {
            Value::Parts(BTreeMap::from([
                ("at", Value::text(time(&told.at))),
                ("who", Value::text(&told.who)),
            ]))
        };
        Value::Parts(BTreeMap::from([
            ("beneficials", Value::text(&self.beneficials)),
            ("bloom", Value::maybe(self.bloom.as_ref())),
            ("clock_ahead_seconds", self.clock_ahead_seconds.map_or(Value::Nothing, Value::Whole)),
            ("neighbours_told", Value::List(self.neighbours_told.iter().map(told).collect())),
            ("pests", Value::text(&self.pests)),
            ("phone_completed_at", Value::maybe(self.phone_completed_at.as_ref().map(time).as_ref())),
            ("phone_sent_at", Value::maybe(self.phone_sent_at.as_ref().map(time).as_ref())),
            ("photos", Value::List(self.photos.iter().map(|id| Value::text(id.to_string())).collect())),
            ("rain", Value::maybe(self.rain.as_ref())),
            ("signs_posted", self.signs_posted.map_or(Value::Nothing, |n| Value::Whole(n.into()))),
            ("slope", Value::maybe(self.slope.as_ref())),
            ("soil", Value::maybe(self.soil.as_ref())),
            ("utility_ticket", Value::text(&self.utility_ticket)),
            ("water_distance_ft", decimal(self.water_distance_ft)),
            ("well_distance_ft", decimal(self.well_distance_ft)),
        ]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_measures_have_one_text_and_silence_is_no_answer() {
        let with = |feet: &str| Conditions {
            water_distance_ft: Some(feet.parse().unwrap()),
            ..Conditions::default()
        };
        assert_eq!(with("25.0").value().canonical(), with("25").value().canonical());
        let silent = Conditions::default().value().canonical();
        assert!(
            silent.contains(r#""soil":null"#) && silent.contains(r#""water_distance_ft":null"#),
            "{silent}"
        );
        assert_ne!(silent, with("0").value().canonical(), "water on the site is not water unknown");
    }
}
