//! Bringing a label file or a safety data sheet.
use super::{Doer, Error, Result};
use crate::{
    db::{
        broken_constraint,
        document::{self, Document},
    },
    domain::document::{Kind, check_pdf},
};
use serde_json::json;
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// Which file is brought for what.
#[derive(Debug, Clone)]
pub struct New {
    pub id: Uuid,
    pub kind: Kind,
    pub product: Uuid,
    /// The label version that is open; a data sheet belongs to its product and not to it.
    pub label_version: Uuid,
    /// As the browser names the file.
    pub name: String,
}

/// The form's field of the file.
pub const FILE: &str = "file";

/// A name without folders and without what nobody sees.
fn named(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let kept: String = last.chars().filter(|c| !c.is_control()).take(120).collect();
    if kept.trim().is_empty() { "document.pdf".to_owned() } else { kept }
}

/// Keeps the file; it counts from now on. The same form sent twice makes one.
///
/// # Errors
/// When it is no whole PDF, too large, or the one that counts already (field `file`).
pub async fn bring(doer: &Doer, new: &New, content: &[u8]) -> Result<()> {
    check_pdf(content).map_err(|fault| Error::field(FILE, fault.to_string()))?;
    let version = (new.kind == Kind::Label).then_some(new.label_version);
    let row = Document {
        id: new.id,
        kind: new.kind.code().to_owned(),
        product_id: new.product,
        label_version_id: version,
        file_name: named(&new.name),
        hash: Sha256::digest(content).to_vec(),
        bytes: i64::try_from(content.len()).unwrap_or(i64::MAX),
        brought_by: doer.person.ok_or(Error::NotFound)?,
        brought_by_name: String::new(),
        brought_at: doer.clock.now(),
    };
    let mut tx = doer.pool.begin().await?;
    let kept = document::of(&mut tx, new.product, version).await?;
    if let Some(same) = kept.iter().find(|one| one.id == row.id) {
        let again = same.hash == row.hash && same.kind == row.kind && same.label_version_id == version;
        return if again { Ok(()) } else { Err(Error::entered()) };
    }
    if kept.iter().find(|one| one.kind == row.kind).is_some_and(|newest| newest.hash == row.hash) {
        return Err(Error::field(FILE, "This very file is the one that counts already."));
    }
    match document::insert(&mut tx, &row, content).await {
        Err(e) if broken_constraint(&e) == Some("document_pkey") => return Err(Error::entered()),
        other => other?,
    }
    let detail = json!({ "kind": row.kind, "file": row.file_name, "bytes": row.bytes, "product": new.product,
        "label_version": version });
    doer.note(&mut tx, "brought", "document", row.id, detail).await?;
    tx.commit().await?;
    Ok(())
}
