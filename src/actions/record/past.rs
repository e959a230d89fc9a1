//! Records of long ago, many at once: what the books of before say becomes links of the chain, flagged like any other.
use super::{Applied, Stop, enter::first_version, flags};
use crate::{
    actions::{Doer, Error, Result},
    db::{
        Conn,
        record::{self, Version},
    },
};
use chrono::NaiveDate;
use serde_json::json;
use uuid::Uuid;

/// A record that the books of before hold.
#[derive(Debug, Clone)]
pub struct Past {
    pub id: Uuid,
    pub site: Uuid,
    pub stop: Stop,
    pub applied: Vec<Applied>,
}

/// Enters them, whose parcels the caller holds; how many limits they broke. The chain is held from the first link to
/// the end of the transaction, so everything that can be is worked out before.
///
/// # Errors
/// When something cannot be read.
pub(in crate::actions) async fn enter_many(
    tx: &mut Conn,
    doer: &Doer,
    today: NaiveDate,
    past: &[Past],
) -> Result<usize> {
    let mut versions: Vec<Version> = Vec::with_capacity(past.len());
    for one in past {
        let place = record::place(tx, one.site).await?.ok_or(Error::NotFound)?;
        versions.push(first_version(doer, tx, one.id, None, &place, &one.stop, &one.applied).await?);
    }
    versions.sort_by_key(|version| (version.head.applied_on, version.head.id));
    for version in &versions {
        record::insert(tx, version).await?;
    }
    versions.sort_by_key(|version| version.head.parcel_id);
    let mut broken = 0;
    for land in versions.chunk_by(|one, other| one.head.parcel_id == other.head.parcel_id) {
        for (version, found) in land.iter().zip(flags::raise_all(tx, doer, today, land).await?) {
            let detail = json!({ "version": 1, "flags": found, "from": "the books of before" });
            doer.note(tx, "recorded", "record", version.head.id, detail).await?;
            broken += found;
        }
    }
    Ok(broken)
}

/// Withdraws them by an amendment each, whose parcels the caller holds. One that is withdrawn already stays so.
///
/// # Errors
/// When one is not there.
pub(in crate::actions) async fn withdraw_many(
    tx: &mut Conn,
    doer: &Doer,
    ids: &[Uuid],
    reason: &str,
) -> Result<usize> {
    let mut count = 0;
    for id in ids {
        let mut next = record::newest(tx, *id).await?.ok_or(Error::NotFound)?;
        if next.head.withdrawn {
            continue;
        }
        next.head.version += 1;
        next.head.recorded_by = doer.person.ok_or(Error::NotFound)?;
        next.head.recorded_at = doer.clock.now();
        reason.clone_into(&mut next.head.amend_reason);
        next.head.withdrawn = true;
        record::insert(tx, &next).await?;
        doer.note(tx, "withdrawn", "record", *id, json!({ "version": next.head.version, "flags": 0 }))
            .await?;
        count += 1;
    }
    Ok(count)
}
