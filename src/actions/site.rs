//! Entering, changing and retiring sites, and giving them to another customer.
use super::{Doer, Error, Result, diff, due};
use crate::{
    db::{
        Conn, broken_constraint, customer, ledger, parcel,
        site::{self, OpenVisit, Site, Window},
    },
    domain::site::Areas,
};
use serde_json::json;
use uuid::Uuid;

/// The land under a new site.
#[derive(Debug, Clone)]
pub enum Land {
    /// A parcel of its own.
    Own(Areas),
    /// The parcel of this other site.
    SameAs(Uuid),
}

/// A site with its hours (by day and hour) and the areas of its parcel: what one form holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    pub site: Site,
    pub areas: Areas,
    pub windows: Vec<Window>,
}

/// Reads a site's entry.
///
/// # Errors
/// When there is no such site.
pub async fn entry(conn: &mut Conn, id: Uuid) -> Result<Entry> {
    let site = site::find(conn, id).await?.ok_or(Error::NotFound)?;
    let land = parcel::find(conn, site.parcel_id).await?.ok_or(Error::NotFound)?;
    let windows = site::windows(conn, id).await?;
    Ok(Entry { site, areas: land.areas, windows })
}

/// Enters a site and its land; the same form twice makes one.
///
/// # Errors
/// When the customer is retired, the other site on the parcel is not there (field `parcel_street`), or the
/// id is that of a site of which something else is entered.
pub async fn create(doer: &Doer, new: &Site, land: &Land, windows: &[Window]) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if site::find(&mut tx, new.id).await?.is_some() {
        return sent_twice(&mut tx, new, land, windows).await;
    }
    must_be_served(&mut tx, new.customer_id).await?;
    let parcel_id = match land {
        Land::Own(areas) => {
            let id = Uuid::now_v7();
            parcel::insert(&mut tx, id, areas).await?;
            id
        }
        Land::SameAs(other) => site::find(&mut tx, *other)
            .await?
            .map(|s| s.parcel_id)
            .ok_or_else(|| Error::field("parcel_street", "There is no such site."))?,
    };
    let new = Site { parcel_id, ..new.clone() };
    match site::insert(&mut tx, &new, doer.clock.now()).await {
        Err(e) if broken_constraint(&e) == Some("site_pkey") => {
            drop(tx);
            return sent_twice(&mut *doer.pool.acquire().await?, &new, land, windows).await;
        }
        other => other?,
    }
    site::replace_windows(&mut tx, new.id, windows).await?;
    let detail = json!({ "customer": new.customer_id, "parcel": parcel_id });
    doer.note(&mut tx, "entered", "site", new.id, detail).await?;
    due::recompute_site(&mut tx, doer, new.id).await?;
    tx.commit().await?;
    Ok(())
}

/// Good when the site that has the id already is the one of this form.
async fn sent_twice(conn: &mut Conn, new: &Site, land: &Land, windows: &[Window]) -> Result<()> {
    let there = entry(conn, new.id).await?;
    let same_land = match land {
        Land::Own(areas) => *areas == there.areas,
        Land::SameAs(other) => {
            site::find(conn, *other).await?.is_some_and(|s| s.parcel_id == there.site.parcel_id)
        }
    };
    let (parcel_id, retired_at) = (there.site.parcel_id, there.site.retired_at);
    let same = Site { parcel_id, retired_at, ..new.clone() } == there.site;
    if same && same_land && there.windows == windows { Ok(()) } else { Err(Error::entered()) }
}

