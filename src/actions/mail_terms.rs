//! How the company writes to its customers: its dates, its quiet days, the key of its links.
use super::{Doer, Error, Result};
use crate::{
    db::{
        Conn, customer_mail,
        mail_terms::{self, Terms},
    },
    mail::link::{Claim, Purpose, sign},
};
use chrono::TimeDelta;
use serde_json::json;
use uuid::Uuid;

/// So many days an address that ends offers works. 15 U.S.C. 7704(a)(3)(A)(ii) asks for thirty after sending.
const DAYS_TO_END_OFFERS: i64 = 400;

/// The terms, made where there are none yet.
///
/// # Errors
/// When the database does not answer, or the machine has no randomness to give.
pub async fn terms(conn: &mut Conn) -> Result<Terms> {
    if let Some(found) = mail_terms::find(conn).await? {
        return Ok(found);
    }
    let mut key = [0; 32];
    getrandom::fill(&mut key).map_err(|e| anyhow::anyhow!("no randomness: {e}"))?;
    mail_terms::make(conn, &key).await?;
    Ok(mail_terms::find(conn).await?.ok_or_else(|| anyhow::anyhow!("the terms of mail were not made"))?)
}

/// Changes the terms.
///
/// # Errors
/// When the days are none that a company can keep (fields `days_before`, `days_after`, `quiet`, `link_days`).
pub async fn change(doer: &Doer, new: &Terms) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = terms(&mut tx).await?;
    if new.quiet_weekdays.len() > 6 {
        return Err(Error::field(
            "quiet_weekdays",
            "Leave at least one day of the week on which mail goes out.",
        ));
    }
    if new.running && new.days_before.is_empty() && new.days_after.is_empty() {
        return Err(Error::field("days_before", "Give at least one day, or pause the reminders."));
    }
    if was != *new {
        mail_terms::save(&mut tx, new).await?;
        doer.note(&mut tx, "changed", "mail terms", Uuid::nil(), json!({ "from": was, "to": new })).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// The links that a message to a customer carries.
#[derive(Debug, Clone)]
pub struct Links {
    pub page: String,
    pub no_offers: String,
}

/// Fresh links for a customer. They name nothing that is kept, so that any number may be about.
///
/// # Errors
/// When the database does not answer.
pub async fn links(conn: &mut Conn, doer: &Doer, customer: Uuid) -> Result<Links> {
    let days = i64::from(terms(conn).await?.link_days);
    let key = mail_terms::link_key(conn).await?.unwrap_or_default();
    let generation = customer_mail::find(conn, customer).await?.link_generation;
    let now = doer.clock.now();
    let page = Claim { customer, until: now + TimeDelta::days(days), generation };
    // Ending the links of the page must not end the way out of offers.
    let out = Claim { customer, until: now + TimeDelta::days(DAYS_TO_END_OFFERS), generation: 0 };
    Ok(Links {
        page: format!("{}/c/{}", doer.base, sign(&key, Purpose::Page, &page)),
        no_offers: format!("{}/u/{}", doer.base, sign(&key, Purpose::NoOffers, &out)),
    })
}
