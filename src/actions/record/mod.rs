//! Recording what was applied, and amending it. A fact is never refused for a limit that it broke: it is
//! kept, flagged, and shown until a licensed person has answered. Only what cannot be read is refused.
mod amend;
mod band;
mod enter;
mod flags;
mod past;
mod phone;
mod same;
mod snapshot;

pub use amend::{Amendment, amend};
pub use band::{Outside, outside_band};
pub use enter::{Skip, enter, of_visit};
pub use flags::{LABEL_LATER, NO_CERTIFICATION, NOTICE_LACKED};
pub use past::Past;
pub(super) use past::{enter_many, withdraw_many};
pub(super) use phone::{Done, hold as hold_any, of_phone};

use chrono::{NaiveDate, NaiveTime};
use rust_decimal::Decimal;
use uuid::Uuid;

/// When, who and in what weather.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// `own` or `other-company`.
    pub origin: String,
    pub on: NaiveDate,
    pub started_at: Option<NaiveTime>,
    pub finished_at: Option<NaiveTime>,
    /// One of us; `None` for another company's work.
    pub applicator: Option<Uuid>,
    /// Name and certification of somebody who is none of us.
    pub other_name: String,
    pub other_certification: String,
    pub supervisor: Option<Uuid>,
    pub wind_direction: String,
    pub wind_mph: Option<Decimal>,
    pub temperature_f: Option<Decimal>,
    pub area_treated_sqft: Option<Decimal>,
    pub note: String,
}

/// What one plant, or other ground, got.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Applied {
    /// `None`: other ground of the site, such as the lawn; then the words name it.
    pub plant: Option<Uuid>,
    pub words: String,
    pub label_use: Uuid,
    /// In feet or inches, as the use asks; `None`: not measured.
    pub measure: Option<Decimal>,
    pub count: i32,
    pub amount: Decimal,
    pub unit: String,
    pub water: Option<Decimal>,
    pub water_unit: Option<String>,
    /// Lot of the container; empty: not written down.
    pub lot: String,
}