/// Changes a site, its hours and the areas of its parcel from what the form was opened with.
///
/// # Errors
/// When the area that the annual cap is counted on would become unknown, or the site is no longer what was
/// seen.
pub async fn change(doer: &Doer, seen: &Entry, now: &Entry) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let Entry { site: now, areas, windows } = now;
    hold(&mut tx, now.id).await?;
    let was = site::lock(&mut tx, now.id).await?.ok_or(Error::NotFound)?;
    if entry(&mut tx, now.id).await? != *seen {
        return Err(Error::meanwhile());
    }
    let now = Site {
        customer_id: was.customer_id,
        parcel_id: was.parcel_id,
        retired_at: was.retired_at,
        ..now.clone()
    };
    let land = parcel::find(&mut tx, was.parcel_id).await?.ok_or(Error::NotFound)?;
    site::update(&mut tx, &now).await?;
    site::replace_windows(&mut tx, now.id, windows).await?;
    parcel::update_areas(&mut tx, was.parcel_id, areas).await.map_err(|e| match broken_constraint(&e) {
        Some("parcel_choice_has_area") => Error::field(
            land.cap_area.map_or("lot_sqft", field_of),
            "The annual cap is counted on this area. A licensed person must choose another one first.",
        ),
        _ => e.into(),
    })?;
    let mut detail = diff::changed(&was, &now)?;
    detail.extend(diff::changed(&land.areas, areas)?);
    doer.note(&mut tx, "changed", "site", now.id, detail.into()).await?;
    due::recompute_site(&mut tx, doer, now.id).await?;
    tx.commit().await?;
    Ok(())
}

fn field_of(kind: crate::domain::site::AreaKind) -> &'static str {
    use crate::domain::site::AreaKind as K;
    match kind {
        K::Lot => "lot_sqft",
        K::Landscaped => "landscaped_sqft",
        K::TreatedBed => "treated_bed_sqft",
    }
}

/// Gives the site to another customer. Plants, records and the ledger stay with the land.
///
/// # Errors
/// When the new customer is not there or retired (field `customer`).
pub async fn hand_over(doer: &Doer, id: Uuid, customer: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    must_be_served(&mut tx, customer).await?;
    let was = site::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.customer_id != customer {
        site::set_customer(&mut tx, id, customer).await?;
        let detail = json!({ "customer": [was.customer_id, customer] });
        doer.note(&mut tx, "given to another customer", "site", id, detail).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Retires a site; its plants are wanted no more, its ledger stays.
///
/// # Errors
/// While a visit is booked there.
pub async fn retire(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    hold(&mut tx, id).await?;
    let was = site::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.retired_at.is_some() {
        return Ok(());
    }
    if let Some(refusal) = booked(&site::open_visits(&mut tx, id).await?) {
        return Err(refusal);
    }
    site::set_retired(&mut tx, id, Some(doer.clock.now())).await?;
    doer.note(&mut tx, "retired", "site", id, json!({})).await?;
    due::recompute_site(&mut tx, doer, id).await?;
    tx.commit().await?;
    Ok(())
}

/// Takes a site back.
///
/// # Errors
/// When its customer is retired.
pub async fn take_back(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = site::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    must_be_served(&mut tx, was.customer_id).await?;
    hold(&mut tx, id).await?;
    let was = site::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.retired_at.is_some() {
        site::set_retired(&mut tx, id, None).await?;
        doer.note(&mut tx, "taken back", "site", id, json!({})).await?;
        due::recompute_site(&mut tx, doer, id).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// The refusal to retire what somebody is still to visit, with the way out.
pub(super) fn booked(visits: &[OpenVisit]) -> Option<Error> {
    let next = visits.first()?;
    let others = if visits.len() > 1 { format!(", and {} more", visits.len() - 1) } else { String::new() };
    Some(Error::refused(format!(
        "{} is booked for {} on {}{others}. Record or cancel the visit first.",
        next.technician,
        next.street,
        next.on_date.format("%b %-d, %Y")
    )))
}

/// Holds the ledger of the land under the site. A booking holds it too: nobody books a visit to what
/// is being retired, and rows are always locked in the order customer, land, site, plant.
pub(super) async fn hold(tx: &mut Conn, site: Uuid) -> Result<ledger::Locked> {
    ledger::lock_of_site(tx, site).await.map_err(|e| match e {
        sqlx::Error::RowNotFound => Error::NotFound,
        other => other.into(),
    })
}

/// Locks the customer (before any site, so that two writes cannot wait for each other) and lets
/// nobody's site be given to somebody who is retired.
async fn must_be_served(tx: &mut Conn, customer: Uuid) -> Result<()> {
    let found = customer::lock(tx, customer)
        .await?
        .ok_or_else(|| Error::field("customer", "There is no such customer."))?;
    if found.retired_at.is_some() {
        return Err(Error::field(
            "customer",
            format!("{} is retired. Bring the customer back, or give the site to somebody else.", found.name),
        ));
    }
    Ok(())
}
