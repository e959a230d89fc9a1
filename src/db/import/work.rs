//! Work on a table in the background: taken, watched, stopped, written down.
use super::{COLUMNS, Import};
use crate::db::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Takes a table that waits, or one on which nobody has worked since `stale`; no two takers get one.
///
/// # Errors
/// When the database does not answer.
pub async fn take(conn: &mut Conn, stale: DateTime<Utc>, now: DateTime<Utc>) -> sqlx::Result<Option<Import>> {
    let taken: Option<Uuid> = sqlx::query_scalar(
        "update import set state = case when state in ('to-check', 'checking') then 'checking' else 'writing' end,
            started_at = $2, beat_at = $2, percent = 0
         where id = (select id from import where state in ('to-check', 'to-write')
                or (state in ('checking', 'writing') and beat_at < $1)
            order by asked_at, id limit 1 for update skip locked)
         returning id",
    )
    .bind(stale)
    .bind(now)
    .fetch_optional(&mut *conn)
    .await?;
    match taken {
        None => Ok(None),
        Some(id) => {
            let text = format!("{COLUMNS} i.id = $1");
            sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
        }
    }
}

/// Says how far it is; whether the work is still the taker's, whom `started_at` marks.
///
/// # Errors
/// When the database does not answer.
pub async fn beat(conn: &mut Conn, import: &Import, now: DateTime<Utc>, percent: i32) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update import set beat_at = $3, percent = $4
         where id = $1 and started_at = $2 and state in ('checking', 'writing')",
    )
    .bind(import.id)
    .bind(import.started_at)
    .bind(now)
    .bind(percent)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Whether somebody wants it to end.
///
/// # Errors
/// When the database does not answer.
pub async fn wants_stop(conn: &mut Conn, id: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar("select stop_asked from import where id = $1").bind(id).fetch_one(conn).await
}

/// Asks for its end; one that nobody has taken yet ends at once.
///
/// # Errors
/// When the database does not answer.
pub async fn ask_stop(conn: &mut Conn, id: Uuid, now: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "update import set stop_asked = true,
            state = case when state in ('to-check', 'to-write') then 'stopped' else state end,
            ended_at = case when state in ('to-check', 'to-write') then $2 else ended_at end
         where id = $1 and state in ('to-check', 'checking', 'to-write', 'writing')",
    )
    .bind(id)
    .bind(now)
    .execute(conn)
    .await?;
    Ok(())
}

/// Locks the row of a table whose work is still the taker's; false: somebody else has it, or it was ended.
///
/// # Errors
/// When the database does not answer.
pub async fn begin(conn: &mut Conn, import: &Import) -> sqlx::Result<bool> {
    let held: Option<bool> = sqlx::query_scalar(
        "select not stop_asked from import
         where id = $1 and started_at = $2 and state in ('checking', 'writing') for update",
    )
    .bind(import.id)
    .bind(import.started_at)
    .fetch_optional(conn)
    .await?;
    Ok(held == Some(true))
}

/// Writes down what came of the work.
///
/// # Errors
/// `import_once` when the same bytes were brought in meanwhile.
pub async fn end(conn: &mut Conn, i: &Import, now: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update import set state = $3, lines = $4, good = $5, bad = $6, present = $7, words = $8, percent = 100,
            ended_at = $9, stop_asked = false
         where id = $1 and started_at = $2 and state in ('checking', 'writing')",
    )
    .bind(i.id)
    .bind(i.started_at)
    .bind(&i.state)
    .bind(i.lines)
    .bind(i.good)
    .bind(i.bad)
    .bind(i.present)
    .bind(&i.words)
    .bind(now)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Forgets the file: its rows are written.
///
/// # Errors
/// When the database does not answer.
pub async fn forget_file(conn: &mut Conn, id: Uuid) -> sqlx::Result<()> {
    sqlx::query("delete from import_part where import_id = $1").bind(id).execute(conn).await?;
    Ok(())
}

/// Forgets tables that nobody has finished since that time, with their files; how many.
///
/// # Errors
/// When the database does not answer.
pub async fn prune(conn: &mut Conn, before: DateTime<Utc>) -> sqlx::Result<u64> {
    let old =
        "select id from import where asked_at < $1 and state in ('columns', 'checked', 'stopped', 'failed')";
    for table in ["import_part", "import_fault"] {
        let text = format!("delete from {table} where import_id in ({old})");
        sqlx::query(sqlx::AssertSqlSafe(text)).bind(before).execute(&mut *conn).await?;
    }
    let text = format!("delete from import where id in ({old})");
    Ok(sqlx::query(sqlx::AssertSqlSafe(text)).bind(before).execute(conn).await?.rows_affected())
}
