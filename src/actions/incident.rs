//! Writing incidents down, and adding to them. What was written stays.
use super::{Doer, Error, Result};
use crate::db::incident::{self, Entry, Incident};
use serde_json::json;

/// Writes an incident down; the same form twice makes one.
///
/// # Errors
/// When it lies in the future (field `on`).
pub async fn enter(doer: &Doer, new: &Incident) -> Result<()> {
    if new.happened_at > doer.clock.now() {
        return Err(Error::field("on", "This has not happened yet."));
    }
    let mut tx = doer.pool.begin().await?;
    let by = doer.person.ok_or(Error::NotFound)?;
    if incident::insert(&mut tx, new, by, doer.clock.now()).await? {
        let detail = json!({ "kind": new.kind, "state": new.state, "happened_at": new.happened_at });
        doer.note(&mut tx, "entered", "incident", new.id, detail).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Adds a report, a correction or what happened since.
///
/// # Errors
/// When it lies in the future, or a report lies before the incident (field `on`).
pub async fn add(doer: &Doer, new: &Entry) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let held = incident::find(&mut tx, new.incident_id).await?.ok_or(Error::NotFound)?;
    if new.at > doer.clock.now() {
        return Err(Error::field("on", "This has not happened yet."));
    }
    if new.kind == "reported" && new.at < held.incident.happened_at {
        return Err(Error::field("on", "This lies before the incident."));
    }
    let by = doer.person.ok_or(Error::NotFound)?;
    if incident::add(&mut tx, new, by).await? {
        let detail = json!({ "kind": new.kind, "at": new.at, "reported_to": new.reported_to });
        doer.note(&mut tx, "added to", "incident", new.incident_id, detail).await?;
    }
    tx.commit().await?;
    Ok(())
}
