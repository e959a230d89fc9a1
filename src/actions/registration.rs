//! Entering the counties in which the company is registered.
use super::{Doer, Error, Result};
use crate::db::{
    broken_constraint,
    registration::{self, Registration},
};
use serde_json::json;

/// Enters a registration; sent twice, it is entered once.
///
/// # Errors
/// When the dates are the wrong way round (field `expires_on`).
pub async fn enter(doer: &Doer, new: &Registration) -> Result<()> {
    if new.expires_on < new.valid_from {
        return Err(Error::field("expires_on", "The last day comes before the first."));
    }
    let mut tx = doer.pool.begin().await?;
    match registration::insert(&mut tx, new).await {
        Err(e) if broken_constraint(&e) == Some("county_registration_pkey") => return Ok(()), // sent twice
        other => other?,
    }
    let detail = json!({ "state": new.state, "county": new.county, "number": new.number,
        "valid_from": new.valid_from, "expires_on": new.expires_on });
    doer.note(&mut tx, "entered", "county registration", new.id, detail).await?;
    tx.commit().await?;
    Ok(())
}
