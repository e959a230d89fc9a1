//! The lines of a table on their way in: a table of this session, filled by COPY, judged as a whole, then written. The
//! columns are named as the kind names them; everything goes when the transaction ends.
use super::{Import, Wrong, customers, plants, products, sites, within};
use crate::{
    db::Conn,
    domain::import::{Kind, Row},
};
use chrono::{DateTime, Utc};
use sqlx::postgres::{PgConnection, PgCopyIn};
use std::fmt::Write;
use uuid::Uuid;

/// Makes the tables of the session.
///
/// # Errors
/// When the database does not answer.
pub async fn open(conn: &mut Conn, kind: Kind) -> sqlx::Result<()> {
    let columns: String = kind.columns().iter().fold(String::new(), |mut out, column| {
        let _ = write!(out, ", \"{}\" text", column.code);
        out
    });
    let staged = format!(
        "create temp table import_row (line integer not null, id uuid not null, own uuid not null{columns},
            present boolean not null default false) on commit drop"
    );
    sqlx::query(sqlx::AssertSqlSafe(staged)).execute(&mut *conn).await?;
    sqlx::query(
        "create temp table import_wrong (line integer, column_code text, value text, words text) on commit drop",
    )
    .execute(&mut *conn)
    .await?;
    // A table of a million lines is sorted and matched as a whole.
    sqlx::query("set local work_mem = '64MB'").execute(conn).await?;
    Ok(())
}

/// Lines as COPY takes them.
#[derive(Debug, Default)]
pub struct Line {
    pub bytes: Vec<u8>,
    pub count: u32,
}

impl Line {
    /// Adds a line. `own` is what makes it the same as another: two of one are a mistake.
    pub fn push(&mut self, batch: Uuid, line: u32, own: Uuid, row: &Row) {
        let out = &mut self.bytes;
        out.extend_from_slice(line.to_string().as_bytes());
        for id in [within(batch, line), own] {
            out.push(b'\t');
            let mut text = [0; 36];
            out.extend_from_slice(id.as_hyphenated().encode_lower(&mut text).as_bytes());
        }
        for value in &row.values {
            out.push(b'\t');
            match value {
                None => out.extend_from_slice(b"\\N"),
                Some(text) => escaped(out, text),
            }
        }
        out.push(b'\n');
        self.count += 1;
    }
}

fn escaped(out: &mut Vec<u8>, text: &str) {
    for byte in text.bytes() {
        match byte {
            b'\\' => out.extend_from_slice(b"\\\\"),
            b'\t' => out.extend_from_slice(b"\\t"),
            b'\n' => out.extend_from_slice(b"\\n"),
            b'\r' => out.extend_from_slice(b"\\r"),
            other => out.push(other),
        }
    }
}

/// The way into the table of the session.
pub struct Stage<'c>(PgCopyIn<&'c mut PgConnection>);

impl<'c> Stage<'c> {
    /// Opens it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn fill(conn: &'c mut Conn, kind: Kind) -> sqlx::Result<Self> {
        let names: String = kind.columns().iter().fold(String::new(), |mut out, column| {
            let _ = write!(out, ", \"{}\"", column.code);
            out
        });
        let text = format!("copy import_row (line, id, own{names}) from stdin");
        Ok(Self(conn.copy_in_raw(&text).await?))
    }

    /// Sends lines.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn send(&mut self, lines: Line) -> sqlx::Result<()> {
        self.0.send(lines.bytes).await?;
        Ok(())
    }

    /// Closes it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn finish(self) -> sqlx::Result<u64> {
        self.0.finish().await
    }
}

/// Judges the lines as a whole: which stand twice, which are here already, which name what is not there. How many are
/// here already.
///
/// # Errors
/// When the database does not answer.
pub async fn judge(conn: &mut Conn, kind: Kind) -> sqlx::Result<i64> {
    run(conn, "analyze import_row").await?;
    let steps: &[&str] = match kind {
        Kind::Customers => &customers::CHECKS,
        Kind::Sites => &sites::CHECKS,
        Kind::Plants => &plants::CHECKS,
        Kind::Products => &products::CHECKS,
        Kind::Applications => &[],
    };
    for step in steps {
        run(conn, step).await?;
    }
    sqlx::query_scalar("select count(*) from import_row where present").fetch_one(conn).await
}

async fn run(conn: &mut Conn, step: &str) -> sqlx::Result<u64> {
    Ok(sqlx::query(sqlx::AssertSqlSafe(step.to_owned())).execute(conn).await?.rows_affected())
}

/// What was found wrong, so many faults of the lines after that one, whole lines at a time.
///
/// # Errors
/// When the database does not answer.
pub async fn faults_found(conn: &mut Conn, after: i32, lines: i64) -> sqlx::Result<Vec<Wrong>> {
    sqlx::query_as(
        "select line, column_code, coalesce(value, '') as value, words from import_wrong where line in
            (select distinct line from import_wrong where line > $1 order by line limit $2) order by line",
    )
    .bind(after)
    .bind(lines)
    .fetch_all(conn)
    .await
}

/// The parcels on which the plants of the lines will stand, in their order; of other tables none.
///
/// # Errors
/// When the database does not answer.
pub async fn parcels(conn: &mut Conn, kind: Kind) -> sqlx::Result<Vec<Uuid>> {
    if kind != Kind::Plants {
        return Ok(vec![]);
    }
    sqlx::query_scalar("select distinct s.parcel_id from import_ref r join site s on s.id = r.ref order by 1")
        .fetch_all(conn)
        .await
}

/// Writes the lines that are not here yet; how many.
///
/// # Errors
/// When a rule of the tables breaks.
pub async fn write(conn: &mut Conn, import: &Import, at: DateTime<Utc>) -> sqlx::Result<u64> {
    let steps: &[&str] = match import.of() {
        Kind::Customers => &customers::WRITES,
        Kind::Sites => &sites::WRITES,
        Kind::Plants => &plants::WRITES,
        Kind::Products => &products::WRITES,
        Kind::Applications => &[],
    };
    let mut counts = vec![];
    for step in steps {
        let done = sqlx::query(*step).bind(at).bind(import.id).execute(&mut *conn).await?;
        counts.push(done.rows_affected());
    }
    Ok(counts.first().copied().unwrap_or_default())
}

/// The second of two lines that are the same.
pub(super) const TWICE: &str = "with twice as
        (select own, min(line) as first from import_row group by own having count(*) > 1)
    insert into import_wrong select t.line, '', '', 'The same stands on line ' || w.first || '.'
    from import_row t join twice w using (own) where t.line <> w.first";

/// Two lines under one number of the old books.
pub(super) const NUMBER_TWICE: &str = "with twice as
        (select number, min(line) as first from import_row where number is not null group by number having count(*) > 1)
    insert into import_wrong select t.line, 'number', t.number, 'Line ' || w.first || ' has this number too.'
    from import_row t join twice w using (number) where t.line <> w.first";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_written_as_copy_takes_it() {
        let row = Row { values: vec![Some("a\tb\\c\nd".into()), None, Some("\\N".into())], faults: vec![] };
        let (batch, mut lines) = (Uuid::from_u128(7 << 64), Line::default());
        lines.push(batch, 3, Uuid::nil(), &row);
        let text = String::from_utf8(lines.bytes).unwrap();
        let own = "00000000-0000-0000-0000-000000000000";
        assert_eq!(text, format!("3\t{}\t{own}\ta\\tb\\\\c\\nd\t\\N\t\\\\N\n", within(batch, 3)));
        assert_ne!(within(batch, 3), within(batch, 4));
    }
}
