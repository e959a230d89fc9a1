//! The hash chain over every version of every record: its end is held while a
//! version is added, and the whole can be checked.
//!
//! Every row is checked against the one before it and against its own columns
//! and items. That the newest rows are still there, and that nobody wrote the
//! whole chain anew, cannot be seen from inside: for that a head is kept outside
//! the database, and the chain is compared with it.
use super::{
    Conn,
    record::{Head, Item, Version, body},
};
use crate::domain::{
    chain::{HASH_BYTES, hex, preimage},
    head::{Against, Part, Walk},
};
use sha2::{Digest, Sha256};
use sqlx::PgPool;
use std::collections::HashMap;
use uuid::Uuid;

/// The chain's advisory lock: any number, as long as nothing else uses it.
const LOCK: i64 = 0x706c_616e_7477_6172;

/// So many rows are held at once while the chain is checked.
const BATCH: i64 = 500;

/// The place of the version that is about to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Next {
    pub seq: i64,
    pub previous_hash: Vec<u8>,
    pub hash: Vec<u8>,
}

fn digest(previous: &[u8], seq: i64, text: &str) -> Vec<u8> {
    Sha256::digest(preimage(previous, seq, text)).to_vec()
}

/// The next place, held until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn next(conn: &mut Conn, text: &str) -> sqlx::Result<Next> {
    sqlx::query("select pg_advisory_xact_lock($1)").bind(LOCK).execute(&mut *conn).await?;
    let (last, previous_hash) = end(conn).await?.unwrap_or((0, vec![0; HASH_BYTES]));
    let seq = last + 1;
    Ok(Next { hash: digest(&previous_hash, seq, text), seq, previous_hash })
}

/// Holds the chain until the transaction ends, so that no version is added meanwhile; place of the newest one, 0:
/// nothing was recorded yet.
///
/// # Errors
/// When the database does not answer.
pub async fn hold(conn: &mut Conn) -> sqlx::Result<i64> {
    sqlx::query("select pg_advisory_xact_lock($1)").bind(LOCK).execute(&mut *conn).await?;
    Ok(end(conn).await?.map_or(0, |(seq, _)| seq))
}

/// Place and hash of the newest version; none: nothing was recorded yet.
///
/// # Errors
/// When the database does not answer.
pub async fn end(conn: &mut Conn) -> sqlx::Result<Option<(i64, Vec<u8>)>> {
    sqlx::query_as("select seq, hash from application_record order by seq desc limit 1")
        .fetch_optional(conn)
        .await
}

#[derive(sqlx::FromRow)]
struct Row {
    seq: i64,
    body: String,
    previous_hash: Vec<u8>,
    hash: Vec<u8>,
    #[sqlx(flatten)]
    head: Head,
}

#[derive(sqlx::FromRow)]
struct ItemRow {
    record_id: Uuid,
    version: i32,
    #[sqlx(flatten)]
    item: Item,
}

/// What a walk along a chain found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Walked {
    /// Rows that were looked at.
    pub rows: u64,
    /// What is wrong with the first wrong row, and where the chain differs from the head; empty when it is whole.
    pub faults: Vec<String>,
}

/// Walks the chain from its start, beside the head if there is one. In one snapshot; while a batch of rows is
/// checked, the next one is read.
///
/// # Errors
/// When the database does not answer.
pub async fn verify(pool: &PgPool, kept: Option<&Part>) -> sqlx::Result<Walked> {
    let mut tx = pool.begin().await?;
    sqlx::query("set transaction isolation level repeatable read read only").execute(&mut *tx).await?;
    let mut check = Check { against: kept.cloned().map(Against::of), ..Check::default() };
    let mut batch = batch_after(&mut tx, 0).await?;
    while let Some(last) = batch.rows.last().map(|row| row.seq) {
        let checking = tokio::task::spawn_blocking(move || check.passed(batch));
        batch = batch_after(&mut tx, last).await?;
        check = checking.await.map_err(|e| sqlx::Error::Io(e.into()))?;
        if !check.faults.is_empty() {
            break;
        }
    }
    Ok(check.end())
}

/// Rows of the chain one after the other, with the items of each.
struct Rows {
    rows: Vec<Row>,
    items: HashMap<(Uuid, i32), Vec<Item>>,
}

async fn batch_after(conn: &mut Conn, last: i64) -> sqlx::Result<Rows> {
    let rows: Vec<Row> =
        sqlx::query_as("select * from application_record where seq > $1 order by seq limit $2")
            .bind(last)
            .bind(BATCH)
            .fetch_all(&mut *conn)
            .await?;
    let items = match rows.last() {
        Some(row) => items_between(conn, last, row.seq).await?,
        None => HashMap::new(),
    };
    Ok(Rows { rows, items })
}

/// How far the walk came, and what it found.
#[derive(Default)]
struct Check {
    walk: Walk,
    against: Option<Against>,
    last: i64,
    faults: Vec<String>,
}

impl Check {
    /// Goes on over these rows, up to the first wrong one.
    fn passed(mut self, mut batch: Rows) -> Self {
        for row in batch.rows {
            let own = batch.items.remove(&(row.head.id, row.head.version)).unwrap_or_default();
            let (seq, id, version) = (row.seq, row.head.id, row.head.version);
            let wrong = wrong_with(&row, own, self.last, self.walk.last());
            if !wrong.is_empty() {
                let at = |what: String| format!("place {seq}, record {id}, version {version}: {what}");
                self.faults.extend(wrong.into_iter().map(at));
                break;
            }
            self.last = seq;
            // Of 32 bytes, or it would not be the digest that it was compared with.
            self.walk.push(row.hash.try_into().unwrap_or_default());
            self.against.iter_mut().for_each(|against| against.passed(&self.walk));
        }
        self
    }

    fn end(self) -> Walked {
        let Self { walk, against, mut faults, .. } = self;
        // Past a wrong row the list is not known, so that it cannot be said to end there.
        let end = if faults.is_empty() { walk.size() } else { u64::MAX };
        faults.extend(against.and_then(|against| against.end(end)));
        Walked { rows: walk.size(), faults }
    }
}

async fn items_between(
    conn: &mut Conn,
    after: i64,
    to: i64,
) -> sqlx::Result<HashMap<(Uuid, i32), Vec<Item>>> {
    let rows: Vec<ItemRow> = sqlx::query_as(
        "select i.* from application_item i
         join application_record r on r.id = i.record_id and r.version = i.version
         where r.seq > $1 and r.seq <= $2 order by i.record_id, i.version, i.position",
    )
    .bind(after)
    .bind(to)
    .fetch_all(conn)
    .await?;
    let mut of: HashMap<(Uuid, i32), Vec<Item>> = HashMap::new();
    for row in rows {
        of.entry((row.record_id, row.version)).or_default().push(row.item);
    }
    Ok(of)
}

fn wrong_with(row: &Row, items: Vec<Item>, last: i64, previous: &[u8]) -> Vec<String> {
    let mut wrong = vec![];
    if row.seq != last + 1 {
        wrong.push(format!("a gap: the place before it is {last}"));
    }
    if row.previous_hash != previous {
        wrong.push(format!("it does not follow the hash before it, {}", hex(previous)));
    }
    if row.hash != digest(&row.previous_hash, row.seq, &row.body) {
        wrong.push("its hash does not fit its text".to_owned());
    }
    if row.body != body(&Version { head: row.head.clone(), items }) {
        wrong.push("its text differs from its columns or items".to_owned());
    }
    wrong
}
