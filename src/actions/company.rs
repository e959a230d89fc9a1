//! The company's own data.
use super::{Doer, Result, due};
use crate::db::company;
use serde_json::json;
use uuid::Uuid;

/// Changes name, address, licence, time zone. Another time zone may be another day, for which due days
/// are then computed.
///
/// # Errors
/// When the database fails.
pub async fn change(doer: &Doer, new: &company::Company) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let zone = company::time_zone(&mut tx).await?;
    company::save(&mut tx, new).await?;
    let detail =
        json!({ "name": new.name, "license_number": new.license_number, "time_zone": new.time_zone });
    doer.note(&mut tx, "changed", "company", Uuid::nil(), detail).await?;
    tx.commit().await?;
    if new.time_zone != zone.name() {
        due::refresh(doer).await?;
    }
    Ok(())
}
