//! The chain over the audit: rows are linked after they were committed, and the whole can be checked.
use crate::{
    db::{Conn, chain::Walked},
    domain::{
        chain::{HASH_BYTES, audit_preimage, hex},
        head::{Against, Part, Walk},
    },
};
use sha2::{Digest, Sha256};
use sqlx::PgPool;

/// One at a time links: any number, as long as nothing else uses it.
const LOCK: i64 = 0x706c_616e_7461_7564;
/// So many rows at once.
const BATCH: i64 = 5_000;

/// A row's fixed text; the database writes its own JSON in one way only. Times are counted in microseconds, as
/// they are kept.
macro_rules! body {
    () => {
        "jsonb_build_array(a.id, (extract(epoch from a.at) * 1000000)::bigint, a.person_id, a.deed, a.noun,
            a.noun_id, a.detail)::text"
    };
}

/// Links rows that wait for it, some at a time, in the order of their numbers; how many were linked.
///
/// # Errors
/// When the database does not answer.
pub async fn link(conn: &mut Conn) -> sqlx::Result<usize> {
    sqlx::query("select pg_advisory_xact_lock($1)").bind(LOCK).execute(&mut *conn).await?;
    let rows: Vec<(i64, String)> = sqlx::query_as(concat!(
        "with taken as (delete from audit_unlinked where audit_id in (
            select audit_id from audit_unlinked order by audit_id limit $1) returning audit_id)
         select a.id, ",
        body!(),
        " from audit a join taken on taken.audit_id = a.id order by a.id"
    ))
    .bind(BATCH)
    .fetch_all(&mut *conn)
    .await?;
    if rows.is_empty() {
        return Ok(0);
    }
    let end: Option<(i64, Vec<u8>)> =
        sqlx::query_as("select seq, hash from audit_link order by seq desc limit 1")
            .fetch_optional(&mut *conn)
            .await?;
    let (mut seq, mut last) = end.unwrap_or((0, vec![0; HASH_BYTES]));
    let (mut ids, mut places, mut before, mut hashes) = (vec![], vec![], vec![], vec![]);
    for (id, body) in &rows {
        seq += 1;
        let hash = Sha256::digest(audit_preimage(&last, seq, body)).to_vec();
        ids.push(*id);
        places.push(seq);
        before.push(std::mem::replace(&mut last, hash.clone()));
        hashes.push(hash);
    }
    sqlx::query(
        "insert into audit_link (seq, audit_id, previous_hash, hash)
         select * from unnest($1::bigint[], $2::bigint[], $3::bytea[], $4::bytea[])",
    )
    .bind(places)
    .bind(ids)
    .bind(before)
    .bind(hashes)
    .execute(conn)
    .await?;
    Ok(rows.len())
}

#[derive(sqlx::FromRow)]
struct Link {
    seq: i64,
    audit_id: i64,
    previous_hash: Vec<u8>,
    hash: Vec<u8>,
    /// None: the row is gone.
    body: Option<String>,
}

/// Walks the audit's chain from its start, beside the head if there is one, and looks for rows that are neither
/// linked nor wait to be.
///
/// # Errors
/// When the database does not answer.
pub async fn verify(pool: &PgPool, kept: Option<&Part>) -> sqlx::Result<Walked> {
    let mut tx = pool.begin().await?;
    sqlx::query("set transaction isolation level repeatable read read only").execute(&mut *tx).await?;
    let (mut walk, mut against, mut faults) = (Walk::default(), kept.cloned().map(Against::of), vec![]);
    let mut last = 0;
    'chain: loop {
        let rows: Vec<Link> = sqlx::query_as(concat!(
            "select l.seq, l.audit_id, l.previous_hash, l.hash, ",
            "case when a.id is not null then ",
            body!(),
            " end as body from audit_link l left join audit a on a.id = l.audit_id
             where l.seq > $1 order by l.seq limit $2"
        ))
        .bind(last)
        .bind(BATCH)
        .fetch_all(&mut *tx)
        .await?;
        if rows.is_empty() {
            break;
        }
        for row in rows {
            if let Some(wrong) = wrong_with(&row, last, walk.last()) {
                faults.push(format!("place {}, audit row {}: {wrong}", row.seq, row.audit_id));
                break 'chain;
            }
            last = row.seq;
            walk.push(row.hash.try_into().unwrap_or_default());
            against.iter_mut().for_each(|against| against.passed(&walk));
        }
    }
    let end = if faults.is_empty() { walk.size() } else { u64::MAX };
    faults.extend(against.and_then(|against| against.end(end)));
    let (loose, first): (i64, Option<i64>) = sqlx::query_as(
        "select count(*), min(id) from audit a where not exists (select 1 from audit_link l where l.audit_id = a.id)
            and not exists (select 1 from audit_unlinked u where u.audit_id = a.id)",
    )
    .fetch_one(&mut *tx)
    .await?;
    faults.extend(first.map(|id| format!("audit row {id}: no link covers it, and {} more", loose - 1)));
    Ok(Walked { rows: walk.size(), faults })
}

fn wrong_with(row: &Link, last: i64, previous: &[u8]) -> Option<String> {
    let Some(body) = row.body.as_ref() else { return Some("it is gone".to_owned()) };
    if row.seq != last + 1 {
        return Some(format!("a gap: the place before it is {last}"));
    }
    if row.previous_hash != previous {
        return Some(format!("it does not follow the hash before it, {}", hex(previous)));
    }
    let fits = row.hash == Sha256::digest(audit_preimage(previous, row.seq, body)).as_slice();
    (!fits).then(|| "it is not as it was written".to_owned())
}
