//! REPLACED AT MERGE: stands where the demo company will be made.

use chrono::NaiveDate;
use sqlx::PgPool;

/// The demo company's time zone.
pub const ZONE: chrono_tz::Tz = chrono_tz::America::Los_Angeles;

/// A way to sign in to the demo.
#[derive(Debug, Clone)]
pub struct SignIn {
    pub name: String,
    pub role: String,
    pub email: String,
    pub password: String,
}

/// Fills an empty database with the demo company; one that holds it already is left as it is.
///
/// # Errors
/// When the database belongs to another company, or does not answer.
pub async fn fill(_pool: &PgPool, _today: NaiveDate) -> anyhow::Result<Vec<SignIn>> {
    Ok(Vec::new())
}
