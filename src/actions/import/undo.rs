//! Taking back what a table brought.
use super::super::{Doer, Error, Result, due, record};
use crate::{
    db::{
        Conn,
        import::{self, Import},
        ledger,
    },
    domain::import::Kind,
};
use serde_json::json;
use uuid::Uuid;

/// Takes the rows of a table back: what nothing hangs on is removed; records are withdrawn by an amendment each and stay
/// readable. How many.
///
/// # Errors
/// When something hangs on its rows, with what it is, or they are not here.
pub async fn undo(doer: &Doer, id: Uuid) -> Result<u64> {
    let mut tx = doer.pool.begin().await?;
    let held = import::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if held.state == "undone" {
        return Ok(0); // sent twice
    }
    if held.state != "done" {
        return Err(Error::refused("Its rows were not brought in, so there is nothing to undo."));
    }
    let count = match held.of() {
        Kind::Applications => withdraw(&mut tx, doer, &held).await?,
        _ => remove(&mut tx, doer, &held).await?,
    };
    let by = doer.person.ok_or(Error::NotFound)?;
    import::undone(&mut tx, id, by, doer.clock.now()).await?;
    doer.note(&mut tx, "rows taken back", "import", id, json!({ "kind": held.kind, "rows": count })).await?;
    tx.commit().await?;
    Ok(count)
}

async fn nothing_hangs(tx: &mut Conn, held: &Import) -> Result<()> {
    let hangs = import::hanging(tx, held).await?;
    if hangs.is_empty() {
        return Ok(());
    }
    let words: Vec<String> = hangs.iter().map(|one| format!("{} {}", one.many, one.what)).collect();
    Err(Error::refused(format!(
        "This cannot be undone any more: on its rows hang {}. Retire what is not wanted one by one.",
        words.join(", ")
    )))
}

async fn remove(tx: &mut Conn, doer: &Doer, held: &Import) -> Result<u64> {
    if held.of() == Kind::Plants {
        for parcel in import::parcels_of_plants(tx, held).await? {
            ledger::lock(tx, parcel).await?;
        }
    }
    nothing_hangs(tx, held).await?;
    let (count, parcels) = import::remove(tx, held).await.map_err(|e| {
        let table = e.as_database_error().filter(|e| e.is_foreign_key_violation()).and_then(|e| e.table());
        match table {
            Some(table) => Error::refused(format!(
                "This cannot be undone any more: something else hangs on its rows ({}).",
                table.replace('_', " ")
            )),
            None => e.into(),
        }
    })?;
    for some in parcels.chunks(20) {
        due::recompute_held(tx, doer, some).await?;
    }
    Ok(count)
}

async fn withdraw(tx: &mut Conn, doer: &Doer, held: &Import) -> Result<u64> {
    let records = import::records_of(tx, held).await?;
    let mut parcels: Vec<Uuid> = records.iter().map(|(_, parcel)| *parcel).collect();
    parcels.dedup();
    for parcel in &parcels {
        ledger::lock(tx, *parcel).await?;
    }
    nothing_hangs(tx, held).await?;
    let ids: Vec<Uuid> = records.iter().map(|(id, _)| *id).collect();
    let reason = format!("Brought in with the table {} and taken back with it.", held.file_name);
    let count = record::withdraw_many(tx, doer, &ids, &reason).await?;
    for some in parcels.chunks(20) {
        due::recompute_held(tx, doer, some).await?;
    }
    Ok(count as u64)
}
