//! The first version of a record: of a booked visit, or of work that nobody booked.
use super::{Applied, Stop, flags, same::same_form, snapshot};
use crate::{
    actions::{
        Doer, Error, Result, due,
        visit::{hold, not_there},
    },
    db::{
        Conn, ledger,
        record::{self, Head, Item, Place, Version},
        visit,
    },
};
use chrono::NaiveDate;
use serde_json::json;
use uuid::Uuid;

/// A planned dose that was not applied, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Skip {
    pub plant: Uuid,
    pub label_use: Uuid,
    pub reason: String,
}

/// Records work that was not booked, our own or another company's; how many limits it broke.
///
/// # Errors
/// When something cannot be read (a day to come, no amount, a unit that does not fit).
pub async fn enter(
    doer: &Doer,
    today: NaiveDate,
    id: Uuid,
    site: Uuid,
    stop: &Stop,
    applied: &[Applied],
) -> Result<usize> {
    not_ahead(stop.on, today)?;
    let mut tx = doer.pool.begin().await?;
    let held = ledger::lock_of_site(&mut tx, site).await.map_err(not_there)?;
    let place = record::place(&mut tx, site).await?.ok_or(Error::NotFound)?;
    let version = first_version(doer, &mut tx, id, None, &place, stop, applied).await?;
    if let Some(known) = first_of(&mut tx, id).await? {
        return sent_twice(&known, &version);
    }
    let broken = write(doer, &mut tx, today, &version, "recorded").await?;
    due::recompute_parcel(&mut tx, doer, held.parcel()).await?;
    tx.commit().await?;
    Ok(broken)
}

/// Records what a booked visit came to and closes it. Where nothing was applied there is no record, only
/// a closed visit that says why. How many limits the record broke.
///
/// # Errors
/// As [`enter`]; refused when the visit is not booked any more.
pub async fn of_visit(
    doer: &Doer,
    today: NaiveDate,
    id: Uuid,
    visit_id: Uuid,
    stop: &Stop,
    applied: &[Applied],
    skipped: &[Skip],
) -> Result<usize> {
    not_ahead(stop.on, today)?;
    let mut tx = doer.pool.begin().await?;
    let (held, booked) = match hold(&mut tx, visit_id).await {
        // A phone that sends twice must not be told that it came too late.
        Err(Error::Refused { words, .. }) => {
            return done_before(doer, &mut tx, id, visit_id, stop, applied, skipped, words).await;
        }
        other => other?,
    };
    if first_of(&mut tx, id).await?.is_some() {
        return Err(used());
    }
    let planned = settle(&mut tx, &booked, applied, skipped).await?;
    let mut broken = 0;
    if !applied.is_empty() {
        let place = record::place(&mut tx, booked.site_id).await?.ok_or(Error::NotFound)?;
        let version = first_version(doer, &mut tx, id, Some(visit_id), &place, stop, applied).await?;
        measured(&mut tx, &version.items, &planned).await?;
        broken = write(doer, &mut tx, today, &version, "recorded").await?;
    }
    visit::close(&mut tx, visit_id, "done", doer.clock.now()).await?;
    let detail = json!({ "applied": applied.len(), "skipped": skipped.len() });
    doer.note(&mut tx, "done", "visit", visit_id, detail).await?;
    due::recompute_parcel(&mut tx, doer, held.parcel()).await?;
    tx.commit().await?;
    Ok(broken)
}

pub(super) async fn first_of(tx: &mut Conn, id: Uuid) -> Result<Option<Version>> {
    Ok(record::versions(tx, id).await?.into_iter().next().map(|(version, _)| version))
}

/// The form of a record that is there already: the same contents lead to it, others are refused.
fn sent_twice(known: &Version, sent: &Version) -> Result<usize> {
    if same_form(known, sent) {
        return Ok(0);
    }
    let other = known.head.site_id != sent.head.site_id || known.head.visit_id != sent.head.visit_id;
    if other {
        return Err(used());
    }
    Err(Error::field("id", "This is already recorded, with other contents; amend it instead."))
}

fn used() -> Error {
    Error::field("id", "This form was used already; open it anew.")
}

