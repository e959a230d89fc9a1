//! The lines with faults as they stand in the file, each with what is wrong.
use super::file::{self, Progress};
use crate::{
    actions::{Error, Result},
    db::import::{self, Import},
};
use sqlx::PgPool;
use std::collections::BTreeMap;

/// So many lines are given out at once.
const MOST: i64 = 100_000;

/// Heads and lines, each line with its number and with what is wrong.
pub type BadRows = (Vec<String>, Vec<(u32, Vec<String>, String)>);

/// The lines with faults.
///
/// # Errors
/// Refused when the file is not kept any more.
pub async fn bad_rows(pool: &PgPool, import: &Import) -> Result<BadRows> {
    let faults = import::faults(&mut *pool.acquire().await?, import.id, 0, MOST).await?;
    let mut said: BTreeMap<u32, String> = BTreeMap::new();
    for fault in faults {
        let column = import.of().columns().iter().find(|column| column.code == fault.column_code);
        let text = said.entry(u32::try_from(fault.line).unwrap_or_default()).or_default();
        if !text.is_empty() {
            text.push(' ');
        }
        if let Some(column) = column {
            text.push_str(column.words);
            text.push_str(": ");
        }
        text.push_str(&fault.words);
    }
    let (send, take) = std::sync::mpsc::channel();
    let wanted = said.clone();
    let read = file::read(pool, import, Progress::default(), move |line, cells| {
        if wanted.contains_key(&line) && send.send((line, cells)).is_err() {
            return false;
        }
        wanted.last_key_value().is_some_and(|(last, _)| line < *last)
    });
    read.await?.map_err(|reason| Error::refused(reason.0))?;
    let rows = take.into_iter().map(|(line, cells)| (line, cells, said.remove(&line).unwrap_or_default()));
    Ok((import.heads.clone(), rows.collect()))
}
