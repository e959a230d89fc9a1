//! Entering, changing and retiring vehicles.
use super::{Doer, Error, Result, diff};
use crate::db::{
    broken_constraint,
    vehicle::{self, Vehicle},
};
use serde_json::json;
use uuid::Uuid;

fn taken(e: sqlx::Error) -> Error {
    match broken_constraint(&e) {
        Some("vehicle_name_once") => Error::field("name", "Another vehicle has this name already."),
        Some("vehicle_pkey") => Error::entered(),
        _ => e.into(),
    }
}

/// Enters a vehicle; the same form twice makes one.
///
/// # Errors
/// When the name is taken (field `name`), or the id is that of a vehicle that says something else.
pub async fn enter(doer: &Doer, new: &Vehicle) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if let Some(there) = vehicle::find(&mut tx, new.id).await? {
        return if there == *new { Ok(()) } else { Err(Error::entered()) };
    }
    vehicle::insert(&mut tx, new).await.map_err(taken)?;
    let detail = json!({ "name": new.name, "tank_gal": new.tank_gal });
    doer.note(&mut tx, "entered", "vehicle", new.id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Changes name and tank from what the form was opened with.
///
/// # Errors
/// When the name is taken (field `name`), or it is no longer what was seen.
pub async fn change(doer: &Doer, seen: &Vehicle, now: &Vehicle) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = vehicle::lock(&mut tx, now.id).await?.ok_or(Error::NotFound)?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    let now = Vehicle { retired_at: was.retired_at, ..now.clone() };
    vehicle::update(&mut tx, &now).await.map_err(taken)?;
    let detail = diff::changed(&was, &now)?;
    doer.note(&mut tx, "changed", "vehicle", now.id, detail.into()).await?;
    tx.commit().await?;
    Ok(())
}

/// Retires a vehicle, and nobody drives it any more, or takes it back.
///
/// # Errors
/// When there is none.
pub async fn set_retired(doer: &Doer, id: Uuid, retired: bool) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = vehicle::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.retired_at.is_some() == retired {
        return Ok(());
    }
    vehicle::update(&mut tx, &Vehicle { retired_at: retired.then(|| doer.clock.now()), ..was }).await?;
    let drivers = if retired { vehicle::take_from_all(&mut tx, id).await? } else { 0 };
    let deed = if retired { "retired" } else { "taken back" };
    doer.note(&mut tx, deed, "vehicle", id, json!({ "drivers": drivers })).await?;
    tx.commit().await?;
    Ok(())
}
