//! Files that are given out: what a table may look like, and the lines with faults.
use crate::{
    actions::import as verbs,
    db::import,
    domain::{cell::Cell, import::Kind},
    output::csv::Sheet,
    web::{AppState, Error, Result, files::attachment, session::Actor},
};
use axum::{
    extract::{Path, State},
    response::Response,
};
use uuid::Uuid;

const CSV: &str = "text/csv; charset=utf-8";
/// So that spreadsheet programs know the characters.
const MARK: &[u8] = "\u{FEFF}".as_bytes();

/// GET /imports/templates/{kind}
pub async fn template(_actor: Actor, Path(name): Path<String>) -> Result<Response> {
    let kind = name.strip_suffix(".csv").and_then(Kind::from_code).ok_or(Error::NotFound)?;
    let heads: Vec<&str> = kind.columns().iter().map(|column| column.words).collect();
    let mut sheet = Sheet::new(&heads).map_err(anyhow::Error::from)?;
    let bytes = [MARK, &sheet.take().map_err(anyhow::Error::from)?].concat();
    attachment(&format!("{}.csv", kind.code()), CSV, bytes)
}

/// GET /imports/{id}/bad.csv
pub async fn bad(State(state): State<AppState>, _actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let found = import::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    let (heads, rows) = verbs::bad_rows(&state.pool, &found).await?;
    let width = rows.iter().map(|(_, cells, _)| cells.len()).max().unwrap_or_default().max(heads.len());
    let mut names: Vec<&str> = heads.iter().map(String::as_str).collect();
    names.resize(width, "");
    names.extend(["Line in the file", "What is wrong"]);
    let mut sheet = Sheet::new(&names).map_err(anyhow::Error::from)?;
    for (line, mut cells, said) in rows {
        cells.resize(width, String::new());
        let mut row: Vec<Cell> = cells.into_iter().map(Cell::text).collect();
        row.extend([Cell::text(line.to_string()), Cell::text(said)]);
        sheet.row(&row).map_err(anyhow::Error::from)?;
    }
    let bytes = [MARK, &sheet.take().map_err(anyhow::Error::from)?].concat();
    attachment(&format!("{}-with-faults.csv", found.kind), CSV, bytes)
}
