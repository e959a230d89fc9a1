//! Heads of the two lists that only grow, and the parts of the lists that prove a place in them.
use super::Conn;
use crate::domain::{
    head::{Head, Part, Walk, step},
    merkle::{self, Hash, Roots, leaf},
};
use chrono::{DateTime, Utc};
use futures_util::TryStreamExt;
use uuid::Uuid;

/// Which list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum List {
    Records,
    Audit,
}

impl List {
    fn hashes(self) -> &'static str {
        match self {
            Self::Records => "select seq, hash from application_record where seq <= $1 order by seq",
            Self::Audit => "select seq, hash from audit_link where seq <= $1 order by seq",
        }
    }

    fn marks(self) -> &'static str {
        match self {
            Self::Records => {
                "select seq, hash from application_record where seq <= $1 and seq % $2 = 0 order by seq"
            }
            Self::Audit => "select seq, hash from audit_link where seq <= $1 and seq % $2 = 0 order by seq",
        }
    }
}

/// A head that was given out.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Taken {
    pub id: Uuid,
    pub taken_at: DateTime<Utc>,
    /// Nobody: the program itself.
    pub taken_by: Option<String>,
    pub records_size: i64,
    pub records_root: Vec<u8>,
    pub records_last: Vec<u8>,
    pub audit_size: i64,
    pub audit_root: Vec<u8>,
    pub audit_last: Vec<u8>,
}

fn hash(bytes: Vec<u8>) -> Hash {
    // A hash of another length is none of ours; it fits nothing.
    bytes.try_into().unwrap_or([0xff; 32])
}

fn whole(size: i64) -> u64 {
    u64::try_from(size).unwrap_or(0)
}

fn signed(size: u64) -> i64 {
    i64::try_from(size).unwrap_or(i64::MAX)
}

/// The list as it is now, without marks.
///
/// # Errors
/// When the database does not answer.
pub async fn part(conn: &mut Conn, list: List) -> sqlx::Result<Part> {
    let mut rows = sqlx::query_as::<_, (i64, Vec<u8>)>(list.hashes()).bind(i64::MAX).fetch(conn);
    let mut walk = Walk::default();
    while let Some((_, bytes)) = rows.try_next().await? {
        walk.push(hash(bytes));
    }
    Ok(walk.part())
}

/// Marks over the first `size` entries.
async fn marks(conn: &mut Conn, list: List, size: i64) -> sqlx::Result<Vec<(u64, Hash)>> {
    let rows: Vec<(i64, Vec<u8>)> =
        sqlx::query_as(list.marks()).bind(size).bind(signed(step(whole(size)))).fetch_all(conn).await?;
    Ok(rows.into_iter().map(|(seq, bytes)| (whole(seq), hash(bytes))).collect())
}

/// The roots that prove that the entry at `place` (from 1) stands in the list of the first `size` entries; none
/// where the list has no such entry.
///
/// # Errors
/// When the database does not answer.
pub async fn path(conn: &mut Conn, list: List, place: u64, size: u64) -> sqlx::Result<Option<Vec<Hash>>> {
    let Some(index) = place.checked_sub(1).filter(|index| *index < size) else { return Ok(None) };
    let mut roots = Roots::of(merkle::inclusion(index, size));
    let mut rows = sqlx::query_as::<_, (i64, Vec<u8>)>(list.hashes()).bind(signed(size)).fetch(conn);
    while let Some((_, bytes)) = rows.try_next().await? {
        roots.push(leaf(&hash(bytes)));
    }
    Ok(roots.roots())
}

/// The roots that prove that the list of the first `size` entries begins with its first `first` entries; none where
/// the list has no such entries.
///
/// # Errors
/// When the database does not answer.
pub async fn growth(conn: &mut Conn, list: List, first: u64, size: u64) -> sqlx::Result<Option<Vec<Hash>>> {
    if first > size {
        return Ok(None);
    }
    let mut roots = Roots::of(merkle::consistency(first, size));
    let mut rows = sqlx::query_as::<_, (i64, Vec<u8>)>(list.hashes()).bind(signed(size)).fetch(conn);
    let mut seen = 0;
    while let Some((_, bytes)) = rows.try_next().await? {
        roots.push(leaf(&hash(bytes)));
        seen += 1;
    }
    // Of nothing or of the same length no hash is needed: the list must be there all the same.
    Ok(roots.roots().filter(|_| seen >= size))
}

/// Keeps a head that is given out.
///
/// # Errors
/// When the database does not answer.
pub async fn insert(
    conn: &mut Conn,
    id: Uuid,
    by: Option<Uuid>,
    at: DateTime<Utc>,
    records: &Part,
    audit: &Part,
) -> sqlx::Result<()> {
    sqlx::query(
        "insert into chain_head (id, taken_at, taken_by, records_size, records_root, records_last, audit_size,
            audit_root, audit_last) values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(id)
    .bind(at)
    .bind(by)
    .bind(signed(records.size))
    .bind(&records.root[..])
    .bind(&records.last[..])
    .bind(signed(audit.size))
    .bind(&audit.root[..])
    .bind(&audit.last[..])
    .execute(conn)
    .await?;
    Ok(())
}

const TAKEN: &str =
    "select h.id, h.taken_at, p.name as taken_by, h.records_size, h.records_root, h.records_last,
    h.audit_size, h.audit_root, h.audit_last from chain_head h left join person p on p.id = h.taken_by";

/// The newest heads that were given out, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn newest(conn: &mut Conn, at_most: i64) -> sqlx::Result<Vec<Taken>> {
    let text = format!("{TAKEN} order by h.taken_at desc, h.id desc limit $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(at_most).fetch_all(conn).await
}

/// A head that was given out.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Taken>> {
    let text = format!("{TAKEN} where h.id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// The head with its marks, as it leaves the house.
///
/// # Errors
/// When the database does not answer.
pub async fn with_marks(conn: &mut Conn, taken: Taken, company: &str) -> sqlx::Result<Head> {
    let records = marks(&mut *conn, List::Records, taken.records_size).await?;
    let audit = marks(conn, List::Audit, taken.audit_size).await?;
    let part =
        |size, root, last, marks| Part { size: whole(size), root: hash(root), last: hash(last), marks };
    Ok(Head {
        company: company.to_owned(),
        taken_at: taken.taken_at,
        records: part(taken.records_size, taken.records_root, taken.records_last, records),
        audit: part(taken.audit_size, taken.audit_root, taken.audit_last, audit),
    })
}
