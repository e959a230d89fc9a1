//! What a customer wants to hear: language, pause, the end of offers, the end of links.
use super::{Doer, Error, Result, mail_terms as terms};
use crate::{
    db::{Conn, customer, customer_mail, mail_terms, message},
    mail::link::{Purpose, open},
    texts::Language,
};
use serde_json::json;
use uuid::Uuid;

/// What the office may change of a customer's wishes.
#[derive(Debug, Clone)]
pub struct OfficeWishes {
    pub language: Language,
    pub paused: bool,
    /// Whether offers may be sent; the customer said so.
    pub offers: bool,
}

/// Changes a customer's wishes from the office.
///
/// # Errors
/// When the customer is not there.
pub async fn change(doer: &Doer, customer: Uuid, new: &OfficeWishes) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    customer::lock(&mut tx, customer).await?.ok_or(Error::NotFound)?;
    let was = customer_mail::find(&mut tx, customer).await?;
    let mut now = was.clone();
    now.language = new.language.code().to_owned();
    now.paused = new.paused;
    set_offers(&mut now, new.offers, "told the office", doer);
    if now != was {
        customer_mail::save(&mut tx, customer, &now).await?;
        withdraw(&mut tx, doer, customer, &now).await?;
        let detail = json!({ "language": now.language, "paused": now.paused, "offers": new.offers });
        doer.note(&mut tx, "changed wishes", "customer", customer, detail).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Keeps `stopped_at` where offers were stopped already.
pub(super) fn set_offers(wishes: &mut customer_mail::Wishes, offers: bool, how: &str, doer: &Doer) {
    match (offers, wishes.offers_stopped_at) {
        (true, _) => (wishes.offers_stopped_at, wishes.offers_stopped_how) = (None, String::new()),
        (false, None) => {
            wishes.offers_stopped_at = Some(doer.clock.now());
            how.clone_into(&mut wishes.offers_stopped_how);
        }
        (false, Some(_)) => {}
    }
}

/// What is not out yet does not go out any more; notices that the law asks for stay.
pub(super) async fn withdraw(
    tx: &mut Conn,
    doer: &Doer,
    customer: Uuid,
    now: &customer_mail::Wishes,
) -> Result<()> {
    let why = if now.offers_stopped_at.is_some() {
        "The customer wants no offers any more."
    } else if now.paused {
        "Reminders to this customer are paused."
    } else {
        return Ok(());
    };
    message::withdraw_offers(tx, customer, why, doer.clock.now()).await?;
    Ok(())
}

/// Whose offers an address ends; nobody's: it is not ours or too old.
///
/// # Errors
/// When the database does not answer.
pub async fn whose_offers(conn: &mut Conn, doer: &Doer, link: &str) -> Result<Option<Uuid>> {
    let key = mail_terms::link_key(conn).await?.unwrap_or_default();
    Ok(open(&key, Purpose::NoOffers, link, doer.clock.now()).map(|claim| claim.customer))
}

/// Whose page a link opens; nobody's: it is not ours, too old, or ended.
///
/// # Errors
/// When the database does not answer.
pub async fn whose_page(conn: &mut Conn, doer: &Doer, link: &str) -> Result<Option<customer::Customer>> {
    let Some(key) = mail_terms::link_key(conn).await? else { return Ok(None) };
    let Some(claim) = open(&key, Purpose::Page, link, doer.clock.now()) else { return Ok(None) };
    let wishes = customer_mail::find(conn, claim.customer).await?;
    if claim.generation != wishes.link_generation {
        return Ok(None);
    }
    Ok(customer::find(conn, claim.customer).await?.filter(|c| c.retired_at.is_none()))
}

/// Ends offers to whoever the address is for, by one click in their mail or on the page of that address.
///
/// # Errors
/// Not found when the address is not ours or too old.
pub async fn end_offers(doer: &Doer, link: &str, how: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let customer = whose_offers(&mut tx, doer, link).await?.ok_or(Error::NotFound)?;
    customer::lock(&mut tx, customer).await?.ok_or(Error::NotFound)?;
    let was = customer_mail::find(&mut tx, customer).await?;
    if was.offers_stopped_at.is_none() {
        let mut now = was;
        set_offers(&mut now, false, how, doer);
        customer_mail::save(&mut tx, customer, &now).await?;
        withdraw(&mut tx, doer, customer, &now).await?;
        doer.note(&mut tx, "ended offers", "customer", customer, json!({ "how": how })).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// A fresh link to a customer's page, to hand over on the telephone or in person.
///
/// # Errors
/// When the customer is not there or retired.
pub async fn make_link(doer: &Doer, customer: Uuid) -> Result<String> {
    let mut tx = doer.pool.begin().await?;
    let found = customer::lock(&mut tx, customer).await?.ok_or(Error::NotFound)?;
    if found.retired_at.is_some() {
        return Err(Error::refused("A retired customer has no page; bring them back first."));
    }
    let links = terms::links(&mut tx, doer, customer).await?;
    doer.note(&mut tx, "link made", "customer", customer, json!({})).await?;
    tx.commit().await?;
    Ok(links.page)
}

/// Ends every link to a customer's page that is about.
///
/// # Errors
/// When the customer is not there.
pub async fn end_links(doer: &Doer, customer: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    customer::lock(&mut tx, customer).await?.ok_or(Error::NotFound)?;
    let mut wishes = customer_mail::find(&mut tx, customer).await?;
    wishes.link_generation += 1;
    customer_mail::save(&mut tx, customer, &wishes).await?;
    doer.note(&mut tx, "links ended", "customer", customer, json!({})).await?;
    tx.commit().await?;
    Ok(())
}
