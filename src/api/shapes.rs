//! The shapes of the interface that belong to no single address: the batch, the visits and the problem.
use crate::actions::completion::Outcome;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// Completions, oldest first. One that cannot be read does not keep the others back.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Batch {
    /// The phone's clock while it sends.
    pub sent_at: DateTime<Utc>,
    #[schema(min_items = 1, max_items = 100)]
    pub items: Vec<Item>,
}

/// A completion with the key under which it is sent until it is accepted.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Item {
    /// Made on the phone, one for each completion. Of a single item it may stand in the header instead.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub key: Option<String>,
    /// A completion; whatever else it is, it is kept as it was sent.
    #[schema(value_type = crate::actions::completion::Completion)]
    pub completion: serde_json::Value,
}

/// What became of each item, in the order of the batch.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Outcomes {
    /// The server's clock.
    pub received_at: DateTime<Utc>,
    pub outcomes: Vec<Outcome>,
}

/// Who is signed in on this phone.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Session {
    pub person: Uuid,
    pub name: String,
    /// `owner`, `office` or `technician`.
    pub role: String,
    /// Tag of the language that they chose to read: `en`, `es`.
    pub language: String,
    /// Sent back in the header `X-Plantward-Token` with every write.
    pub token: String,
    /// Secret of the key that seals their unsent work on the phone, 256 bits in base64.
    pub phone_key: String,
    pub company: String,
    /// The day it is where the company works.
    pub today: NaiveDate,
    pub time_zone: String,
    pub now: DateTime<Utc>,
    /// Without another contact the phone forgets visits and key then.
    pub holds_until: DateTime<Utc>,
}

/// The key of somebody's unsent work.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct PhoneKey {
    pub person: Uuid,
    /// 256 bits in base64.
    pub phone_key: String,
}

/// The technician's visits that changed since the cursor.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Visits {
    /// Sent back as `since` the next time.
    pub cursor: String,
    /// True: these are all visits there are; forget every other.
    pub whole: bool,
    pub now: DateTime<Utc>,
    pub today: NaiveDate,
    /// The last day of the answer.
    pub until: NaiveDate,
    pub company: Company,
    pub visits: Vec<Visit>,
    /// The label versions that the visits name.
    pub labels: Vec<Label>,
    /// The newest file of each kind for every label version of all visits that the phone holds, always all of
    /// them: what is not named here is not needed.
    pub documents: Vec<Document>,
    /// Records that wait for a signature of whoever is signed in, always all of them.
    pub to_sign: Vec<ToSign>,
    pub removed: Vec<Removed>,
    /// Who may be named as supervisor today, by state.
    pub supervisors: Vec<Supervisor>,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Company {
    pub name: String,
    pub phone: String,
    pub emergency_phone: String,
    pub poison_center_phone: String,
    pub emergency_place: String,
}

/// A visit that is no longer for this phone.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Removed {
    pub id: Uuid,
    /// `cancelled`, `done`, `somebody-else` or `later`.
    pub why: String,
    pub words: String,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Supervisor {
    pub id: Uuid,
    pub name: String,
    pub number: String,
    pub state: String,
}

/// Everything that the work of one visit needs.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Visit {
    pub id: Uuid,
    /// The land: its caps count what is applied by every visit to it.
    pub parcel: Uuid,
    pub on: NaiveDate,
    pub status: String,
    /// Its place in the day, where the week was planned.
    pub stop_number: Option<i32>,
    pub arrives_at: Option<NaiveTime>,
    pub leaves_at: Option<NaiveTime>,
    pub note: String,
    pub site: Site,
    pub doses: Vec<Dose>,
    /// What each cap on the land leaves, as of `now`.
    pub caps: Vec<Cap>,
    /// Fields of the record that a rule of the site's state asks for.
    pub asked: Vec<AskedField>,
    /// Notices and signs that the law asks for.
    pub duties: Vec<Duty>,
    /// Whether the technician holds a certification of the state on that day.
    pub certified: bool,
    /// Who answers for a technician without one, where somebody was named; counts where the completion names
    /// nobody.
    pub supervisor: Option<Uuid>,
    pub supervisor_name: String,
    /// The record, where it is done.
    pub record: Option<Uuid>,
    /// By when the record is due if the work is done on the visit's day.
    pub record_by: RecordBy,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Site {
    pub id: Uuid,
    pub name: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub zip: String,
    pub county: String,
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
    pub access_note: String,
    /// When the site may be entered, in words; empty: any working hour.
    pub hours: Vec<String>,
    pub customer_name: String,
    pub customer_phone: String,
    /// Feet to the nearest water; null: nobody has looked.
    pub water_distance_ft: Option<Decimal>,
    /// Hours before the work by which neighbours or the state must hear of it.
    pub notice_hours: Option<i32>,
    pub notice_reason: String,
    /// Who wants to hear of the work, or must, before something is applied.
    pub neighbours: Vec<Neighbour>,
    /// Nearest place for a medical emergency; the company's own where the site names none.
    pub emergency_place: String,
}

/// Somebody beside a site who is told; what was ticked is sent with the completion, by name and address.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Neighbour {
    pub id: Uuid,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub note: String,
}

