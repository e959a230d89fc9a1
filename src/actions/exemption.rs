//! Exemptions that a regulator has granted for a piece of land, as a licensed person enters them.
use super::{Doer, Error, Result, due, licensed};
use crate::db::{broken_constraint, parcel, site};
use chrono::NaiveDate;
use serde_json::json;
use uuid::Uuid;

/// What the document says.
#[derive(Debug, Clone)]
pub struct Granted {
    pub id: Uuid,
    /// Nothing: every ingredient.
    pub ingredient: Option<String>,
    pub from: NaiveDate,
    pub until: NaiveDate,
    pub reason: String,
    /// Number of the document.
    pub document: String,
}

/// Enters an exemption for the parcel of a site; the same form twice makes one.
///
/// # Errors
/// When the person holds no current certification, or the days are the wrong way round (field `until`).
pub async fn enter(doer: &Doer, site_id: Uuid, granted: &Granted, today: NaiveDate) -> Result<()> {
    if granted.until < granted.from {
        return Err(Error::field("until", "The last day comes before the first."));
    }
    let mut tx = doer.pool.begin().await?;
    let land = super::site::hold(&mut tx, site_id).await?.parcel();
    let (person, certification) = licensed::person(&mut tx, doer, today).await?;
    let state = site::find(&mut tx, site_id).await?.ok_or(Error::NotFound)?.state;
    let new = parcel::Exemption {
        id: granted.id,
        parcel_id: land,
        state,
        ingredient: granted.ingredient.clone(),
        valid_from: granted.from,
        valid_until: granted.until,
        reason: granted.reason.clone(),
        document: granted.document.clone(),
        entered_by: person,
        entered_by_name: String::new(),
        entered_at: doer.clock.now(),
        ended_at: None,
        ended_reason: String::new(),
    };
    match parcel::insert_exemption(&mut tx, &new).await {
        Err(e) if broken_constraint(&e) == Some("parcel_exemption_pkey") => return Ok(()), // sent twice
        other => other?,
    }
    let detail = json!({
        "state": new.state, "ingredient": new.ingredient, "from": new.valid_from, "until": new.valid_until,
        "reason": new.reason, "document": new.document, "certification": certification, "site": site_id,
    });
    doer.note(&mut tx, "exemption entered", "parcel", land, detail).await?;
    due::recompute_parcel(&mut tx, doer, land).await?;
    tx.commit().await?;
    Ok(())
}

/// Ends an exemption before its last day, as when it was withdrawn or entered by mistake.
///
/// # Errors
/// When the person holds no current certification, or no such exemption stands on the site's parcel.
pub async fn end(doer: &Doer, site_id: Uuid, id: Uuid, reason: &str, today: NaiveDate) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let land = super::site::hold(&mut tx, site_id).await?.parcel();
    let (person, certification) = licensed::person(&mut tx, doer, today).await?;
    if !parcel::end_exemption(&mut tx, land, id, person, doer.clock.now(), reason).await? {
        return Err(Error::NotFound);
    }
    let detail = json!({ "exemption": id, "reason": reason, "certification": certification });
    doer.note(&mut tx, "exemption ended", "parcel", land, detail).await?;
    due::recompute_parcel(&mut tx, doer, land).await?;
    tx.commit().await?;
    Ok(())
}
