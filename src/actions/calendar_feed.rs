//! Making and revoking the address of a technician's calendar.
use super::{Doer, Error, Result, secret};
use crate::db::{calendar_feed, person, working};
use serde_json::json;
use uuid::Uuid;

/// Makes a new address; the one before stops working. Gives the secret, of which only the hash is kept.
///
/// # Errors
/// When the person is not there or has left.
pub async fn make(doer: &Doer, id: Uuid) -> Result<String> {
    let mut tx = doer.pool.begin().await?;
    working::lock(&mut tx, id).await?;
    let found = person::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if found.retired_at.is_some() {
        return Err(Error::refused("Somebody who has left has no calendar; bring them back first."));
    }
    let (fresh, now) = (secret::fresh()?, doer.clock.now());
    calendar_feed::revoke(&mut tx, id, now).await?;
    calendar_feed::insert(&mut tx, id, &secret::hash(&fresh), now).await?;
    doer.note(&mut tx, "calendar address made", "person", id, json!({})).await?;
    tx.commit().await?;
    Ok(fresh)
}

/// Revokes the address; nothing happens where there is none.
///
/// # Errors
/// When the person is not there.
pub async fn revoke(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    person::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if calendar_feed::revoke(&mut tx, id, doer.clock.now()).await? {
        doer.note(&mut tx, "calendar address revoked", "person", id, json!({})).await?;
    }
    tx.commit().await?;
    Ok(())
}
