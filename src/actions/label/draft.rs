//! Drafts: nothing here touches a version that somebody has signed.
use super::{draft_changed, hold_draft, in_words};
use crate::actions::{Doer, Error, Result};
use crate::db::{
    broken_constraint,
    label::{self, Label, Use, Version},
    product,
};
use serde_json::json;
use uuid::Uuid;

/// Puts a first draft in, typed from the label in hand. The number, who and when are set here.
/// Sent twice it makes one.
///
/// # Errors
/// When the product is not there, or nobody is acting.
pub async fn enter(doer: &Doer, draft: &Label) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let (id, product) = (draft.version.id, draft.version.product_id);
    product::lock(&mut tx, product).await?.ok_or(Error::NotFound)?;
    let number = label::next_number(&mut tx, product).await?;
    let entered_by = doer.person.ok_or_else(|| Error::refused("A label is entered by a person."))?;
    let head = Version { number, entered_by, entered_at: doer.clock.now(), ..draft.version.clone() };
    match label::insert_version(&mut tx, &head).await {
        Err(e) if broken_constraint(&e) == Some("label_version_pkey") => return Ok(()),
        other => other.map_err(in_words)?,
    }
    label::replace_parts(&mut tx, id, &draft.ingredients, &draft.caps).await.map_err(in_words)?;
    for one in &draft.uses {
        label::insert_use(&mut tx, one).await.map_err(in_words)?;
    }
    doer.note(&mut tx, "draft entered", "label version", id, json!({ "product": product, "number": number }))
        .await?;
    draft_changed(&mut tx, doer, product).await?;
    tx.commit().await?;
    Ok(())
}

/// Makes a new draft that says what `from` says, uses included. Sent twice it makes one.
///
/// # Errors
/// When `from` is no version of the product.
pub async fn copy(doer: &Doer, product: Uuid, id: Uuid, from: Uuid) -> Result<()> {
    let source = label::load(&mut *doer.pool.acquire().await?, from).await?.ok_or(Error::NotFound)?;
    if source.version.product_id != product {
        return Err(Error::NotFound);
    }
    let uses = source.uses.into_iter().map(|u| Use { id: Uuid::now_v7(), label_version_id: id, ..u });
    let draft = Label { version: Version { id, ..source.version }, uses: uses.collect(), ..source };
    enter(doer, &draft).await
}

/// Changes a draft's head, ingredients and caps from what the form was opened with.
///
/// # Errors
/// When it is not there, is signed, or is no longer what was seen.
pub async fn change(doer: &Doer, seen: &Label, to: &Label) -> Result<()> {
    let Label { version: head, ingredients, caps, .. } = to;
    let mut tx = doer.pool.begin().await?;
    let draft = hold_draft(&mut tx, head.id).await?;
    if (&draft.version, &draft.ingredients, &draft.caps) != (&seen.version, &seen.ingredients, &seen.caps) {
        return Err(Error::meanwhile());
    }
    label::update_version(&mut tx, head).await.map_err(in_words)?;
    label::replace_parts(&mut tx, head.id, ingredients, caps).await.map_err(in_words)?;
    let detail = json!({ "ingredients": ingredients.len(), "caps": caps.len() });
    doer.note(&mut tx, "draft changed", "label version", head.id, detail).await?;
    draft_changed(&mut tx, doer, draft.version.product_id).await?;
    tx.commit().await?;
    Ok(())
}

/// Adds a use to a draft. Sent twice it makes one.
///
/// # Errors
/// When the draft is not there or is signed, or the code is taken (field `code`).
pub async fn add_use(doer: &Doer, new: &Use) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let draft = hold_draft(&mut tx, new.label_version_id).await?;
    if draft.uses.iter().any(|u| u.id == new.id) {
        return Ok(()); // sent twice
    }
    label::insert_use(&mut tx, new).await.map_err(in_words)?;
    doer.note(&mut tx, "use added", "label version", new.label_version_id, json!({ "code": new.code }))
        .await?;
    tx.commit().await?;
    Ok(())
}

/// Changes a use of a draft from what the form was opened with.
///
/// # Errors
/// When it is not there, is signed or is no longer what was seen, or the code is taken (field `code`).
pub async fn change_use(doer: &Doer, seen: &Use, to: &Use) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let draft = hold_draft(&mut tx, to.label_version_id).await?;
    if draft.uses.iter().find(|u| u.id == to.id).ok_or(Error::NotFound)? != seen {
        return Err(Error::meanwhile());
    }
    label::update_use(&mut tx, to).await.map_err(in_words)?;
    doer.note(&mut tx, "use changed", "label version", to.label_version_id, json!({ "code": to.code }))
        .await?;
    tx.commit().await?;
    Ok(())
}

/// Takes a use out of a draft. Sent twice it is gone all the same.
///
/// # Errors
/// When the draft is not there or is signed.
pub async fn remove_use(doer: &Doer, version: Uuid, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let draft = hold_draft(&mut tx, version).await?;
    let Some(gone) = draft.uses.iter().find(|u| u.id == id) else { return Ok(()) };
    label::delete_use(&mut tx, id).await.map_err(in_words)?;
    doer.note(&mut tx, "use removed", "label version", version, json!({ "code": gone.code })).await?;
    draft_changed(&mut tx, doer, draft.version.product_id).await?;
    tx.commit().await?;
    Ok(())
}
