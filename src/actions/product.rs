//! Entering products, changing and retiring them, and their registrations by state.
use super::{Doer, Error, Result};
use crate::db::{broken_constraint, label, product};
use serde_json::json;
use uuid::Uuid;

/// Enters a product. Sent twice it makes one.
///
/// # Errors
/// When another product has the number (field `registration_number`).
pub async fn enter(doer: &Doer, new: &product::Product) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    match product::insert(&mut tx, new, doer.clock.now()).await {
        Err(e) if broken_constraint(&e) == Some("product_pkey") => return Ok(()),
        other => other.map_err(in_words)?,
    }
    let detail = json!({ "name": new.name, "registration_number": new.registration_number });
    doer.note(&mut tx, "entered", "product", new.id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Changes name, registration number and form.
///
/// # Errors
/// When another product has the number (field `registration_number`), or when the form
/// would change under label versions whose rates and strengths are in the other kind of
/// unit (field `form`).
pub async fn change(doer: &Doer, to: &product::Product) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = product::lock(&mut tx, to.id).await?.ok_or(Error::NotFound)?;
    if was.form != to.form && label::next_number(&mut tx, to.id).await? > 1 {
        return Err(Error::field(
            "form",
            "Its label versions are written for the other form. A product of another form is entered anew.",
        ));
    }
    product::update(&mut tx, to).await.map_err(in_words)?;
    let detail = json!({ "name": [was.name, to.name], "form": [was.form, to.form],
        "registration_number": [was.registration_number, to.registration_number] });
    doer.note(&mut tx, "changed", "product", to.id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Retires a product (nothing new is planned with it) or takes it back.
///
/// # Errors
/// When it is not there.
pub async fn set_retired(doer: &Doer, id: Uuid, retired: bool) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = product::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.retired_at.is_some() == retired {
        return Ok(()); // sent twice
    }
    product::set_retired(&mut tx, id, retired.then(|| doer.clock.now())).await?;
    doer.note(&mut tx, if retired { "retired" } else { "taken back" }, "product", id, json!({})).await?;
    tx.commit().await?;
    Ok(())
}

/// Enters a state's registration, or its new last day.
///
/// # Errors
/// When the product is not there.
pub async fn register(doer: &Doer, new: &product::Registration) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    product::lock(&mut tx, new.product_id).await?.ok_or(Error::NotFound)?;
    let before = product::set_registration(&mut tx, new).await?;
    if before == Some(new.expires_on) {
        return Ok(()); // sent twice
    }
    let detail = json!({ "state": new.state, "expires_on": [before, Some(new.expires_on)] });
    doer.note(&mut tx, "registration entered", "product", new.product_id, detail).await?;
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
