//! A visit as somebody completed it in the field. It is a fact whatever has become of the visit meanwhile:
//! moved, cancelled, recorded by another. Then it is a record too, and flagged.
use super::{
    Applied, Skip, Stop,
    enter::{first_version, measured, write},
};
use crate::{
    actions::{Doer, Error, Result, due, visit::not_there},
    db::{
        Conn, flag, ledger,
        record::{self, Version},
        visit::{self, Visit},
    },
    domain::record::Conditions,
};
use chrono::NaiveDate;
use serde_json::json;
use uuid::Uuid;

/// A visit as it was completed.
pub struct Done {
    /// Of the record.
    pub id: Uuid,
    pub stop: Stop,
    pub applied: Vec<Applied>,
    pub skipped: Vec<Skip>,
    pub conditions: Conditions,
    /// What the phone did not know: code of the rule and words.
    pub flags: Vec<(&'static str, String)>,
}

/// What was made of it.
pub struct Said {
    /// None: nothing was applied.
    pub version: Option<Version>,
    /// Rule and words of every flag that was raised.
    pub flags: Vec<(String, String)>,
}

/// Writes it into the caller's transaction, which holds the ledger of the visit's parcel.
///
/// # Errors
/// When something cannot be read: an amount in a unit that does not fit, a plant of another site.
pub async fn of_phone(
    doer: &Doer,
    tx: &mut Conn,
    today: NaiveDate,
    held: &ledger::Locked,
    visit: &Visit,
    done: &Done,
) -> Result<Said> {
    let planned = visit::doses(tx, visit.id).await?;
    settle(tx, visit, done, &planned).await?;
    let mut said = Said { version: None, flags: vec![] };
    if !done.applied.is_empty() {
        let place = record::place(tx, visit.site_id).await?.ok_or(Error::NotFound)?;
        let mut version =
            first_version(doer, tx, done.id, Some(visit.id), &place, &done.stop, &done.applied).await?;
        version.head.conditions = Some(done.conditions.clone());
        measured(tx, &version.items, &planned).await?;
        write(doer, tx, today, &version, "recorded").await?;
        for (rule, words) in &done.flags {
            flag::raise(tx, done.id, 1, rule, words, doer.clock.now()).await?;
        }
        let raised = flag::of_record(tx, done.id).await?;
        said.flags = raised.into_iter().map(|f| (f.rule, f.words)).collect();
        said.version = Some(version);
    }
    if visit.is_booked() {
        visit::close(tx, visit.id, "done", doer.clock.now()).await?;
        let detail = json!({ "applied": done.applied.len(), "skipped": done.skipped.len() });
        doer.note(tx, "done", "visit", visit.id, detail).await?;
    }
    due::recompute_parcel(tx, doer, held.parcel()).await?;
    Ok(said)
}

/// Of a visit that is still booked every dose was applied or not, and why not. Of another one its doses were
/// settled by whoever closed it.
async fn settle(tx: &mut Conn, visit: &Visit, done: &Done, planned: &[visit::Dose]) -> Result<()> {
    if !visit.is_booked() {
        return Ok(());
    }
    for dose in planned.iter().filter(|d| d.status == "planned") {
        let (plant, item) = (dose.plant_id, dose.label_use_id);
        let applied = done.applied.iter().any(|a| a.plant == Some(plant) && a.label_use == item);
        let skip = done.skipped.iter().find(|s| s.plant == plant && s.label_use == item);
        let (status, reason) = match (applied, skip) {
            (true, _) => ("applied", ""),
            (false, Some(skip)) => ("skipped", skip.reason.as_str()),
            (false, None) => ("skipped", NOTHING_SAID),
        };
        visit::settle_dose(tx, visit.id, plant, item, status, reason).await?;
    }
    Ok(())
}

/// Why a dose counts as skipped of which the phone said nothing.
const NOTHING_SAID: &str = "Nothing was said of it in the field.";

/// Holds the ledger of the visit's parcel and gives the visit as it then stands, booked or not.
pub(in crate::actions) async fn hold(tx: &mut Conn, id: Uuid) -> Result<(ledger::Locked, Visit)> {
    let parcel = visit::find(tx, id).await?.ok_or(Error::NotFound)?.parcel_id;
    let held = ledger::lock(tx, parcel).await.map_err(not_there)?;
    Ok((held, visit::find(tx, id).await?.ok_or(Error::NotFound)?))
}
