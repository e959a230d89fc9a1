//! Writing down looks at plants, and striking wrong ones out.
use super::{Doer, Error, Result};
use crate::db::look::{self, PlantLook};
use serde_json::json;
use uuid::Uuid;

/// Writes a look down; the same form twice makes one.
///
/// # Errors
/// When its day is still to come (field `on`), or something else is entered under its id.
pub async fn enter(doer: &Doer, new: &PlantLook) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if new.on_date > doer.today(&mut tx).await? {
        return Err(Error::field("on", "This day is still to come."));
    }
    let by = doer.person.ok_or(Error::NotFound)?;
    if !look::insert(&mut tx, new, by, doer.clock.now()).await? {
        let there = look::find(&mut tx, new.id).await?;
        return if there.as_ref() == Some(new) { Ok(()) } else { Err(Error::entered()) };
    }
    let detail = json!({ "pest": new.pest, "seen": new.seen, "on": new.on_date });
    doer.note(&mut tx, "inspected", "plant", new.plant_id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Strikes a look out with the reason.
///
/// # Errors
/// When it is not there or struck out already.
pub async fn strike(doer: &Doer, id: Uuid, reason: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let held = look::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    let by = doer.person.ok_or(Error::NotFound)?;
    if !look::strike(&mut tx, id, by, doer.clock.now(), reason).await? {
        return Err(Error::NotFound);
    }
    let detail = json!({ "look": id, "reason": reason });
    doer.note(&mut tx, "look struck out", "plant", held.plant_id, detail).await?;
    tx.commit().await?;
    Ok(())
}
