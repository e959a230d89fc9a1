//! Tables that were brought to us: what they are, their files, what is wrong with their lines.
mod applications;
mod customers;
mod plants;
mod products;
mod sites;
mod stage;
mod undo;
mod work;

pub use applications::{
    Known, KnownPerson, KnownPlant, KnownProduct, KnownSite, KnownUse, known, recorded, records_of,
};
pub use stage::{Line, Stage, faults_found, judge, open, parcels, write};
pub use undo::{Hangs, hanging, parcels_of_plants, remove, undone};
pub use work::{ask_stop, beat, begin, end, forget_file, prune, take, wants_stop};

use super::Conn;
use crate::domain::import::{Kind, Mapping};
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// A table that was brought to us.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Import {
    pub id: Uuid,
    pub kind: String,
    pub file_name: String,
    /// `csv` or `xlsx`.
    pub format: String,
    pub encoding: String,
    pub delimiter: String,
    pub sheet: String,
    pub sheets: Vec<String>,
    pub bytes: i64,
    pub fingerprint: Vec<u8>,
    pub heads: Vec<String>,
    pub head_line: i32,
    pub samples: sqlx::types::Json<Vec<Vec<String>>>,
    pub mapping: Vec<i32>,
    /// `columns`, `to-check`, `checking`, `checked`, `to-write`, `writing`, `done`, `undone`, `stopped` or `failed`.
    pub state: String,
    pub lines: i32,
    pub good: i32,
    pub bad: i32,
    /// Lines whose rows are here already.
    pub present: i32,
    pub percent: i32,
    pub stop_asked: bool,
    pub words: String,
    pub batch: Uuid,
    pub asked_by: Uuid,
    pub asked_at: DateTime<Utc>,
    pub started_at: Option<DateTime<Utc>>,
    pub beat_at: Option<DateTime<Utc>>,
    pub ended_at: Option<DateTime<Utc>>,
    pub undone_by: Option<Uuid>,
    pub undone_at: Option<DateTime<Utc>>,
    #[sqlx(default)]
    pub asked_by_name: String,
}

impl Import {
    /// What its lines are.
    #[must_use]
    pub fn of(&self) -> Kind {
        Kind::from_code(&self.kind).unwrap_or(Kind::Customers)
    }

    /// Whether the program is at work on it, or will be.
    #[must_use]
    pub fn goes_on(&self) -> bool {
        matches!(self.state.as_str(), "to-check" | "checking" | "to-write" | "writing")
    }

    /// Whether its columns may still be said otherwise and its lines be checked.
    #[must_use]
    pub fn is_open(&self) -> bool {
        matches!(self.state.as_str(), "columns" | "checked" | "stopped" | "failed")
    }

    /// Which column of the file is which.
    #[must_use]
    pub fn columns(&self) -> Mapping {
        let mut mapping: Mapping = self.mapping.iter().map(|at| usize::try_from(*at).ok()).collect();
        mapping.resize(self.of().columns().len(), None);
        mapping
    }

    /// The id of what comes of a line.
    #[must_use]
    pub fn id_of(&self, line: u32) -> Uuid {
        within(self.batch, line)
    }
}

/// The id with these last 32 bits.
#[must_use]
pub fn within(batch: Uuid, last: u32) -> Uuid {
    let high = batch.as_u128() & !u128::from(u32::MAX);
    Uuid::from_u128(high | u128::from(last))
}

const COLUMNS: &str =
    "select i.*, p.name as asked_by_name from import i join person p on p.id = i.asked_by where ";

