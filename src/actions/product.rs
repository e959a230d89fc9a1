//! Entering products, changing and retiring them, and their registrations by state.
use super::{Doer, Error, Result, due};
use crate::db::{broken_constraint, label, product};
use serde_json::json;
use uuid::Uuid;

/// Enters a product. Sent twice it makes one.
///
/// # Errors
/// When another product has the number (field `registration_number`), or the id is that of a product of which
/// something else is entered.
pub async fn enter(doer: &Doer, new: &product::Product) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    match product::insert(&mut tx, new, doer.clock.now()).await {
        Err(e) if broken_constraint(&e) == Some("product_pkey") => {
            drop(tx);
            return sent_twice(doer, new).await;
        }
        other => other.map_err(in_words)?,
    }
    let detail = json!({ "name": new.name, "registration_number": new.registration_number });
    doer.note(&mut tx, "entered", "product", new.id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Good when the product that has the id already is the one of this form.
async fn sent_twice(doer: &Doer, new: &product::Product) -> Result<()> {
    let there = product::find(&mut *doer.pool.acquire().await?, new.id).await?.ok_or(Error::NotFound)?;
    let same = product::Product { retired_at: there.retired_at, ..new.clone() } == there;
    if same { Ok(()) } else { Err(Error::entered()) }
}

/// Changes name, registration number, form and price from what the page was opened with.
///
/// # Errors
/// When it is no longer what was seen, when another product has the number (field
/// `registration_number`), or when the form would change under label versions whose rates and strengths are in the other kind of
/// unit (field `form`).
pub async fn change(doer: &Doer, seen: &product::Product, to: &product::Product) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = product::lock(&mut tx, to.id).await?.ok_or(Error::NotFound)?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    if was.form != to.form && label::next_number(&mut tx, to.id).await? > 1 {
        return Err(Error::field(
            "form",
            "Its label versions are written for the other form. A product of another form is entered anew.",
        ));
    }
    product::update(&mut tx, to).await.map_err(in_words)?;
    let detail = json!({ "name": [was.name, to.name], "form": [was.form, to.form],
        "registration_number": [was.registration_number, to.registration_number],
        "price": [was.price, to.price], "price_unit": [was.price_unit, to.price_unit] });
    doer.note(&mut tx, "changed", "product", to.id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Retires a product: nothing new is planned with it, and the plants that are meant to get it stand
/// without treatment. `accepted`: whoever retires it knows that they do.
///
/// # Errors
/// When it is not there, or plants use it and nobody accepted that (field `without`).
pub async fn retire(doer: &Doer, id: Uuid, accepted: bool) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if product::lock(&mut tx, id).await?.ok_or(Error::NotFound)?.retired_at.is_some() {
        return Ok(()); // sent twice
    }
    let plants = product::plants_using(&mut tx, id).await?;
    if plants > 0 && !accepted {
        let are =
            if plants == 1 { "1 plant record is".to_owned() } else { format!("{plants} plant records are") };
        return Err(Error::field(
            "without",
            format!("{are} meant to get it. Tick the box, or choose another product for each first."),
        ));
    }
    product::set_retired(&mut tx, id, Some(doer.clock.now())).await?;
    doer.note(&mut tx, "retired", "product", id, json!({ "plants without treatment": plants })).await?;
    due::recompute_product(&mut tx, doer, id).await?;
    tx.commit().await?;
    Ok(())
}

/// Brings a product back, and with it the days of the plants that are meant to get it.
///
/// # Errors
/// When it is not there.
pub async fn take_back(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if product::lock(&mut tx, id).await?.ok_or(Error::NotFound)?.retired_at.is_none() {
        return Ok(()); // sent twice
    }
    product::set_retired(&mut tx, id, None).await?;
    doer.note(&mut tx, "taken back", "product", id, json!({})).await?;
    due::recompute_product(&mut tx, doer, id).await?;
    tx.commit().await?;
    Ok(())
}

/// Enters a state's registration, or its new days.
///
/// # Errors
/// When the product is not there, or the days are the wrong way round (field `expires_on`).
pub async fn register(doer: &Doer, new: &product::Registration) -> Result<()> {
    if new.valid_from.is_some_and(|from| from > new.expires_on) {
        return Err(Error::field("expires_on", "The last day comes before the first."));
    }
    let mut tx = doer.pool.begin().await?;
    product::lock(&mut tx, new.product_id).await?.ok_or(Error::NotFound)?;
    let before = product::set_registration(&mut tx, new).await?;
    if before == Some((new.valid_from, new.expires_on)) {
        return Ok(()); // sent twice
    }
    let (began, ended) = (before.and_then(|(from, _)| from), before.map(|(_, until)| until));
    let detail = json!({ "state": new.state, "valid_from": [began, new.valid_from],
        "expires_on": [ended, Some(new.expires_on)] });
    doer.note(&mut tx, "registration entered", "product", new.product_id, detail).await?;
    due::recompute_product(&mut tx, doer, new.product_id).await?;
    tx.commit().await?;
    Ok(())
}

fn in_words(e: sqlx::Error) -> Error {
    match broken_constraint(&e) {
        Some("product_registration_once") => {
            Error::field("registration_number", "A product with this number is already entered.")
        }
        Some("product_registration_shape") => {
            Error::field("registration_number", "This is not a registration number.")
        }
        _ => e.into(),
    }
}
