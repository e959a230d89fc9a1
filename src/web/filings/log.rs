//! The application log of one state with the parts that its rule asks for, as a file.
use super::columns::{Columns, restricted};
use crate::{
    db::{
        Conn, company,
        record::{self, After, Filter, Version},
        sync,
    },
    domain::filing::{self, Jurisdiction},
    output::csv::Sheet,
    web::{
        AppState, Error, Result,
        files::{Piece, attachment, streamed},
        form::Form,
        session::Actor,
    },
};
use axum::{
    body::Bytes,
    extract::{Path, Query, State},
    response::{IntoResponse, Redirect, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;
use sqlx::PgPool;
use std::time::Duration;
use tokio::sync::mpsc;

/// So many records are held at once.
const BATCH: i64 = 200;
/// So many pieces may wait for the reader before the database waits too.
const WAITING: usize = 2;
/// A reader that takes no piece for so long is given up, for it holds a connection.
const PATIENCE: Duration = Duration::from_secs(60);

/// Which days; without them the year so far.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    from: String,
    until: String,
}

/// GET /filings/states/{code}/log.csv?from=..&until=..
pub async fn log(
    State(state): State<AppState>,
    actor: Actor,
    Path(code): Path<String>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    let of = filing::find(&code).ok_or(Error::NotFound)?;
    let first = filing::Period::of(filing::Every::Year, actor.today).first_day();
    let mut form = Form::filled([("from", ask.from), ("until", ask.until)]);
    let (from, until) = (form.date("from").unwrap_or(first), form.date("until").unwrap_or(actor.today));
    if !form.is_good() || until < from {
        return Ok(Redirect::to(&format!("/filings/states/{code}")).into_response());
    }
    let name = format!("log_{}_{from}_{until}.csv", of.code);
    let (give, take) = mpsc::channel(WAITING);
    tokio::spawn(async move {
        if let Err(reason) = pour(&state.pool, of, (from, until), &give).await {
            tracing::error!(%reason, "a download broke off");
            let _ = give.send(Err(std::io::Error::other("the file broke off"))).await;
        }
    });
    attachment(&name, "text/csv; charset=utf-8", streamed(take))
}

/// Reads the records of one moment in batches, and gives them on no faster than they are taken.
async fn pour(
    pool: &PgPool,
    of: &Jurisdiction,
    (from, until): (NaiveDate, NaiveDate),
    give: &mpsc::Sender<Piece>,
) -> anyhow::Result<()> {
    let mut tx = pool.begin().await?;
    sync::as_of_now(&mut tx).await?;
    let company = company::find(&mut tx).await?.ok_or_else(|| anyhow::anyhow!("there is no company"))?;
    let mut columns = Columns::of(of, company);
    let state = if of.code == filing::federal::FEDERAL.code { "" } else { of.code };
    let filter =
        Filter { from: Some(from), until: Some(until), state: state.to_owned(), ..Filter::default() };
    let mut sheet = Sheet::new(&columns.names())?;
    let mut after = None;
    loop {
        let batch = record::report(&mut tx, &filter, after, BATCH).await?;
        let Some(last) = batch.last() else { break };
        after = Some(After { applied_on: last.head.applied_on, id: last.head.id });
        write(&mut tx, &mut columns, &mut sheet, of, &batch).await?;
        let piece = Bytes::from(sheet.take()?);
        if tokio::time::timeout(PATIENCE, give.send(Ok(piece))).await?.is_err() {
            return Ok(());
        }
    }
    let rest = Bytes::from(sheet.take()?);
    let _ = tokio::time::timeout(PATIENCE, give.send(Ok(rest))).await?;
    Ok(())
}

/// Our own work only; of a rule for restricted products only those products.
async fn write(
    conn: &mut Conn,
    columns: &mut Columns,
    sheet: &mut Sheet,
    of: &Jurisdiction,
    batch: &[Version],
) -> anyhow::Result<()> {
    let ruled = restricted(conn, batch).await?;
    for version in batch.iter().filter(|version| version.head.origin == "own") {
        for item in &version.items {
            let held = ruled.contains(&item.label_version_id);
            if of.record.restricted_only && !held {
                continue;
            }
            columns.know(conn, item.label_version_id).await?;
            sheet.row(&columns.cells(version, item, held))?;
        }
    }
    Ok(())
}
