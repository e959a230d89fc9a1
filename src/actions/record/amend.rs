//! A further version of a record: what it should have said, and why. What it said before stays.
use super::{Applied, Stop, enter::write, same::says_the_same, snapshot};
use crate::{
    actions::{Doer, Error, Result, due, visit::not_there},
    db::{
        ledger,
        record::{self, Version},
    },
};
use chrono::NaiveDate;
use uuid::Uuid;

/// What the record should say from now on.
#[derive(Debug, Clone)]
pub struct Amendment {
    /// The version that was on the page.
    pub version: i32,
    pub reason: String,
    /// The new contents; `None` withdraws the record: it was made by mistake and counts nowhere.
    pub contents: Option<(Stop, Vec<Applied>)>,
}

/// Amends or withdraws; how many limits the new version broke.
///
/// # Errors
/// When no reason is given, when somebody else amended meanwhile, or when something cannot be read.
pub async fn amend(doer: &Doer, today: NaiveDate, id: Uuid, amendment: &Amendment) -> Result<usize> {
    if amendment.reason.is_empty() {
        return Err(Error::field("reason", "Say why the record is amended."));
    }
    let mut tx = doer.pool.begin().await?;
    let parcel = record::newest(&mut tx, id).await?.ok_or(Error::NotFound)?.head.parcel_id;
    ledger::lock(&mut tx, parcel).await.map_err(not_there)?;
    // Read again: whoever held the ledger before us may have amended it.
    let was = record::newest(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.head.version != amendment.version {
        return already(doer, &was, amendment);
    }
    let mut next = was.clone();
    next.head.version += 1;
    next.head.recorded_by = doer.person.ok_or(Error::NotFound)?;
    next.head.recorded_at = doer.clock.now();
    next.head.amend_reason.clone_from(&amendment.reason);
    next.head.withdrawn = amendment.contents.is_none();
    if let Some((stop, applied)) = &amendment.contents {
        if stop.on > today {
            return Err(Error::field("on", "This day is still to come; a record says what was done."));
        }
        next.items = snapshot::items(&mut tx, was.head.site_id, stop.on, applied).await?;
        snapshot::fill(&mut tx, &mut next.head, stop).await?;
    }
    if says_the_same(&was, &next) {
        return Err(Error::refused(
            "Nothing is changed: an amendment says something else than the record does.",
        ));
    }
    let deed = if next.head.withdrawn { "withdrawn" } else { "amended" };
    let broken = write(doer, &mut tx, today, &next, deed).await?;
    due::recompute_parcel(&mut tx, doer, parcel).await?;
    tx.commit().await?;
    Ok(broken)
}

/// The page was older than the record: sent twice by the same person, or overtaken by another.
fn already(doer: &Doer, now: &Version, amendment: &Amendment) -> Result<usize> {
    let same = now.head.version == amendment.version + 1
        && Some(now.head.recorded_by) == doer.person
        && now.head.amend_reason == amendment.reason;
    if same {
        return Ok(0);
    }
    Err(Error::refused(format!(
        "The record was amended meanwhile and is at version {} now. Open it again and compare.",
        now.head.version
    )))
}
