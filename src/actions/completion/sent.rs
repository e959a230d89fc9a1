//! What a phone sends when a visit is completed, and what it is answered. These are the shapes of the
//! interface: their documentation is the interface's own.
use crate::texts::Language;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// One visit's completion. Amounts and measures are decimals written as text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Completion {
    /// Made on the phone (UUIDv7); it becomes the record's id.
    pub id: Uuid,
    /// The visit that was completed.
    pub visit: Uuid,
    /// When the person finished it, by the phone's clock.
    pub completed_at: DateTime<Utc>,
    /// What became of each planned dose.
    #[serde(default)]
    pub plants: Vec<PlantDone>,
    /// Times and weather.
    pub stop: StopFacts,
    /// What was confirmed about the ground; what nobody confirmed is left out.
    #[serde(default)]
    pub site: SiteFound,
    /// Neighbours who were told before the work.
    #[serde(default)]
    #[schema(max_items = 100)]
    pub neighbours_told: Vec<NeighbourTold>,
    /// How many signs were posted.
    #[serde(default)]
    #[schema(maximum = 10000)]
    pub signs_posted: Option<u32>,
    /// Insects seen that help.
    #[serde(default)]
    pub beneficials: String,
    /// Insects and diseases seen that harm.
    #[serde(default)]
    pub pests: String,
    /// Photos taken; each is sent by `PUT /api/photos/{id}`, before or after.
    #[serde(default)]
    #[schema(max_items = 50)]
    pub photos: Vec<Uuid>,
    #[serde(default)]
    pub note: String,
    /// The technician's own name, typed as confirmation; without it the record stays unsigned.
    #[serde(default)]
    pub signature: Option<Signature>,
}

/// What became of one planned dose.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PlantDone {
    pub plant: Uuid,
    /// The use of the label that the phone was given with the dose.
    pub label_use: Uuid,
    /// The label version that the phone showed.
    #[serde(default)]
    pub label_version: Option<Uuid>,
    pub did: Did,
    /// Height or trunk diameter of one plant; as planned where left out.
    #[serde(default)]
    pub measure: Option<Decimal>,
    /// Product for all plants of the record together; as planned where left out and `did` is `planned`.
    #[serde(default)]
    pub amount: Option<Decimal>,
    /// `mL`, `floz`, `g`, `oz` and their like.
    #[serde(default)]
    pub unit: Option<String>,
    /// Water for all plants of the record together.
    #[serde(default)]
    pub water: Option<Decimal>,
    /// `cup` where left out.
    #[serde(default)]
    pub water_unit: Option<String>,
    /// Lot number of the container.
    #[serde(default)]
    pub lot: String,
    /// Why it was skipped.
    #[serde(default)]
    pub reason: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Did {
    /// As planned.
    Planned,
    /// Measured or poured otherwise.
    Measured,
    /// Not done; the reason says why.
    Skipped,
}

/// Times and weather of the stop.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub struct StopFacts {
    /// The day where the company works; the day of `completed_at` where left out.
    #[serde(default)]
    pub on: Option<NaiveDate>,
    #[serde(default)]
    pub started_at: Option<NaiveTime>,
    #[serde(default)]
    pub finished_at: Option<NaiveTime>,
    /// Where the wind came from: `calm`, `N`, `NE`, `E`, `SE`, `S`, `SW`, `W` or `NW`.
    #[serde(default)]
    pub wind_direction: Option<Wind>,
    #[serde(default)]
    pub wind_mph: Option<Decimal>,
    #[serde(default)]
    pub temperature_f: Option<Decimal>,
    /// Who supervised, where the technician is not certified.
    #[serde(default)]
    pub supervisor: Option<Uuid>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum Wind {
    #[serde(rename = "calm")]
    Calm,
    N,
    NE,
    E,
    SE,
    S,
    SW,
    W,
    NW,
}

/// What was confirmed about the ground.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub struct SiteFound {
    #[serde(default)]
    pub bloom: Option<Bloom>,
    #[serde(default)]
    pub soil: Option<Soil>,
    #[serde(default)]
    pub rain: Option<Rain>,
    #[serde(default)]
    pub water_distance_ft: Option<Decimal>,
    #[serde(default)]
    pub well_distance_ft: Option<Decimal>,
    #[serde(default)]
    pub slope: Option<Slope>,
    /// Ticket of the utility-locate service, before anything goes into the soil.
    #[serde(default)]
    pub utility_ticket: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Bloom {
    None,
    Some,
    Full,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Soil {
    Dry,
    Moist,
    Saturated,
    Frozen,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Rain {
    None,
    Expected,
    Falling,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Slope {
    Flat,
    Gentle,
    Steep,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NeighbourTold {
    /// Name or place, such as `16 Tamber Lane`.
    pub who: String,
    /// When, by the phone's clock.
    pub at: DateTime<Utc>,
}

/// The technician's confirmation that this is what was done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Signature {
    /// Their name as they typed it.
    pub name: String,
    /// When, by the phone's clock.
    pub at: DateTime<Utc>,
}

/// What became of one item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Outcome {
    /// The completion's id; nil where none could be read.
    pub id: Uuid,
    /// The idempotency key of the item; empty where none was sent.
    pub key: String,
    /// 201 recorded, 202 kept as sent; 400, 409 or 422: nothing was done, see `problem`.
    pub status: u16,
    pub state: State,
    /// The record, where there is one.
    pub record: Option<Uuid>,
    /// One sentence for the person.
    pub words: String,
    /// What deserves a look, and what to do about it.
    pub notes: Vec<Note>,
    /// By how many seconds the phone's clock was ahead; below zero: behind.
    pub clock_ahead_seconds: Option<i64>,
    /// When the server had it.
    pub received_at: Option<DateTime<Utc>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// Recorded, nothing to say.
    Recorded,
    /// Recorded, and something deserves a look.
    Flagged,
    /// Kept as it was sent; the office reads it.
    Kept,
    /// The visit is closed: every dose was skipped, so that there is no record.
    Closed,
    /// Nothing was done: the item stays on the phone.
    Refused,
}

/// Something that deserves a look.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Note {
    /// `limit-broken`, `visit-reassigned`, `visit-cancelled`, `recorded-twice`, `label-replaced`,
    /// `missing-field`, `unsigned`, `clock`, `visit-unknown`, `unreadable`, `missing-key`, `key-used`,
    /// `in-progress` or `failed`.
    pub code: String,
    pub words: String,
    /// What to do; empty: nothing.
    pub to_do: String,
}

impl Outcome {
    /// The same for a reader of this language; what is kept stays in English.
    #[must_use]
    pub fn read_in(mut self, language: Language) -> Self {
        self.words = language.said(&self.words);
        for note in &mut self.notes {
            note.words = language.said(&note.words);
            note.to_do = language.said(&note.to_do);
        }
        self
    }
}
