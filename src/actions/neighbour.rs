//! The list of neighbours of a site. The audit names the fields and not the words in them: it is never erased,
//! and a neighbour's address may have to be.
use super::{Doer, Error, Result, diff};
use crate::db::{
    broken_constraint,
    neighbour::{self, Neighbour},
    site,
};
use serde_json::json;

/// Puts somebody on the list; the same form twice makes one.
///
/// # Errors
/// When there is no such site, or the id is that of somebody of whom something else is entered.
pub async fn create(doer: &Doer, new: &Neighbour) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    site::find(&mut tx, new.site_id).await?.ok_or(Error::NotFound)?;
    match neighbour::insert(&mut tx, new, doer.person, doer.clock.now()).await {
        Err(e) if broken_constraint(&e) == Some("site_neighbour_pkey") => {
            drop(tx);
            let there = neighbour::find(&mut *doer.pool.acquire().await?, new.site_id, new.id).await?;
            return if there.as_ref() == Some(new) { Ok(()) } else { Err(Error::entered()) };
        }
        other => other?,
    }
    doer.note(&mut tx, "neighbour entered", "site", new.site_id, json!({ "neighbour": new.id })).await?;
    tx.commit().await?;
    Ok(())
}

/// Changes what is written about somebody on the list.
///
/// # Errors
/// When they are not on it, or are no longer what was seen.
pub async fn change(doer: &Doer, seen: &Neighbour, now: &Neighbour) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = neighbour::find(&mut tx, now.site_id, now.id).await?.ok_or(Error::NotFound)?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    neighbour::update(&mut tx, now).await?;
    let fields: Vec<String> = diff::changed(&was, now)?.into_iter().map(|(name, _)| name).collect();
    let detail = json!({ "neighbour": now.id, "fields": fields });
    doer.note(&mut tx, "neighbour changed", "site", now.site_id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Takes somebody off the list; twice is once.
///
/// # Errors
/// When the database does not answer.
pub async fn remove(doer: &Doer, site: uuid::Uuid, id: uuid::Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if neighbour::remove(&mut tx, site, id, doer.clock.now()).await? {
        doer.note(&mut tx, "neighbour taken off", "site", site, json!({ "neighbour": id })).await?;
        tx.commit().await?;
    }
    Ok(())
}
