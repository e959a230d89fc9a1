//! What happens to a site's renewal: reminded, accepted, put off, declined, taken back.
use super::{Doer, Error, Result};
use crate::db::{
    Conn, agreement,
    renewal::{self, Event},
    site,
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde_json::json;
use uuid::Uuid;

/// What was said, by whom and on which way.
#[derive(Debug, Clone)]
pub struct Said<'a> {
    /// The event's id: said twice with the same id, it is written once.
    pub id: Uuid,
    pub site: Uuid,
    /// `reminded`, `accepted`, `other-day`, `declined` or `taken-back`.
    pub kind: &'a str,
    /// With `other-day`.
    pub wished_on: Option<NaiveDate>,
    /// With `declined`.
    pub reason: Option<&'a str>,
    pub words: &'a str,
    /// `link`, `telephone`, `mail`, `in-person` or `program`.
    pub came_by: &'a str,
    /// The price that was named; nothing: the one that holds now, where it is known.
    pub price: Option<Decimal>,
}

/// Writes an event into the transaction of its cause, with the day due and the price as they stand.
///
/// # Errors
/// When the site is not there.
pub async fn note(tx: &mut Conn, doer: &Doer, said: &Said<'_>) -> Result<()> {
    let site = site::find(tx, said.site).await?.ok_or(Error::NotFound)?;
    let today = doer.today(tx).await?;
    let next = agreement::next(tx, said.site, today).await?;
    let known = next.as_ref().and_then(|n| n.quote.total.as_ref()?.decimal());
    let event = Event {
        id: said.id,
        site_id: site.id,
        customer_id: site.customer_id,
        kind: said.kind.to_owned(),
        due_on: next.map(|n| n.renewal_on),
        wished_on: said.wished_on,
        reason: said.reason.map(str::to_owned),
        words: said.words.to_owned(),
        came_by: said.came_by.to_owned(),
        price: said.price.or(known),
        entered_by: doer.person,
        happened_at: doer.clock.now(),
    };
    if renewal::insert(tx, &event).await? {
        let detail = json!({
            "kind": event.kind, "due_on": event.due_on, "wished_on": event.wished_on, "reason": event.reason,
            "came_by": event.came_by, "price": event.price,
        });
        doer.note(tx, "renewal", "site", site.id, detail).await?;
    }
    Ok(())
}

/// The same in a transaction of its own.
///
/// # Errors
/// As [`note`].
pub async fn enter(doer: &Doer, said: &Said<'_>) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    note(&mut tx, doer, said).await?;
    tx.commit().await?;
    Ok(())
}
