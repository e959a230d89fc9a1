//! Big files that are made in the background, and their pieces.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// A file in the making, or one that was made.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Job {
    pub id: Uuid,
    pub title: String,
    pub file_name: String,
    pub media_type: String,
    /// `running`, `done`, `stopped` or `failed`.
    pub state: String,
    pub stop_asked: bool,
    pub rows_done: i64,
    /// None: not counted before.
    pub rows_total: Option<i64>,
    pub bytes: i64,
    pub asked_by: Uuid,
    pub asked_at: DateTime<Utc>,
    pub beat_at: DateTime<Utc>,
}

const COLUMNS: &str =
    "select id, title, file_name, media_type, state, stop_asked, rows_done, rows_total, bytes,
    asked_by, asked_at, beat_at from export_job";

/// Begins a job.
///
/// # Errors
/// When the database does not answer.
pub async fn insert(conn: &mut Conn, job: &Job) -> sqlx::Result<()> {
    sqlx::query(
        "insert into export_job (id, title, file_name, media_type, rows_total, asked_by, asked_at, beat_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(job.id)
    .bind(&job.title)
    .bind(&job.file_name)
    .bind(&job.media_type)
    .bind(job.rows_total)
    .bind(job.asked_by)
    .bind(job.asked_at)
    .bind(job.beat_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// One job.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Job>> {
    let text = format!("{COLUMNS} where id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// Jobs, the newest first; of one person, or of everybody.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, of: Option<Uuid>) -> sqlx::Result<Vec<Job>> {
    let text = format!(
        "{COLUMNS} where $1::uuid is null or asked_by = $1 order by asked_at desc, id desc limit 100"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(of).fetch_all(conn).await
}

/// Writes down how far it is; whether it may go on.
///
/// # Errors
/// When the database does not answer.
pub async fn beat(conn: &mut Conn, id: Uuid, rows: i64, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let asked: Option<bool> = sqlx::query_scalar(
        "update export_job set rows_done = $2, beat_at = $3 where id = $1 and state = 'running' returning stop_asked",
    )
    .bind(id)
    .bind(rows)
    .bind(at)
    .fetch_optional(conn)
    .await?;
    Ok(asked == Some(false))
}

/// Keeps a piece of the file.
///
/// # Errors
/// When the job was removed meanwhile.
pub async fn keep(conn: &mut Conn, id: Uuid, position: i32, bytes: &[u8]) -> sqlx::Result<()> {
    sqlx::query("insert into export_piece (job_id, position, bytes) values ($1, $2, $3)")
        .bind(id)
        .bind(position)
        .bind(bytes)
        .execute(conn)
        .await?;
    Ok(())
}

/// Ends a job that runs. A file that is not whole is not kept.
///
/// # Errors
/// When the database does not answer.
pub async fn end(conn: &mut Conn, id: Uuid, state: &str, rows: i64, at: DateTime<Utc>) -> sqlx::Result<()> {
    if state != "done" {
        sqlx::query("delete from export_piece where job_id = $1").bind(id).execute(&mut *conn).await?;
    }
    sqlx::query(
        "update export_job set state = $2, rows_done = $3, ended_at = $4, beat_at = $4, bytes = coalesce(
            (select sum(length(p.bytes)) from export_piece p where p.job_id = $1), 0) where id = $1 and state = 'running'",
    )
    .bind(id)
    .bind(state)
    .bind(rows)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Asks a job to stop; whether it ran.
///
/// # Errors
/// When the database does not answer.
pub async fn ask_stop(conn: &mut Conn, id: Uuid) -> sqlx::Result<bool> {
    let done = sqlx::query("update export_job set stop_asked = true where id = $1 and state = 'running'");
    Ok(done.bind(id).execute(conn).await?.rows_affected() > 0)
}

/// Removes a job with its file.
///
/// # Errors
/// When the database does not answer.
pub async fn remove(conn: &mut Conn, id: Uuid) -> sqlx::Result<()> {
    sqlx::query("delete from export_job where id = $1").bind(id).execute(conn).await?;
    Ok(())
}

/// A piece of the file; none after the last.
///
/// # Errors
/// When the database does not answer.
pub async fn piece(conn: &mut Conn, id: Uuid, position: i32) -> sqlx::Result<Option<Vec<u8>>> {
    sqlx::query_scalar("select bytes from export_piece where job_id = $1 and position = $2")
        .bind(id)
        .bind(position)
        .fetch_optional(conn)
        .await
}
