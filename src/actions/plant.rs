//! Entering, changing, measuring and retiring plants.
use super::{Doer, Error, Result, diff, due};
use crate::{
    db::{
        Conn, broken_constraint,
        plant::{self, Plant},
        site, treatment,
    },
    domain::plant::Measure,
};
use serde_json::json;
use uuid::Uuid;

/// Enters a plant; the same form twice makes one.
///
/// # Errors
/// When the site is retired, the use is on no label (field `treatment`), the rate is outside its
/// band (field `planned_rate`), or the id is that of a plant of which something else is entered.
pub async fn create(doer: &Doer, new: &Plant) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if let Some(there) = plant::find(&mut tx, new.id).await? {
        return sent_twice(&there, new);
    }
    super::site::hold(&mut tx, new.site_id).await?;
    must_be_in_use(&mut tx, new.site_id).await?;
    must_suit_the_label(&mut tx, new, None).await?;
    match plant::insert(&mut tx, new, doer.clock.now()).await {
        Err(e) if broken_constraint(&e) == Some("plant_pkey") => {
            drop(tx);
            let there = plant::find(&mut *doer.pool.acquire().await?, new.id).await?;
            return sent_twice(&there.ok_or(Error::NotFound)?, new);
        }
        other => other?,
    }
    let detail = json!({ "site": new.site_id, "measure": new.measure() });
    doer.note(&mut tx, "entered", "plant", new.id, detail).await?;
    due::recompute_site(&mut tx, doer, new.site_id).await?;
    tx.commit().await?;
    Ok(())
}

/// Good when the plant that has the id already is the one of this form.
fn sent_twice(there: &Plant, new: &Plant) -> Result<()> {
    let (retired_at, retired_reason) = (there.retired_at, there.retired_reason.clone());
    let same = Plant { retired_at, retired_reason, ..new.clone() } == *there;
    if same { Ok(()) } else { Err(Error::entered()) }
}

/// Changes a plant from what the form was opened with.
///
/// # Errors
/// When the use is on no label (field `treatment`), the rate is outside its band (field `planned_rate`), or
/// the plant is no longer what was seen.
pub async fn change(doer: &Doer, seen: &Plant, now: &Plant) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = hold(&mut tx, now.id).await?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    let now = Plant {
        site_id: was.site_id,
        retired_at: was.retired_at,
        retired_reason: was.retired_reason.clone(),
        ..now.clone()
    };
    must_suit_the_label(&mut tx, &now, Some(&was)).await?;
    plant::update(&mut tx, &now).await?;
    doer.note(&mut tx, "changed", "plant", now.id, diff::changed(&was, &now)?.into()).await?;
    due::recompute_site(&mut tx, doer, now.site_id).await?;
    tx.commit().await?;
    Ok(())
}

/// Changes what was measured at a plant.
///
/// # Errors
/// When the plant is not there.
pub async fn measure(doer: &Doer, id: Uuid, now: &Measure) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = hold(&mut tx, id).await?;
    plant::set_measure(&mut tx, id, now).await?;
    doer.note(&mut tx, "measured", "plant", id, diff::changed(&was.measure(), now)?.into()).await?;
    due::recompute_site(&mut tx, doer, was.site_id).await?;
    tx.commit().await?;
    Ok(())
}

/// Retires a plant, with the reason.
///
/// # Errors
/// While a booked visit is to treat it.
pub async fn retire(doer: &Doer, id: Uuid, reason: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = hold(&mut tx, id).await?;
    if was.retired_at.is_some() {
        return Ok(());
    }
    if let Some(day) = plant::booked_days(&mut tx, id).await?.first() {
        return Err(Error::refused(format!(
            "It is to be treated on {}. Take it off that visit first.",
            day.format("%b %-d, %Y")
        )));
    }
    plant::set_retired(&mut tx, id, Some(doer.clock.now()), reason).await?;
    doer.note(&mut tx, "retired", "plant", id, json!({ "reason": reason })).await?;
    due::recompute_site(&mut tx, doer, was.site_id).await?;
    tx.commit().await?;
    Ok(())
}

/// Takes a plant back.
///
/// # Errors
/// When its site is retired.
pub async fn take_back(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = hold(&mut tx, id).await?;
    must_be_in_use(&mut tx, was.site_id).await?;
    if was.retired_at.is_some() {
        plant::set_retired(&mut tx, id, None, "").await?;
        doer.note(&mut tx, "taken back", "plant", id, json!({ "reason was": was.retired_reason })).await?;
        due::recompute_site(&mut tx, doer, was.site_id).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Holds the ledger of the land on which the plant stands, then the plant itself.
pub(super) async fn hold(tx: &mut Conn, id: Uuid) -> Result<Plant> {
    let site = plant::find(tx, id).await?.ok_or(Error::NotFound)?.site_id;
    super::site::hold(tx, site).await?;
    plant::lock(tx, id).await?.ok_or(Error::NotFound)
}

async fn must_be_in_use(tx: &mut Conn, id: Uuid) -> Result<()> {
    let site = site::find(tx, id).await?.ok_or(Error::NotFound)?;
    if site.retired_at.is_some() {
        return Err(Error::refused("The site is retired. Bring it back first."));
    }
    Ok(())
}

/// The use must be on the product's label and the rate within its band. What the plant already had
/// may stay, even if a newer label dropped it: the due day then says so.
pub(super) async fn must_suit_the_label(tx: &mut Conn, now: &Plant, was: Option<&Plant>) -> Result<()> {
    let treated = |p: &Plant| (p.product_id, p.use_code.clone(), p.planned_rate);
    if was.is_some_and(|was| treated(was) == treated(now)) {
        return Ok(());
    }
    let (Some(product), Some(code)) = (now.product_id, &now.use_code) else {
        return match now.planned_rate {
            Some(_) => Err(Error::field("planned_rate", "Choose the treatment that this rate belongs to.")),
            None => Ok(()),
        };
    };
    let found = treatment::find(tx, product, code)
        .await?
        .ok_or_else(|| Error::field("treatment", "This use is not on the product's label."))?;
    if found.retired {
        return Err(Error::field("treatment", "This product is retired; choose another one."));
    }
    match now.planned_rate {
        Some(rate) if rate < found.rate_low || rate > found.rate_high => {
            Err(Error::field("planned_rate", format!("The label's band is {}.", found.band_words())))
        }
        _ => Ok(()),
    }
}
