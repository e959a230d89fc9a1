//! Entering, changing and ending agreements on prices.
use super::{Doer, Error, Result, diff};
use crate::{
    db::{
        Conn,
        agreement::{self, Agreement},
        broken_constraint, plant, site,
    },
    domain::{agreement::PriceBasis, calendar::sub_days},
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde_json::json;
use uuid::Uuid;

/// Enters an agreement; the same form twice makes one. One from year to year that began earlier ends the day
/// before it: a new price takes the place of the old one.
///
/// # Errors
/// When the site is retired, the plant is not of the site, or another agreement holds in its days.
pub async fn enter(doer: &Doer, new: &Agreement) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    enter_in(&mut tx, doer, new).await?;
    tx.commit().await?;
    Ok(())
}

/// The same within a transaction.
pub(super) async fn enter_in(tx: &mut Conn, doer: &Doer, new: &Agreement) -> Result<()> {
    in_order(new)?;
    // The site's lock keeps two prices from being entered at once.
    let held = site::lock(tx, new.site_id).await?.ok_or(Error::NotFound)?;
    if let Some(there) = agreement::find(tx, new.id).await? {
        return if there == *new { Ok(()) } else { Err(Error::entered()) };
    }
    if held.retired_at.is_some() {
        return Err(Error::refused("This site is retired. Bring it back first."));
    }
    if let Some(id) = new.plant_id {
        let plant = plant::find(tx, id).await?.filter(|p| p.site_id == new.site_id);
        if plant.is_none_or(|p| p.retired_at.is_some()) {
            return Err(Error::field("plant", "This plant is not in use on the site."));
        }
    }
    make_room(tx, doer, new).await?;
    let by = doer.person.ok_or(Error::NotFound)?;
    agreement::insert(tx, new, by, doer.clock.now()).await.map_err(refusal)?;
    let detail = json!({
        "site": new.site_id, "plant": new.plant_id, "basis": new.basis, "price": new.price,
        "starts_on": new.starts_on, "ends_on": new.ends_on,
    });
    doer.note(tx, "entered", "agreement", new.id, detail).await
}

/// Ends what is open for a plant, or for the site, the day before another price holds.
pub(super) async fn end_open(
    tx: &mut Conn,
    doer: &Doer,
    site_id: Uuid,
    plant_id: Option<Uuid>,
    starts_on: NaiveDate,
) -> Result<()> {
    let from_then = Agreement {
        id: Uuid::nil(),
        site_id,
        plant_id,
        basis: PriceBasis::Visit,
        price: Decimal::ZERO,
        starts_on,
        ends_on: None,
        ended_reason: String::new(),
        note: String::new(),
    };
    make_room(tx, doer, &from_then).await
}

/// Ends the open agreement that began earlier; refuses beside any other that holds in the same days.
async fn make_room(tx: &mut Conn, doer: &Doer, new: &Agreement) -> Result<()> {
    for other in agreement::overlapping(tx, new).await? {
        if other.ends_on.is_some() || other.starts_on >= new.starts_on {
            return Err(beside(&other));
        }
        let reason = format!("Another price holds from {}", new.starts_on);
        let now =
            Agreement { ends_on: Some(sub_days(new.starts_on, 1)), ended_reason: reason, ..other.clone() };
        agreement::update(tx, &now).await?;
        doer.note(tx, "ended", "agreement", now.id, diff::changed(&other, &now)?.into()).await?;
    }
    Ok(())
}

/// Changes an agreement that was written down wrong, from what the form was opened with.
///
/// # Errors
/// When it is not there, is no longer what was seen, or would hold beside another one.
pub async fn change(doer: &Doer, seen: &Agreement, now: &Agreement) -> Result<()> {
    in_order(now)?;
    let mut tx = doer.pool.begin().await?;
    site::lock(&mut tx, seen.site_id).await?.ok_or(Error::NotFound)?;
    let was = agreement::lock(&mut tx, seen.id).await?.ok_or(Error::NotFound)?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    if let Some(other) = agreement::overlapping(&mut tx, now).await?.first() {
        return Err(beside(other));
    }
    agreement::update(&mut tx, now).await.map_err(refusal)?;
    doer.note(&mut tx, "changed", "agreement", now.id, diff::changed(&was, now)?.into()).await?;
    tx.commit().await?;
    Ok(())
}

/// Ends an agreement with its last day and why.
///
/// # Errors
/// When it is not there, or would end before it begins (field `ends_on`).
pub async fn end(doer: &Doer, id: Uuid, on: NaiveDate, reason: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = agreement::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    let now = Agreement { ends_on: Some(on), ended_reason: reason.to_owned(), ..was.clone() };
    in_order(&now)?;
    if was.ends_on.is_some_and(|end| end < on) {
        return Err(Error::field("ends_on", "It has ended already. Change it if that is wrong."));
    }
    agreement::update(&mut tx, &now).await.map_err(refusal)?;
    doer.note(&mut tx, "ended", "agreement", id, diff::changed(&was, &now)?.into()).await?;
    tx.commit().await?;
    Ok(())
}

fn in_order(a: &Agreement) -> Result<()> {
    match a.ends_on {
        Some(end) if end < a.starts_on => {
            Err(Error::field("ends_on", "The last day comes before the first."))
        }
        _ => Ok(()),
    }
}

fn beside(other: &Agreement) -> Error {
    let until = other.ends_on.map_or_else(String::new, |end| format!(" until {end}"));
    Error::field(
        "starts_on",
        format!(
            "Another agreement for the same holds from {}{until}. Change that one, or choose days outside of it.",
            other.starts_on
        ),
    )
}

fn refusal(error: sqlx::Error) -> Error {
    match broken_constraint(&error) {
        Some("agreement_one_open") => {
            Error::field("starts_on", "Another agreement for the same is open. Look at the list again.")
        }
        _ => error.into(),
    }
}
