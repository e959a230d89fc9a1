//! Where help is in an emergency: what a phone shows without signal.
use super::{Doer, Error, Result};
use crate::db::{
    record,
    sync::{self, Help},
};
use serde_json::json;
use uuid::Uuid;

/// Writes down the company's answer.
///
/// # Errors
/// When the database fails.
pub async fn change(doer: &Doer, help: &Help) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    sync::save_help(&mut tx, help).await?;
    let detail =
        json!({ "poison_center_phone": help.poison_center_phone, "emergency_place": help.emergency_place });
    doer.note(&mut tx, "changed", "company", Uuid::nil(), detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Writes down where help is nearest to the site; empty: where the company says.
///
/// # Errors
/// When there is no such site.
pub async fn change_of_site(doer: &Doer, site: Uuid, place: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    record::place(&mut tx, site).await?.ok_or(Error::NotFound)?;
    sync::save_emergency_place(&mut tx, site, place).await?;
    doer.note(&mut tx, "changed", "site", site, json!({ "emergency_place": place })).await?;
    tx.commit().await?;
    Ok(())
}
