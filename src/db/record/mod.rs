//! Application records: what was physically applied. Rows are only ever added;
//! an amendment is a further version of the whole record.
mod body;
mod choice;
mod list;
mod place;
mod present;
mod read;
mod write;

pub use body::body;
pub use choice::{Choice, Planted, choice_of, choice_on, choices, plants, set_measure, unsigned_on};
pub use list::{After, Filter, Line, list, own_rows, report};
pub use place::{Named, Place, people_on, person_on, place};
pub use present::{present, restricted_among};
pub use read::{Link, applicator_of, items_of, links, newest, of_site, of_visit, versions};
pub use write::insert;

use crate::domain::record::Conditions;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// One version of a record, without its items.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Head {
    pub id: Uuid,
    pub version: i32,
    pub visit_id: Option<Uuid>,
    pub site_id: Uuid,
    pub parcel_id: Uuid,
    /// `own` or `other-company`.
    pub origin: String,
    /// Recorded by mistake: it counts nowhere, and stays readable.
    pub withdrawn: bool,
    pub applied_on: NaiveDate,
    pub started_at: Option<NaiveTime>,
    pub finished_at: Option<NaiveTime>,
    pub customer_name: String,
    pub customer_address: String,
    pub site_address: String,
    pub site_state: String,
    pub site_county: String,
    pub applicator_id: Option<Uuid>,
    pub applicator_name: String,
    pub applicator_certification: String,
    pub supervisor_id: Option<Uuid>,
    pub supervisor_name: String,
    pub supervisor_certification: String,
    pub wind_direction: String,
    pub wind_mph: Option<Decimal>,
    pub temperature_f: Option<Decimal>,
    pub area_treated_sqft: Option<Decimal>,
    pub note: String,
    pub recorded_by: Uuid,
    pub recorded_at: DateTime<Utc>,
    /// Empty for the first version only.
    pub amend_reason: String,
    /// What was confirmed on the spot; none: it was written without.
    #[sqlx(json(nullable))]
    pub conditions: Option<Conditions>,
}

/// One product applied to one plant, or to other ground of the site.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Item {
    pub position: i32,
    pub plant_id: Option<Uuid>,
    pub plant_words: String,
    pub host_plant: String,
    pub target_pest: String,
    pub product_id: Uuid,
    pub label_version_id: Uuid,
    pub label_use_id: Option<Uuid>,
    pub product_name: String,
    pub registration_number: String,
    pub method: String,
    pub measure: Option<Decimal>,
    /// Code of a `MeasureBasis`, such as `height-ft`; empty where nothing was measured.
    pub measure_basis: String,
    pub count: i32,
    pub rate: Option<Decimal>,
    pub amount: Decimal,
    pub unit: String,
    pub water: Option<Decimal>,
    pub water_unit: Option<String>,
    /// Lot of the container; empty: not written down.
    pub lot: String,
}

/// A whole version.
#[derive(Debug, Clone, PartialEq)]
pub struct Version {
    pub head: Head,
    pub items: Vec<Item>,
}