/// A notice or sign that a rule asks for at a visit, as it stands.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Duty {
    pub code: String,
    /// `neighbours`, `registry`, `customer`, `statement` or `sign`.
    pub kind: String,
    /// What the rule says.
    pub words: String,
    /// What a sign must be; null: it is no sign.
    pub sign: Option<String>,
    pub source: String,
    /// Whether somebody has read the rule at its source.
    pub verified: bool,
    /// Nothing more is to be done of it.
    pub settled: bool,
    /// Work may not begin before it is done.
    pub holds: bool,
    /// By when it must be done, as people read it; null: at any time before the work.
    pub by: Option<String>,
    /// It was done so late that work may begin only then.
    pub from: Option<String>,
}

/// A planned dose, with what the phone needs to follow another measure: product = rate x measure x count /
/// rate_per. Pieces
/// (packets, tablets) are not divided: of them the phone shows what is planned and works out nothing.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Dose {
    pub plant: Uuid,
    pub label_use: Uuid,
    pub label_version: Uuid,
    pub place: String,
    pub host_plant: String,
    pub kind: String,
    pub target_pest: String,
    pub plant_note: String,
    pub product: String,
    pub registration_number: String,
    pub use_name: String,
    pub method: String,
    /// Code of what is measured, such as `height-ft` or `diameter-in`.
    pub measure_basis: String,
    /// Of one plant.
    pub measure: Decimal,
    pub count: i32,
    /// Product for so many (`rate_per`) feet or inches of one plant.
    pub rate: Decimal,
    pub rate_per: Decimal,
    pub rate_low: Decimal,
    pub rate_high: Decimal,
    /// Product for all plants of the record together, exact.
    pub amount: Decimal,
    pub unit: String,
    /// The amount as a cup shows it, in words.
    pub pour: String,
    /// Water for as many feet or inches of one plant as the rate.
    pub water_low: Option<Decimal>,
    pub water_high: Option<Decimal>,
    pub water_unit: Option<String>,
    /// The water in words.
    pub water: String,
    /// `planned`, `applied`, `skipped` or `released`.
    pub status: String,
    /// What one `unit` of this product takes of each cap that counts it.
    pub draws: Vec<Draw>,
    /// The most of this product that the caps still allow here for this dose, its own reservation given
    /// back, rounded down; null: no cap binds it, or none can be checked.
    pub left: Option<Decimal>,
}

/// What one unit of a product takes of a cap.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Draw {
    /// The cap's `key`.
    pub cap: String,
    /// In the cap's unit, exact, as a fraction of whole numbers: `2271247/9469`.
    pub per: String,
}

/// By when a record is to be whole.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct RecordBy {
    pub day: NaiveDate,
    /// The rule; empty: none is known that states a day, and the company's own is the same day.
    pub source: String,
    /// Whether somebody has read the rule at its source.
    pub verified: bool,
}

/// A record that somebody still has to sign.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct ToSign {
    pub record: Uuid,
    pub address: String,
    pub on: NaiveDate,
    pub by: RecordBy,
}

/// What a cap leaves on the land.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Cap {
    pub ingredient: String,
    /// What it counts; the same for every visit to the land.
    pub key: String,
    /// What it leaves when everything is applied that is booked on the land, this visit aside: exact, as a
    /// fraction of whole numbers; below zero where it is broken, null where it cannot be checked.
    pub room: Option<String>,
    /// Of `unit`; what is left is rounded down.
    pub used: Decimal,
    pub reserved: Decimal,
    /// Null: the cap cannot be checked, no area is known.
    pub left: Option<Decimal>,
    pub unit: String,
    /// Earlier use on this land is not confirmed.
    pub unconfirmed: bool,
    /// For people.
    pub words: String,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct AskedField {
    /// `started_at`, `finished_at`, `wind_direction`, `wind_mph`, `temperature_f` or `water`.
    pub field: String,
    pub words: String,
}

/// What the signed label says to whoever pours, as it was signed.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Label {
    pub id: Uuid,
    pub product: String,
    pub registration_number: String,
    pub number: i32,
    pub signal_word: String,
    pub clothing: String,
    pub precautions: String,
    pub first_aid: String,
    pub restricted: bool,
    pub signed: bool,
}

/// A label file or a safety data sheet, for `GET /api/documents/{id}`.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Document {
    pub id: Uuid,
    /// Whose it is; a data sheet is named once for each label version of its product.
    pub label_version: Uuid,
    /// `label` or `safety-data-sheet`.
    pub kind: String,
    /// SHA-256 of the bytes in hexadecimal digits.
    pub sha256: String,
    pub bytes: i64,
}

/// A photo as it is kept.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct PhotoKept {
    pub id: Uuid,
    /// Bytes kept, after location data was taken out.
    pub bytes: i64,
    /// Whether data about where or how it was taken was taken out.
    pub stripped: bool,
}

/// Why a request was not done (RFC 9457).
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Problem {
    /// `about:blank`, or a path of ours that names the kind of problem.
    #[serde(rename = "type")]
    pub kind: String,
    pub title: String,
    pub status: u16,
    /// For the person, with what to do.
    pub detail: String,
}
