//! What days are planned with: people's hours and vehicles, and the company's terms.
use super::{Doer, Error, Result, diff};
use crate::db::{
    vehicle,
    working::{self, Terms, Working},
};
use uuid::Uuid;

/// Changes a person's working week from what the form was opened with.
///
/// # Errors
/// When the vehicle is retired (field `vehicle`), or the week is no longer what was seen.
pub async fn change(doer: &Doer, person: Uuid, seen: &Working, now: &Working) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    working::lock(&mut tx, person).await?;
    let was = working::of_person(&mut tx, person).await?.ok_or(Error::NotFound)?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    if let Some(id) = now.way.vehicle_id {
        let found = vehicle::lock(&mut tx, id).await?;
        if found.is_none_or(|v| v.retired_at.is_some()) {
            return Err(Error::field("vehicle", "Choose a vehicle that is in use."));
        }
    }
    working::save(&mut tx, person, now).await?;
    let detail = diff::changed(&was, now)?;
    doer.note(&mut tx, "working week changed", "person", person, detail.into()).await?;
    tx.commit().await?;
    Ok(())
}

/// Changes the company's terms from what the form was opened with.
///
/// # Errors
/// When they are no longer what was seen, or nothing is set up yet.
pub async fn change_terms(doer: &Doer, seen: &Terms, now: &Terms) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = working::lock_terms(&mut tx).await?.ok_or(Error::NotFound)?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    working::save_terms(&mut tx, now).await?;
    let detail = diff::changed(&was, now)?;
    doer.note(&mut tx, "planning terms changed", "company", Uuid::nil(), detail.into()).await?;
    tx.commit().await?;
    Ok(())
}
