//! Whom a customer names to be told before work: proposed on their own page, put on the site's list or set aside by
//! the office. The audit names no words of theirs.
use super::{Doer, Error, Result};
use crate::db::{
    customer, neighbour,
    neighbour_proposal::{self, Proposal},
    site,
};
use serde_json::json;
use uuid::Uuid;

/// So many may wait at a site: whoever has a link can fill no list.
const MOST: usize = 20;

/// Keeps whom the customer names; sent twice it is one.
///
/// # Errors
/// Not found when the site is not theirs; refused when too many wait already (field `name`).
pub async fn propose(doer: &Doer, new: &Proposal) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    customer::lock(&mut tx, new.customer_id).await?.ok_or(Error::NotFound)?;
    let place = site::find(&mut tx, new.site_id).await?.ok_or(Error::NotFound)?;
    if place.customer_id != new.customer_id || place.retired_at.is_some() {
        return Err(Error::NotFound);
    }
    let open = neighbour_proposal::open_of_site(&mut tx, new.site_id).await?;
    if open.len() >= MOST && open.iter().all(|p| p.id != new.id) {
        return Err(Error::field("name", "neighbour-many"));
    }
    if neighbour_proposal::insert(&mut tx, new).await? {
        let detail = json!({ "proposal": new.id, "by": "the customer" });
        doer.note(&mut tx, "neighbour proposed", "site", new.site_id, detail).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Puts a proposal on the site's list as it is, or sets it aside; decided twice is once.
///
/// # Errors
/// When the database does not answer.
pub async fn decide(doer: &Doer, site: Uuid, id: Uuid, take: bool) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let by = doer.person.ok_or(Error::NotFound)?;
    let Some(found) = neighbour_proposal::lock(&mut tx, site, id).await? else { return Ok(()) };
    let now = doer.clock.now();
    let taken = take.then(Uuid::now_v7);
    if let Some(new) = taken {
        neighbour::insert(&mut tx, &found.as_neighbour(new), Some(by), now).await?;
    }
    neighbour_proposal::settle(&mut tx, id, (by, now), taken).await?;
    let deed = if take { "neighbour entered" } else { "neighbour set aside" };
    doer.note(&mut tx, deed, "site", site, json!({ "proposal": id, "neighbour": taken })).await?;
    tx.commit().await?;
    Ok(())
}
