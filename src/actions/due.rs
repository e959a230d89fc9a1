//! Keeping the due days true: a write recomputes its parcel in its own transaction, and as the days
//! go by every parcel is computed again. What is kept can always be computed anew, and must then be equal.
mod every;

pub use every::{Compared, compare, compute_all, differences};

use super::{Doer, Error, Result};
use crate::{
    db::{self, Conn, due, fact, ledger},
    domain::{
        due::{Due, outlook},
        facts::Facts,
    },
};
use chrono::NaiveDate;
use std::collections::HashMap;
use uuid::Uuid;

/// A state and something that the company can show there.
pub type Held = (String, String);

/// Parcels that one transaction of the refresh takes: few, so that people wait for none of them long
/// and an end of the program loses little.
const BATCH: i64 = 20;

/// Computes the due days of a parcel's plants and keeps them.
///
/// # Errors
/// When the facts do not fit together, which no write of ours leaves behind.
pub async fn recompute_parcel(tx: &mut Conn, doer: &Doer, parcel: Uuid) -> Result<()> {
    ledger::lock(tx, parcel).await?;
    db::plan_statements_once(tx, true).await?;
    recompute_held(tx, doer, &[parcel]).await?;
    Ok(db::plan_statements_once(tx, false).await?)
}

/// The same for parcels that this transaction holds already.
pub(super) async fn recompute_held(tx: &mut Conn, doer: &Doer, parcels: &[Uuid]) -> Result<()> {
    let today = doer.today(tx).await?;
    let answers: Vec<due::Kept> =
        computed(tx, parcels, today).await?.into_iter().flat_map(|(_, answers)| answers).collect();
    Ok(due::replace(tx, parcels, &answers).await?)
}

/// Computes the due days of the parcel on which a site lies.
///
/// # Errors
/// As [`recompute_parcel`]; not found when there is no such site.
pub async fn recompute_site(tx: &mut Conn, doer: &Doer, site: Uuid) -> Result<()> {
    let locked = ledger::lock_of_site(tx, site).await.map_err(|e| match e {
        sqlx::Error::RowNotFound => Error::NotFound,
        other => other.into(),
    })?;
    recompute_parcel(tx, doer, locked.parcel()).await
}

/// Computes every parcel on which the product is used, as after a signature.
///
/// # Errors
/// As [`recompute_parcel`].
pub async fn recompute_product(tx: &mut Conn, doer: &Doer, product: Uuid) -> Result<()> {
    for parcel in due::parcels_with_product(tx, product).await? {
        recompute_parcel(tx, doer, parcel).await?;
    }
    Ok(())
}

/// After people's certifications or courses changed: computes the parcels of every state in which the company
/// can show something now that it could not before, or the other way round.
///
/// # Errors
/// As [`recompute_parcel`].
pub async fn company_changed(tx: &mut Conn, doer: &Doer, before: &[Held]) -> Result<()> {
    let after = company_holds(tx, doer).await?;
    let differs = |one: &&Held| before.contains(one) != after.contains(one);
    let changed: Vec<String> =
        before.iter().chain(&after).filter(differs).map(|(state, _)| state.clone()).collect();
    recompute_states(tx, doer, &changed).await
}

/// Computes every parcel in these states, as after an answer about a rule of theirs.
///
/// # Errors
/// As [`recompute_parcel`].
pub async fn recompute_states(tx: &mut Conn, doer: &Doer, states: &[String]) -> Result<()> {
    for parcel in due::parcels_in_states(tx, states).await? {
        recompute_parcel(tx, doer, parcel).await?;
    }
    Ok(())
}

/// What the company can show today, by state.
///
/// # Errors
/// When the database does not answer.
pub async fn company_holds(tx: &mut Conn, doer: &Doer) -> Result<Vec<Held>> {
    let today = doer.today(tx).await?;
    Ok(fact::company_holds(tx, today).await?)
}

/// Computes again what was computed for another day than today; how many parcels. Several workers
/// may do so at once: each takes what no other holds and nobody does what another has done. What was
/// committed stays done when a worker ends half way.
///
/// # Errors
/// As [`recompute_parcel`].
pub async fn refresh(doer: &Doer) -> Result<usize> {
    let (mut after, mut done) = (None, 0);
    loop {
        let mut tx = doer.pool.begin().await?;
        let today = doer.today(&mut tx).await?;
        if after.is_none() && !due::any_stale(&mut tx, today).await? {
            return Ok(done);
        }
        let (last, stale) = due::take_stale(&mut tx, today, after, BATCH).await?;
        recompute_held(&mut tx, doer, &stale).await?;
        tx.commit().await?;
        done += stale.len();
        if last.is_none() && after.is_none() {
            // What is still from another day is in other workers' hands.
            return Ok(done);
        }
        after = last;
    }
}

/// Computes every parcel, whatever is kept; how many.
///
/// # Errors
/// As [`recompute_parcel`].
pub async fn recompute_all(doer: &Doer) -> Result<usize> {
    let (mut after, mut done) = (None, 0);
    loop {
        let mut tx = doer.pool.begin().await?;
        let parcels = due::parcels_after(&mut tx, after, BATCH).await?;
        for parcel in &parcels {
            ledger::lock(&mut tx, *parcel).await?;
        }
        recompute_held(&mut tx, doer, &parcels).await?;
        tx.commit().await?;
        let Some(last) = parcels.last() else { return Ok(done) };
        after = Some(*last);
        done += parcels.len();
    }
}

async fn computed(
    conn: &mut Conn,
    parcels: &[Uuid],
    today: NaiveDate,
) -> Result<Vec<(Uuid, Vec<due::Kept>)>> {
    let sites: HashMap<Uuid, Uuid> = due::sites_of_plants(conn, parcels).await?.into_iter().collect();
    let facts = fact::of_parcels(conn, parcels, today).await?;
    facts.iter().map(|(parcel, facts)| Ok((*parcel, answers(*parcel, facts, &sites)?))).collect()
}

/// The answers for the plants of a parcel, as they are kept.
fn answers(parcel: Uuid, facts: &Facts, sites: &HashMap<Uuid, Uuid>) -> Result<Vec<due::Kept>> {
    let outlook = outlook(facts).map_err(|errors| {
        let words: Vec<String> = errors.iter().map(ToString::to_string).collect();
        anyhow::anyhow!("facts of parcel {parcel} do not fit together: {}", words.join("; "))
    })?;
    outlook.due.into_iter().map(|one| kept(one, sites, facts.today)).collect()
}

fn kept(one: Due, sites: &HashMap<Uuid, Uuid>, today: NaiveDate) -> Result<due::Kept> {
    let plant_id: Uuid = one.plant.parse().map_err(anyhow::Error::from)?;
    Ok(due::Kept {
        plant_id,
        site_id: *sites.get(&plant_id).ok_or(Error::NotFound)?,
        computed_for: today,
        protected_until: one.protected_until,
        wanted_on: one.wanted_on,
        allowed_on: one.allowed_on,
        due_on: one.due_on,
        gap_days: one.gap_days.map(|days| i32::try_from(days).unwrap_or(i32::MAX)),
        held_by: one.held_by.iter().map(|rule| rule.code().to_owned()).collect(),
        why: one.why,
    })
}
