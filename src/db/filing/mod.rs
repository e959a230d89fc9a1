//! Reports as they were sent, what changed since, and what goes into the next one.
mod work;

pub use work::{certified, work, worked};

use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A report that was sent, without its bytes.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Filing {
    pub id: Uuid,
    /// Code of the rule by which it was owed.
    pub rule: String,
    pub state: String,
    /// Empty: the whole state.
    pub county: String,
    /// `2026-10` or `2026`.
    pub period: String,
    /// 1 is the first; the others amend it.
    pub number: i32,
    pub filed_on: NaiveDate,
    /// The receipt's number, or how it was sent.
    pub receipt: String,
    pub file_name: String,
    pub sha256: Vec<u8>,
    /// A report of no work.
    pub nil: bool,
    /// Records that lacked something when it was sent.
    pub lacking: i32,
    pub filed_by: String,
    pub filed_at: DateTime<Utc>,
    /// Records of its place and time that were written or amended since.
    pub changed: i64,
}

/// A report to be kept.
#[derive(Debug, Clone)]
pub struct New {
    pub id: Uuid,
    pub rule: String,
    pub state: String,
    pub county: String,
    pub period: String,
    pub first_day: NaiveDate,
    pub last_day: NaiveDate,
    pub number: i32,
    pub filed_on: NaiveDate,
    pub receipt: String,
    pub file_name: String,
    pub media_type: String,
    pub content: Vec<u8>,
    pub sha256: Vec<u8>,
    pub nil: bool,
    pub lacking: i32,
    pub chain_seq: i64,
    pub filed_by: Uuid,
    pub filed_at: DateTime<Utc>,
}

/// Keeps a report as it was sent.
///
/// # Errors
/// `filing_pkey` when it was kept before, `filing_once` when another one has its number, or another rule of the
/// table.
pub async fn insert(conn: &mut Conn, f: &New) -> sqlx::Result<()> {
    sqlx::query(
        "insert into filing (id, rule, state, county, period, first_day, last_day, number, filed_on, receipt,
            file_name, media_type, content, sha256, nil, lacking, chain_seq, filed_by, filed_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)",
    )
    .bind(f.id)
    .bind(&f.rule)
    .bind(&f.state)
    .bind(&f.county)
    .bind(&f.period)
    .bind(f.first_day)
    .bind(f.last_day)
    .bind(f.number)
    .bind(f.filed_on)
    .bind(&f.receipt)
    .bind(&f.file_name)
    .bind(&f.media_type)
    .bind(&f.content)
    .bind(&f.sha256)
    .bind(f.nil)
    .bind(f.lacking)
    .bind(f.chain_seq)
    .bind(f.filed_by)
    .bind(f.filed_at)
    .execute(conn)
    .await?;
    Ok(())
}

macro_rules! filings {
    ($rest:literal) => {
        concat!(
            "select f.id, f.rule, f.state::text as state, f.county, f.period, f.number, f.filed_on, f.receipt,
                f.file_name, f.sha256, f.nil, f.lacking, p.name as filed_by, f.filed_at,
                (select count(distinct c.record_id) from filing_change c where c.filing_id = f.id) as changed
             from filing f join person p on p.id = f.filed_by ",
            $rest
        )
    };
}

/// The newest report of each place and time that ends on `from` or later.
///
/// # Errors
/// When the database does not answer.
pub async fn newest_since(conn: &mut Conn, from: NaiveDate) -> sqlx::Result<Vec<Filing>> {
    sqlx::query_as(filings!(
        "where f.last_day >= $1 and not exists (select 1 from filing n where n.rule = f.rule
            and lower(n.county) = lower(f.county) and n.period = f.period and n.number > f.number)
         order by f.last_day desc, f.rule, lower(f.county)"
    ))
    .bind(from)
    .fetch_all(conn)
    .await
}

/// Every report that was sent for a place and time, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn of(conn: &mut Conn, rule: &str, county: &str, period: &str) -> sqlx::Result<Vec<Filing>> {
    sqlx::query_as(filings!(
        "where f.rule = $1 and lower(f.county) = lower($2) and f.period = $3 order by f.number desc"
    ))
    .bind(rule)
    .bind(county)
    .bind(period)
    .fetch_all(conn)
    .await
}

/// Name, kind and bytes of a report as it was sent.
///
/// # Errors
/// When the database does not answer.
pub async fn content(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<(String, String, Vec<u8>)>> {
    sqlx::query_as("select file_name, media_type, content from filing where id = $1")
        .bind(id)
        .fetch_optional(conn)
        .await
}

/// A record that was written or amended since a report was sent.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Change {
    pub record_id: Uuid,
    pub version: i32,
    pub applied_on: NaiveDate,
    pub customer_name: String,
    pub recorded_at: DateTime<Utc>,
    /// Why; empty for a record that is new.
    pub amend_reason: String,
    pub withdrawn: bool,
}

/// What changed since this report was sent, in its order.
///
/// # Errors
/// When the database does not answer.
pub async fn changes(conn: &mut Conn, filing: Uuid) -> sqlx::Result<Vec<Change>> {
    sqlx::query_as(
        "select r.id as record_id, r.version, r.applied_on, r.customer_name, r.recorded_at, r.amend_reason, r.withdrawn
         from filing_change c join application_record r on r.id = c.record_id and r.version = c.version
         where c.filing_id = $1 order by r.seq",
    )
    .bind(filing)
    .fetch_all(conn)
    .await
}
