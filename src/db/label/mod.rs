//! Label versions with their parts: what is typed from the label in hand, and signed.
//!
//! `read` gives versions back whole, `write` puts drafts in. Codes (units, methods,
//! years) are the texts that the tables' checks allow and the domain reads.
mod read;
mod write;

pub use read::{load, load_many, use_version, versions_of};
pub use write::{
    delete_use, insert_use, insert_version, lock_version, next_number, replace_parts, sign, update_use,
    update_version,
};

use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// The head of a label version.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Version {
    pub id: Uuid,
    pub product_id: Uuid,
    /// 1, 2, 3 within the product.
    pub number: i32,
    pub label_date: NaiveDate,
    /// The certification category in which it may be used and signed.
    pub category: String,
    pub restricted_use: bool,
    /// Empty where the label carries none.
    pub signal_word: String,
    pub clothing: String,
    pub precautions: String,
    pub first_aid: String,
    /// Host plants that the label excludes, lower case.
    pub excluded_hosts: Vec<String>,
    /// What a volume of product weighs, in `density_unit` (`g/mL`, `kg/L` or `lb/gal`); both or none.
    pub density: Option<Decimal>,
    pub density_unit: Option<String>,
    /// What one packet or tablet weighs, in `piece_unit` (`g`, `mg`, `oz` or `lb`); both or none.
    pub piece_mass: Option<Decimal>,
    pub piece_unit: Option<String>,
    pub entered_by: Uuid,
    pub entered_by_name: String,
    pub entered_at: DateTime<Utc>,
    pub signed_by: Option<Uuid>,
    pub signed_by_name: Option<String>,
    /// The certification under which it was signed.
    pub signed_certification_id: Option<Uuid>,
    pub signed_certification_number: Option<String>,
    pub signed_at: Option<DateTime<Utc>>,
    /// Whether this is the one that counts today.
    pub in_force: bool,
}

impl Version {
    /// Whether it still waits for a signature.
    #[must_use]
    pub fn is_draft(&self) -> bool {
        self.signed_at.is_none()
    }
}

/// An active ingredient, in the label's order.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Ingredient {
    pub label_version_id: Uuid,
    pub position: i32,
    /// Common name, lower case.
    pub name: String,
    /// Mode of action group; empty where unknown.
    pub irac_group: String,
    pub strength: Decimal,
    /// `percent`, or a mass in a volume or a piece, such as `lb/gal` or `g/packet`.
    pub strength_unit: String,
}

/// An annual cap.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Cap {
    pub label_version_id: Uuid,
    pub position: i32,
    /// `ingredient`, or `product` where it counts the product itself.
    pub counts: String,
    /// Name of one of the version's ingredients, where it counts one.
    pub ingredient: Option<String>,
    pub amount: Decimal,
    /// Such as `lb/acre`, or `gal/acre` of product.
    pub unit: String,
    /// `calendar`, `rolling-12-months` or `unstated`.
    pub year: String,
}

/// One use of a label version. Its code stays the same from version to version.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Use {
    pub id: Uuid,
    pub label_version_id: Uuid,
    pub code: String,
    pub name: String,
    pub hosts: String,
    pub pests: String,
    pub method: String,
    /// Code of a `MeasureBasis`, such as `height-ft`.
    pub measure: String,
    /// Product for `rate_per` feet, inches and so on, in `rate_unit`.
    pub rate_low: Decimal,
    pub rate_high: Decimal,
    pub rate_unit: String,
    /// For how many feet, inches and so on rate and water are stated; mostly one.
    pub rate_per: Decimal,
    /// Carrier water for the same; all three or none.
    pub water_low: Option<Decimal>,
    pub water_high: Option<Decimal>,
    pub water_unit: Option<String>,
    pub protection_value: i32,
    /// `day`, `week`, `month` or `year`.
    pub protection_unit: String,
    pub uptake_days: i32,
    pub min_interval_days: i32,
    pub max_per_year: Option<i32>,
    /// Month and day, `MM-DD`; both or none.
    pub season_from: Option<String>,
    pub season_to: Option<String>,
    /// A second season, such as autumn after spring.
    pub season2_from: Option<String>,
    pub season2_to: Option<String>,
    pub barred_in_bloom: bool,
    /// Days before bloom that are barred too.
    pub bloom_lead_days: Option<i32>,
    pub covers_food: bool,
    pub preharvest_days: Option<i32>,
    /// After this use of group 4A, days without a foliar use of group 4; none: not stated.
    pub foliar_rest_days: Option<i32>,
    /// Whether the label refuses a plant that had the same mode of action before.
    pub no_group_repeat: bool,
}

/// A label version with all its parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    pub version: Version,
    pub ingredients: Vec<Ingredient>,
    pub uses: Vec<Use>,
    pub caps: Vec<Cap>,
}

impl Label {
    /// The use of that code.
    #[must_use]
    pub fn use_of(&self, code: &str) -> Option<&Use> {
        self.uses.iter().find(|u| u.code == code)
    }
}
