//! What a licensed person answers about the land.
use super::{Doer, Error, Result, due, licensed};
use crate::{
    db::{broken_constraint, parcel},
    domain::{due::Allocation, site::AreaKind},
};
use chrono::NaiveDate;
use serde_json::json;
use uuid::Uuid;

/// Chooses the area that annual caps are counted on, for the site's whole parcel.
///
/// # Errors
/// When the person holds no current certification, or that area is not known (field `cap_area`).
pub async fn choose_cap_area(
    doer: &Doer,
    site: Uuid,
    kind: AreaKind,
    reason: &str,
    today: NaiveDate,
) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let land = super::site::hold(&mut tx, site).await?.parcel();
    let (person, certification) = licensed::person(&mut tx, doer, today).await?;
    let was = parcel::find(&mut tx, land).await?.ok_or(Error::NotFound)?;
    let now = doer.clock.now();
    parcel::choose_area(&mut tx, was.id, kind, person, now, reason).await.map_err(
        |e| match broken_constraint(&e) {
            Some("parcel_choice_has_area") => {
                Error::field("cap_area", "This area is not known yet. Enter it at the site first.")
            }
            _ => e.into(),
        },
    )?;
    let detail = json!({
        "cap_area": [was.cap_area.map(AreaKind::code), kind.code()],
        "sqft": was.areas.get(kind), "reason": reason, "certification": certification, "site": site,
    });
    doer.note(&mut tx, "cap area chosen", "parcel", was.id, detail).await?;
    due::recompute_parcel(&mut tx, doer, land).await?;
    tx.commit().await?;
    Ok(())
}

/// Chooses how the plants of the site's parcel share what a cap leaves; the office and certified people do.
///
/// # Errors
/// When somebody else asks.
pub async fn choose_sharing(
    doer: &Doer,
    site: Uuid,
    sharing: Allocation,
    office: bool,
    today: NaiveDate,
) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let land = super::site::hold(&mut tx, site).await?.parcel();
    let person = match doer.person {
        Some(person) if office => person,
        _ => licensed::person(&mut tx, doer, today).await?.0,
    };
    let was = parcel::find(&mut tx, land).await?.ok_or(Error::NotFound)?;
    parcel::choose_sharing(&mut tx, land, sharing, person, doer.clock.now()).await?;
    let detail = json!({ "sharing": [was.sharing.code(), sharing.code()], "site": site });
    doer.note(&mut tx, "sharing chosen", "parcel", land, detail).await?;
    due::recompute_parcel(&mut tx, doer, land).await?;
    tx.commit().await?;
    Ok(())
}

/// Answers from which day on every application on the site's land is known.
///
/// # Errors
/// When the person holds no current certification, or the day is still to come (field `known_from`).
pub async fn answer_earlier_use(
    doer: &Doer,
    site: Uuid,
    known_from: NaiveDate,
    reason: &str,
    today: NaiveDate,
) -> Result<()> {
    if known_from > today {
        return Err(Error::field("known_from", "This day is still to come."));
    }
    let mut tx = doer.pool.begin().await?;
    let land = super::site::hold(&mut tx, site).await?.parcel();
    let (person, certification) = licensed::person(&mut tx, doer, today).await?;
    let was = parcel::find(&mut tx, land).await?.ok_or(Error::NotFound)?;
    parcel::answer_history(&mut tx, was.id, known_from, person).await?;
    let detail = json!({
        "known_from": [was.history_known_from, known_from],
        "reason": reason, "certification": certification, "site": site,
    });
    doer.note(&mut tx, "earlier use answered", "parcel", was.id, detail).await?;
    due::recompute_parcel(&mut tx, doer, land).await?;
    tx.commit().await?;
    Ok(())
}
