//! The key that seals a person's unsent work on a phone.
use super::{Doer, Error, Result};
use crate::db::person;
use serde_json::json;
use uuid::Uuid;

/// The secret of this person's own key; made at its first use.
///
/// # Errors
/// When the database fails or the machine has no randomness to give.
pub async fn own(doer: &Doer) -> Result<Vec<u8>> {
    let id = doer.person.ok_or(Error::NotFound)?;
    let mut conn = doer.pool.acquire().await?;
    person::phone_key(&mut conn, id, &fresh()?).await?.ok_or(Error::NotFound)
}

/// The secret of somebody else's, for the owner who opens what they left on a phone; it is written down.
///
/// # Errors
/// When there is no such person.
pub async fn lend(doer: &Doer, id: Uuid) -> Result<Vec<u8>> {
    let mut tx = doer.pool.begin().await?;
    let secret = person::phone_key(&mut tx, id, &fresh()?).await?.ok_or(Error::NotFound)?;
    doer.note(&mut tx, "opened unsent work", "person", id, json!({})).await?;
    tx.commit().await?;
    Ok(secret)
}

fn fresh() -> Result<[u8; 32]> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).map_err(|e| anyhow::anyhow!("no randomness: {e}"))?;
    Ok(bytes)
}
