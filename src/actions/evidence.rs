//! What stands behind the records: who saw and took out what, the audit's links, and heads to be kept outside.
use super::{Doer, Error, Result};
use crate::{
    db::{
        Conn, audit, chain, company,
        head::{self, List},
    },
    domain::{growth::Growth, head::Head},
};
use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

/// A look at a page, or a file that it gave.
#[derive(Debug, Clone)]
pub struct View {
    /// It was a file, which left.
    pub file: bool,
    pub noun: &'static str,
    /// None: a list.
    pub id: Option<Uuid>,
    pub detail: Value,
    /// The page asks for itself again and again.
    pub again: bool,
}

/// Looks that follow each other by themselves within so long are one.
const ONE_LOOK: TimeDelta = TimeDelta::minutes(10);

/// Writes down that the person saw this or took it out.
///
/// # Errors
/// When the database does not answer.
pub async fn viewed(doer: &Doer, view: View) -> Result<()> {
    let mut conn = doer.pool.acquire().await?;
    let (at, person) = (doer.clock.now(), doer.person);
    let deed = if view.file { "exported" } else { "seen" };
    if view.again && audit::was_seen(&mut conn, person, view.noun, view.id, at - ONE_LOOK).await? {
        return Ok(());
    }
    let row = audit::Deed { at, person, deed, noun: view.noun, noun_id: view.id, detail: view.detail };
    Ok(audit::write(&mut conn, row).await?)
}

/// Writes down that a customer's own page was opened with its link.
///
/// # Errors
/// When the database does not answer.
pub async fn own_page_seen(doer: &Doer, conn: &mut Conn, customer: Uuid) -> Result<()> {
    doer.note(conn, "seen", "customer's own page", customer, json!({})).await
}

/// Writes down which visits a phone took.
///
/// # Errors
/// When the database does not answer.
pub async fn taken_by_phone(doer: &Doer, conn: &mut Conn, visits: &[Uuid]) -> Result<()> {
    exported(doer, conn, "visits on a phone", json!({ "visits": visits })).await
}

/// Writes down that the person took this list out, with what it was narrowed to.
///
/// # Errors
/// When the database does not answer.
pub async fn exported(doer: &Doer, conn: &mut Conn, list: &str, detail: Value) -> Result<()> {
    let (at, person) = (doer.clock.now(), doer.person);
    let deed = audit::Deed { at, person, deed: "exported", noun: list, noun_id: None, detail };
    Ok(audit::write(conn, deed).await?)
}

/// Links what waits of the audit; how many rows.
///
/// # Errors
/// When the database does not answer.
pub async fn link_audit(doer: &Doer) -> Result<usize> {
    let mut all = 0;
    loop {
        let mut tx = doer.pool.begin().await?;
        let linked = audit::link(&mut tx).await?;
        tx.commit().await?;
        all += linked;
        if linked == 0 {
            return Ok(all);
        }
    }
}

/// Takes a head of both lists, to be kept outside.
///
/// # Errors
/// When the database does not answer.
pub async fn take_head(doer: &Doer) -> Result<Uuid> {
    link_audit(doer).await?;
    let mut tx = doer.pool.begin().await?;
    let id = take_in(&mut tx, doer).await?;
    tx.commit().await?;
    Ok(id)
}

/// Takes a head within a transaction; of the audit it covers what is linked by now.
///
/// # Errors
/// When the database does not answer.
pub async fn take_in(tx: &mut Conn, doer: &Doer) -> Result<Uuid> {
    let records = head::part(tx, List::Records).await?;
    let audit = head::part(tx, List::Audit).await?;
    let id = Uuid::now_v7();
    head::insert(tx, id, doer.person, doer.clock.now(), &records, &audit).await?;
    let detail = json!({ "records": records.size, "audit rows": audit.size });
    doer.note(tx, "taken", "head", id, detail).await?;
    Ok(id)
}

/// Between two heads: whether each list, as it stands, begins with the older one and goes on to the newer one.
///
/// # Errors
/// When the database does not answer.
pub async fn growth(conn: &mut Conn, older: &Head, newer: &Head) -> Result<[Growth; 2]> {
    let records = head::growth(conn, List::Records, older.records.size, newer.records.size).await?;
    let audit = head::growth(conn, List::Audit, older.audit.size, newer.audit.size).await?;
    Ok([
        Growth::of("records", &older.records, &newer.records, records),
        Growth::of("audit", &older.audit, &newer.audit, audit),
    ])
}

/// A head that covers every record there is now: the newest one, or else another is taken.
///
/// # Errors
/// When the database does not answer.
pub async fn current_head(doer: &Doer) -> Result<Head> {
    let mut conn = doer.pool.acquire().await?;
    let end = chain::end(&mut conn).await?.map_or(0, |(seq, _)| seq);
    let newest = head::newest(&mut conn, 1).await?.pop().filter(|taken| taken.records_size == end);
    drop(conn);
    let id = match newest {
        Some(taken) => taken.id,
        None => take_head(doer).await?,
    };
    head(&mut *doer.pool.acquire().await?, id).await
}

/// A head that was taken, with its marks.
///
/// # Errors
/// When there is none of that name.
pub async fn head(conn: &mut Conn, id: Uuid) -> Result<Head> {
    let taken = head::find(conn, id).await?.ok_or(Error::NotFound)?;
    let company = company::find(conn).await?.map(|c| c.name).unwrap_or_default();
    Ok(head::with_marks(conn, taken, &company).await?)
}
