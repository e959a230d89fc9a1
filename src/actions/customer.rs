//! Entering, changing and retiring customers.
use super::{Doer, Error, Result, diff};
use crate::db::{
    broken_constraint,
    customer::{self, Customer},
    site,
};
use serde_json::json;
use uuid::Uuid;

/// Enters a customer; the same form twice makes one.
///
/// # Errors
/// When the id is that of a customer of whom something else is entered.
pub async fn create(doer: &Doer, new: &Customer) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    match customer::insert(&mut tx, new, doer.clock.now()).await {
        Err(e) if broken_constraint(&e) == Some("customer_pkey") => {
            drop(tx);
            return sent_twice(doer, new).await;
        }
        other => other?,
    }
    doer.note(&mut tx, "entered", "customer", new.id, json!({})).await?;
    tx.commit().await?;
    Ok(())
}

/// Good when the customer that has the id already is the one of this form.
async fn sent_twice(doer: &Doer, new: &Customer) -> Result<()> {
    let there = customer::find(&mut *doer.pool.acquire().await?, new.id).await?.ok_or(Error::NotFound)?;
    let same = Customer { retired_at: there.retired_at, ..new.clone() } == there;
    if same { Ok(()) } else { Err(Error::entered()) }
}

/// Changes a customer from what the form was opened with. The audit names the fields and not the words in them: it is never
/// erased, and an address of a private person may have to be.
///
/// # Errors
/// When the customer is not there, or is no longer what was seen.
pub async fn change(doer: &Doer, seen: &Customer, now: &Customer) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = customer::lock(&mut tx, now.id).await?.ok_or(Error::NotFound)?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    let now = Customer { retired_at: was.retired_at, ..now.clone() };
    customer::update(&mut tx, &now).await?;
    let fields: Vec<String> = diff::changed(&was, &now)?.into_iter().map(|(name, _)| name).collect();
    doer.note(&mut tx, "changed", "customer", now.id, json!({ "fields": fields })).await?;
    tx.commit().await?;
    Ok(())
}

/// Retires a customer.
///
/// # Errors
/// While a visit is booked or a site is in use: neither may be forgotten.
pub async fn retire(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = customer::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.retired_at.is_some() {
        return Ok(());
    }
    if let Some(refusal) = super::site::booked(&site::open_visits_of_customer(&mut tx, id).await?) {
        return Err(refusal);
    }
    let in_use: Vec<_> =
        site::of_customer(&mut tx, id).await?.into_iter().filter(|s| s.retired_at.is_none()).collect();
    if let Some(first) = in_use.first() {
        return Err(Error::refused(format!(
            "Sites of theirs are in use ({}, such as {}). Retire each or give it to its new customer first.",
            in_use.len(),
            first.street
        )));
    }
    customer::set_retired(&mut tx, id, Some(doer.clock.now())).await?;
    doer.note(&mut tx, "retired", "customer", id, json!({})).await?;
    tx.commit().await?;
    Ok(())
}

/// Takes a customer back.
///
/// # Errors
/// When the customer is not there.
pub async fn take_back(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = customer::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.retired_at.is_some() {
        customer::set_retired(&mut tx, id, None).await?;
        doer.note(&mut tx, "taken back", "customer", id, json!({})).await?;
    }
    tx.commit().await?;
    Ok(())
}