/// The visit is not booked any more: was it this very form that closed it?
#[expect(clippy::too_many_arguments, reason = "the whole form, and the words if it was another")]
async fn done_before(
    doer: &Doer,
    tx: &mut Conn,
    id: Uuid,
    visit_id: Uuid,
    stop: &Stop,
    applied: &[Applied],
    skipped: &[Skip],
    words: String,
) -> Result<usize> {
    let doses = visit::doses(tx, visit_id).await?;
    let same_skips = doses.iter().filter(|d| d.status == "skipped").count() == skipped.len()
        && skipped.iter().all(|s| doses.iter().any(|d| d.plant_id == s.plant && d.skip_reason == s.reason));
    let Some(known) = first_of(tx, id).await? else {
        let visit = visit::find(tx, visit_id).await?.ok_or(Error::NotFound)?;
        let same = visit.status == "done" && applied.is_empty() && same_skips;
        return if same { Ok(0) } else { Err(Error::refused(words)) };
    };
    if known.head.visit_id != Some(visit_id) {
        return Err(used());
    }
    if applied.is_empty() || !same_skips {
        return Err(Error::field("id", "This is already recorded, with other contents; amend it instead."));
    }
    let place = record::place(tx, known.head.site_id).await?.ok_or(Error::NotFound)?;
    let sent = first_version(doer, tx, id, Some(visit_id), &place, stop, applied).await?;
    sent_twice(&known, &sent)
}

fn not_ahead(on: NaiveDate, today: NaiveDate) -> Result<()> {
    if on > today {
        return Err(Error::field("on", "This day is still to come; a record says what was done."));
    }
    Ok(())
}

/// Every planned dose was either applied or skipped with a reason; the doses as they were planned.
async fn settle(
    tx: &mut Conn,
    booked: &visit::Visit,
    applied: &[Applied],
    skipped: &[Skip],
) -> Result<Vec<visit::Dose>> {
    let doses = visit::doses(tx, booked.id).await?;
    for dose in doses.iter().filter(|d| d.status == "planned") {
        let (plant, item) = (dose.plant_id, dose.label_use_id);
        let skip = skipped.iter().find(|s| s.plant == plant && s.label_use == item);
        let done = applied.iter().any(|a| a.plant == Some(plant) && a.label_use == item);
        let (status, reason) = match (done, skip) {
            (true, _) => ("applied", ""),
            (false, Some(skip)) if !skip.reason.is_empty() => ("skipped", skip.reason.as_str()),
            _ => {
                return Err(Error::refused(format!(
                    "Say of {} whether it was done, or why not.",
                    dose.place
                )));
            }
        };
        visit::settle_dose(tx, booked.id, plant, item, status, reason).await?;
    }
    Ok(doses)
}

/// What was measured otherwise than planned is the plant's measure from now on. Where nothing changed the
/// plant keeps what it has: a tree of several stems is more than its one figure.
pub(super) async fn measured(tx: &mut Conn, items: &[Item], planned: &[visit::Dose]) -> Result<()> {
    for item in items {
        let dose = planned.iter().find(|d| Some(d.plant_id) == item.plant_id);
        if let (Some(dose), Some(measure)) = (dose, item.measure)
            && measure != dose.measure
        {
            record::set_measure(tx, dose.plant_id, &item.measure_basis, measure).await?;
        }
    }
    Ok(())
}

pub(super) async fn first_version(
    doer: &Doer,
    tx: &mut Conn,
    id: Uuid,
    visit_id: Option<Uuid>,
    place: &Place,
    stop: &Stop,
    applied: &[Applied],
) -> Result<Version> {
    let items = snapshot::items(tx, place.site_id, stop.on, applied).await?;
    let mut head = blank(doer, id, visit_id, place, stop.on)?;
    snapshot::fill(tx, &mut head, stop).await?;
    Ok(Version { head, items })
}

fn blank(doer: &Doer, id: Uuid, visit_id: Option<Uuid>, place: &Place, on: NaiveDate) -> Result<Head> {
    Ok(Head {
        id,
        version: 1,
        visit_id,
        site_id: place.site_id,
        parcel_id: place.parcel_id,
        origin: String::new(),
        withdrawn: false,
        applied_on: on,
        started_at: None,
        finished_at: None,
        customer_name: place.customer_name.clone(),
        customer_address: place.customer_address.clone(),
        site_address: place.site_address.clone(),
        site_state: place.state.clone(),
        site_county: place.county.clone(),
        applicator_id: None,
        applicator_name: String::new(),
        applicator_certification: String::new(),
        supervisor_id: None,
        supervisor_name: String::new(),
        supervisor_certification: String::new(),
        wind_direction: String::new(),
        wind_mph: None,
        temperature_f: None,
        area_treated_sqft: None,
        note: String::new(),
        recorded_by: doer.person.ok_or(Error::NotFound)?,
        recorded_at: doer.clock.now(),
        amend_reason: String::new(),
        conditions: None,
    })
}

/// Adds the version to the chain and flags what it broke; how many limits.
pub(super) async fn write(
    doer: &Doer,
    tx: &mut Conn,
    today: NaiveDate,
    version: &Version,
    deed: &str,
) -> Result<usize> {
    record::insert(tx, version).await?;
    let broken = flags::raise(tx, doer, today, version).await?;
    let detail = json!({ "version": version.head.version, "flags": broken });
    doer.note(tx, deed, "record", version.head.id, detail).await?;
    Ok(broken)
}
