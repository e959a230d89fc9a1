//! Typing a label into a draft, copying a version into a new draft, and signing it.
mod draft;
mod signature;

pub use draft::{add_use, change, change_use, copy, enter, remove_use};
pub use signature::{Refusal, fingerprint, gaps, may_sign, sign};

use super::{Doer, Error, Result, due};
use crate::db::{Conn, broken_constraint, label};
use uuid::Uuid;

/// Words for a change that comes after the signature.
pub const SIGNED: &str =
    "This version is signed and stays as it is. Make a new version from it and change that one.";

/// A draft, held until the transaction ends.
///
/// # Errors
/// When it is not there or is signed already.
async fn hold_draft(tx: &mut Conn, id: Uuid) -> Result<label::Label> {
    if !label::lock_version(tx, id).await? {
        return Err(Error::NotFound);
    }
    let found = label::load(tx, id).await?.ok_or(Error::NotFound)?;
    if found.version.is_draft() { Ok(found) } else { Err(Error::refused(SIGNED)) }
}

/// Until a version is signed, due days follow the newest draft: they are worked out anew when it changes.
async fn draft_changed(tx: &mut Conn, doer: &Doer, product: Uuid) -> Result<()> {
    if label::versions_of(tx, product).await?.iter().any(|v| v.in_force) {
        return Ok(());
    }
    due::recompute_product(tx, doer, product).await
}

/// What the tables refuse, in words.
fn in_words(e: sqlx::Error) -> Error {
    match broken_constraint(&e) {
        Some("label_version_signed_stays") => Error::refused(SIGNED),
        Some("label_use_code_once") => {
            Error::field("code", "This version has a use with this code already; choose another.")
        }
        Some("label_ingredient_once") => Error::refused("An ingredient stands twice in this version."),
        _ => e.into(),
    }
}