/// Writes down a table with what was found out about its file.
///
/// # Errors
/// `import_pkey` when the same form was sent twice.
pub async fn insert(conn: &mut Conn, i: &Import) -> sqlx::Result<()> {
    sqlx::query(
        "insert into import (id, kind, file_name, format, encoding, delimiter, sheet, sheets, bytes, fingerprint, heads,
            head_line, samples, mapping, state, batch, asked_by, asked_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18)",
    )
    .bind(i.id)
    .bind(&i.kind)
    .bind(&i.file_name)
    .bind(&i.format)
    .bind(&i.encoding)
    .bind(&i.delimiter)
    .bind(&i.sheet)
    .bind(&i.sheets)
    .bind(i.bytes)
    .bind(&i.fingerprint)
    .bind(&i.heads)
    .bind(i.head_line)
    .bind(&i.samples)
    .bind(&i.mapping)
    .bind(&i.state)
    .bind(i.batch)
    .bind(i.asked_by)
    .bind(i.asked_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes what is read of the file: sheet, heads, samples, columns; and the state.
///
/// # Errors
/// When the database does not answer.
pub async fn update(conn: &mut Conn, i: &Import) -> sqlx::Result<()> {
    sqlx::query(
        "update import set sheet = $2, heads = $3, head_line = $4, samples = $5, mapping = $6, state = $7,
            stop_asked = false, percent = 0, words = '' where id = $1",
    )
    .bind(i.id)
    .bind(&i.sheet)
    .bind(&i.heads)
    .bind(i.head_line)
    .bind(&i.samples)
    .bind(&i.mapping)
    .bind(&i.state)
    .execute(conn)
    .await?;
    Ok(())
}

/// Writes down what was found out about a file that was just kept.
///
/// # Errors
/// When the database does not answer.
pub async fn look(conn: &mut Conn, i: &Import) -> sqlx::Result<()> {
    sqlx::query(
        "update import set format = $2, encoding = $3, delimiter = $4, sheets = $5, bytes = $6, fingerprint = $7
         where id = $1",
    )
    .bind(i.id)
    .bind(&i.format)
    .bind(&i.encoding)
    .bind(&i.delimiter)
    .bind(&i.sheets)
    .bind(i.bytes)
    .bind(&i.fingerprint)
    .execute(&mut *conn)
    .await?;
    update(conn, i).await
}

/// One of them.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Import>> {
    let text = format!("{COLUMNS} i.id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// One of them, locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Import>> {
    sqlx::query("select 1 from import where id = $1 for update").bind(id).execute(&mut *conn).await?;
    find(conn, id).await
}

/// The newest of them.
///
/// # Errors
/// When the database does not answer.
pub async fn newest(conn: &mut Conn, limit: i64) -> sqlx::Result<Vec<Import>> {
    let text = format!("{COLUMNS} true order by i.asked_at desc, i.id limit $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(limit).fetch_all(conn).await
}

/// The table of the same bytes whose rows are here.
///
/// # Errors
/// When the database does not answer.
pub async fn same_done(conn: &mut Conn, kind: &str, fingerprint: &[u8]) -> sqlx::Result<Option<Import>> {
    let text = format!("{COLUMNS} i.kind = $1 and i.fingerprint = $2 and i.state = 'done'");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(kind).bind(fingerprint).fetch_optional(conn).await
}

/// Keeps the next part of a file.
///
/// # Errors
/// When the database does not answer.
pub async fn add_part(conn: &mut Conn, id: Uuid, position: i32, content: &[u8]) -> sqlx::Result<()> {
    sqlx::query("insert into import_part (import_id, position, content) values ($1, $2, $3)")
        .bind(id)
        .bind(position)
        .bind(content)
        .execute(conn)
        .await?;
    Ok(())
}

/// A part of a file; none: there are no more.
///
/// # Errors
/// When the database does not answer.
pub async fn part(conn: &mut Conn, id: Uuid, position: i32) -> sqlx::Result<Option<Vec<u8>>> {
    sqlx::query_scalar("select content from import_part where import_id = $1 and position = $2")
        .bind(id)
        .bind(position)
        .fetch_optional(conn)
        .await
}

/// What is wrong with a cell of a line.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Wrong {
    pub line: i32,
    pub column_code: String,
    pub value: String,
    pub words: String,
}

/// Keeps what is wrong.
///
/// # Errors
/// When the database does not answer.
pub async fn add_faults(conn: &mut Conn, id: Uuid, faults: &[Wrong]) -> sqlx::Result<()> {
    let lines: Vec<i32> = faults.iter().map(|f| f.line).collect();
    let of = |part: fn(&Wrong) -> &str| faults.iter().map(|f| part(f).to_owned()).collect::<Vec<_>>();
    sqlx::query(
        "insert into import_fault (import_id, line, column_code, value, words)
         select $1, * from unnest($2::int[], $3::text[], $4::text[], $5::text[])",
    )
    .bind(id)
    .bind(lines)
    .bind(of(|f| &f.column_code))
    .bind(of(|f| &f.value))
    .bind(of(|f| &f.words))
    .execute(conn)
    .await?;
    Ok(())
}

/// Forgets what was found wrong before.
///
/// # Errors
/// When the database does not answer.
pub async fn clear_faults(conn: &mut Conn, id: Uuid) -> sqlx::Result<()> {
    sqlx::query("delete from import_fault where import_id = $1").bind(id).execute(conn).await?;
    Ok(())
}

/// What is wrong with the lines after that one: everything about the next so many lines, in their order.
///
/// # Errors
/// When the database does not answer.
pub async fn faults(conn: &mut Conn, id: Uuid, after: i32, lines: i64) -> sqlx::Result<Vec<Wrong>> {
    sqlx::query_as(
        "select line, column_code, value, words from import_fault where import_id = $1 and line in
            (select distinct line from import_fault where import_id = $1 and line > $2 order by line limit $3)
         order by line",
    )
    .bind(id)
    .bind(after)
    .bind(lines)
    .fetch_all(conn)
    .await
}

/// How many lines have a fault.
///
/// # Errors
/// When the database does not answer.
pub async fn bad_lines(conn: &mut Conn, id: Uuid) -> sqlx::Result<i64> {
    sqlx::query_scalar("select count(distinct line) from import_fault where import_id = $1")
        .bind(id)
        .fetch_one(conn)
        .await
}
