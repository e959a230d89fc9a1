//! Saying which column is which, asking for the lines to be checked and brought in, and ending that.
use super::{
    file::{How, head},
    upload::stored,
};
use crate::{
    actions::{Doer, Error, Result},
    db::{
        Conn,
        import::{self, Import},
    },
    domain::import::{Mapping, guess},
};
use serde_json::json;
use uuid::Uuid;

async fn hold_open(tx: &mut Conn, id: Uuid) -> Result<Import> {
    let held = import::lock(tx, id).await?.ok_or(Error::NotFound)?;
    if held.is_open() {
        return Ok(held);
    }
    let words = if held.goes_on() {
        "The program is at work on this table. Wait until it is done, or end it."
    } else {
        "The rows of this table were brought in already."
    };
    Err(Error::refused(words))
}

/// Says which column of the file is which, and asks for every line to be checked.
///
/// # Errors
/// When a needed column is not named or one is named twice (the field is the column's code), or the program is at work.
pub async fn name_columns(doer: &Doer, id: Uuid, mapping: &Mapping) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let mut held = import::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if held.goes_on() && held.mapping == stored(mapping) {
        // Sent twice. Let go of here, and not when the connection is used the next time: a worker that looks
        // meanwhile would pass the row over.
        tx.rollback().await?;
        return Ok(());
    }
    held = hold_open(&mut tx, id).await?;
    let columns = held.of().columns();
    for (place, column) in columns.iter().enumerate() {
        let at = mapping.get(place).copied().flatten();
        if column.required && at.is_none() {
            return Err(Error::field(column.code, "Say in which column of the file this stands."));
        }
        let twice =
            at.and_then(|at| (0..place).find(|other| mapping.get(*other).copied().flatten() == Some(at)));
        if let Some(other) = twice {
            let words = format!("This column of the file is given to {:?} already.", columns[other].words);
            return Err(Error::field(column.code, words));
        }
    }
    held.mapping = stored(mapping);
    held.state = "to-check".to_owned();
    import::update(&mut tx, &held).await?;
    tx.commit().await?;
    Ok(())
}

/// Takes another sheet of a workbook.
///
/// # Errors
/// When there is no such sheet (field `sheet`), it is empty, or the program is at work.
pub async fn read_sheet(doer: &Doer, id: Uuid, sheet: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let mut held = hold_open(&mut tx, id).await?;
    if !held.sheets.iter().any(|name| name == sheet) {
        return Err(Error::field("sheet", "The workbook has no such sheet."));
    }
    sheet.clone_into(&mut held.sheet);
    let mut bytes = vec![];
    for position in 0.. {
        let Some(part) = import::part(&mut tx, id, position).await? else { break };
        bytes.extend(part);
    }
    let how = How::from(&held);
    let found =
        tokio::task::spawn_blocking(move || head(&how, &bytes[..])).await.map_err(anyhow::Error::from)?;
    let (heads, line, samples) = found.map_err(|reason| Error::field("sheet", reason.0))?;
    held.mapping = stored(&guess(held.of(), &heads));
    held.heads = heads;
    held.head_line = i32::try_from(line).unwrap_or(i32::MAX);
    held.samples = sqlx::types::Json(samples);
    held.state = "columns".to_owned();
    import::update(&mut tx, &held).await?;
    tx.commit().await?;
    Ok(())
}

/// Asks for the lines to be brought in: all of them, or none.
///
/// # Errors
/// When a line has a fault, or the lines were not checked.
pub async fn ask_for_rows(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let mut held = import::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if matches!(held.state.as_str(), "to-write" | "writing" | "done") {
        // Sent twice. Let go of here, and not when the connection is used the next time: a worker that looks
        // meanwhile would pass the row over.
        tx.rollback().await?;
        return Ok(());
    }
    if held.state != "checked" {
        return Err(Error::refused("Its lines are not checked yet."));
    }
    if held.bad > 0 {
        return Err(Error::refused(
            "Some lines have faults, and all come in or none. Mend them in your file and bring it again.",
        ));
    }
    held.state = "to-write".to_owned();
    import::update(&mut tx, &held).await?;
    let detail = json!({ "kind": held.kind, "lines": held.good });
    doer.note(&mut tx, "rows asked for", "import", id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Ends the work on it; nothing of it is written then.
///
/// # Errors
/// When it is not there.
pub async fn stop(doer: &Doer, id: Uuid) -> Result<()> {
    let mut conn = doer.pool.acquire().await?;
    import::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    Ok(import::ask_stop(&mut conn, id, doer.clock.now()).await?)
}
