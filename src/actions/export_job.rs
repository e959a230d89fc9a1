//! Files in the background: begun, on their way, ended, removed.
use super::{Doer, Result};
use crate::db::{
    export_job::{self, Job},
    person,
};
use chrono::TimeDelta;
use serde_json::json;
use uuid::Uuid;

/// Without a sign of life for so long the program that made it has ended.
const SILENCE: TimeDelta = TimeDelta::minutes(10);

/// Whether nobody makes it any more although it is not ended.
#[must_use]
pub fn broke_off(doer: &Doer, job: &Job) -> bool {
    job.state == "running" && doer.clock.now() - job.beat_at > SILENCE
}

/// Begins a job.
///
/// # Errors
/// When the database does not answer.
pub async fn begin(doer: &Doer, job: &Job) -> Result<()> {
    Ok(export_job::insert(&mut *doer.pool.acquire().await?, job).await?)
}

/// Writes down how far it is; whether it may go on.
///
/// # Errors
/// When the database does not answer.
pub async fn beat(doer: &Doer, id: Uuid, rows: i64) -> Result<bool> {
    Ok(export_job::beat(&mut *doer.pool.acquire().await?, id, rows, doer.clock.now()).await?)
}

/// Keeps a piece of the file.
///
/// # Errors
/// When the database does not answer.
pub async fn keep(doer: &Doer, id: Uuid, position: i32, bytes: &[u8]) -> Result<()> {
    Ok(export_job::keep(&mut *doer.pool.acquire().await?, id, position, bytes).await?)
}

/// Ends it as done, stopped or failed.
///
/// # Errors
/// When the database does not answer.
pub async fn end(doer: &Doer, id: Uuid, state: &str, rows: i64) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    export_job::end(&mut tx, id, state, rows, doer.clock.now()).await?;
    Ok(tx.commit().await?)
}

/// Asks it to stop, or ends it where nobody makes it any more.
///
/// # Errors
/// When the database does not answer.
pub async fn stop(doer: &Doer, job: &Job) -> Result<()> {
    if broke_off(doer, job) {
        return end(doer, job.id, "failed", job.rows_done).await;
    }
    export_job::ask_stop(&mut *doer.pool.acquire().await?, job.id).await?;
    Ok(())
}

/// Removes it with its file.
///
/// # Errors
/// When the database does not answer.
pub async fn remove(doer: &Doer, job: &Job) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    export_job::remove(&mut tx, job.id).await?;
    doer.note(&mut tx, "removed", "file", job.id, json!({ "file": job.file_name })).await?;
    Ok(tx.commit().await?)
}

/// Who asked for it.
///
/// # Errors
/// When the database does not answer.
pub async fn asker(doer: &Doer, job: &Job) -> Result<String> {
    let found = person::find(&mut *doer.pool.acquire().await?, job.asked_by).await?;
    Ok(found.map(|person| person.name).unwrap_or_default())
}
