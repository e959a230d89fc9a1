//! The company's cups, syringes and tanks.
use super::{Doer, Error, Result, diff};
use crate::db::{
    broken_constraint,
    kit::{self, Item},
};
use serde_json::json;
use uuid::Uuid;

/// Enters one; the same form twice makes one.
///
/// # Errors
/// When a mark is more than it holds (field `mark`).
pub async fn create(doer: &Doer, new: &Item) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if let Some(there) = kit::find(&mut tx, new.id).await? {
        return if there == *new { Ok(()) } else { Err(Error::entered()) };
    }
    kit::insert(&mut tx, new, doer.clock.now()).await.map_err(refusal)?;
    doer.note(&mut tx, "entered", "kit", new.id, json!({ "name": new.name })).await?;
    tx.commit().await?;
    Ok(())
}

/// Changes one.
///
/// # Errors
/// As [`create`]; not found when it is out of use.
pub async fn change(doer: &Doer, now: &Item) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = kit::find(&mut tx, now.id).await?.ok_or(Error::NotFound)?;
    let now = Item { kind: was.kind.clone(), ..now.clone() };
    kit::update(&mut tx, &now).await.map_err(refusal)?;
    doer.note(&mut tx, "changed", "kit", now.id, diff::changed(&was, &now)?.into()).await?;
    tx.commit().await?;
    Ok(())
}

/// Takes one out of use.
///
/// # Errors
/// When the database does not answer.
pub async fn retire(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if let Some(was) = kit::find(&mut tx, id).await? {
        kit::set_retired(&mut tx, id, Some(doer.clock.now())).await?;
        doer.note(&mut tx, "retired", "kit", id, json!({ "name": was.name })).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Takes one into use again.
///
/// # Errors
/// When the database does not answer.
pub async fn take_back(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    kit::set_retired(&mut tx, id, None).await?;
    doer.note(&mut tx, "taken back", "kit", id, json!({})).await?;
    tx.commit().await?;
    Ok(())
}

fn refusal(error: sqlx::Error) -> Error {
    match broken_constraint(&error) {
        Some("kit_mark_fits") => Error::field("mark", "A mark cannot be more than it holds."),
        _ => error.into(),
    }
}
