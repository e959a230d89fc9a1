//! Entering papers and striking them out, and what else the page of papers changes.
use super::{Doer, Error, Result};
use crate::db::{
    company,
    paper::{self, Paper},
};
use rust_decimal::Decimal;
use serde_json::json;
use uuid::Uuid;

/// Enters a paper with those who took part; the same form twice makes one.
///
/// # Errors
/// When another paper has the id, or its last day comes before its first (field `last_day`).
pub async fn enter(doer: &Doer, new: &Paper, people: &[Uuid]) -> Result<()> {
    if new.last_day.is_some_and(|last| last < new.on_day) {
        return Err(Error::field("last_day", "The last day comes before the first."));
    }
    let mut tx = doer.pool.begin().await?;
    if let Some(there) = paper::find(&mut tx, new.id).await? {
        return if there == *new { Ok(()) } else { Err(Error::entered()) };
    }
    let by = doer.person.ok_or(Error::NotFound)?;
    paper::insert(&mut tx, new, people, by, doer.clock.now()).await?;
    let detail = serde_json::to_value(new).map_err(anyhow::Error::from)?;
    doer.note(&mut tx, "entered", "paper", new.id, json!({ "paper": detail, "people": people })).await?;
    tx.commit().await?;
    Ok(())
}

/// Strikes a paper out with the reason; it stays readable.
///
/// # Errors
/// When it is not there or struck out already.
pub async fn strike(doer: &Doer, id: Uuid, reason: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let by = doer.person.ok_or(Error::NotFound)?;
    if !paper::strike(&mut tx, id, by, doer.clock.now(), reason).await? {
        return Err(Error::NotFound);
    }
    doer.note(&mut tx, "struck out", "paper", id, json!({ "reason": reason })).await?;
    tx.commit().await?;
    Ok(())
}

/// Says how many training units a certification's renewal asks for.
///
/// # Errors
/// When there is no such certification.
pub async fn need_units(doer: &Doer, certification: Uuid, needed: Option<Decimal>) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = paper::set_units_needed(&mut tx, certification, needed).await?.ok_or(Error::NotFound)?;
    let detail = json!({ "units_needed": [was, needed] });
    doer.note(&mut tx, "changed", "certification", certification, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Sets how many days before its last day a paper is warned about.
///
/// # Errors
/// When the database does not answer.
pub async fn warn_before(doer: &Doer, days: i32) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    company::find(&mut tx).await?.ok_or(Error::NotFound)?;
    let was = paper::warning_days(&mut tx).await?;
    paper::set_warning_days(&mut tx, days).await?;
    doer.note(&mut tx, "changed", "company", Uuid::nil(), json!({ "paper_warning_days": [was, days] }))
        .await?;
    tx.commit().await?;
    Ok(())
}
