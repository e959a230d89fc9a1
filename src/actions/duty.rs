//! Duties of a visit: noting what was done, and writing the notices to the customer and the site's neighbours.
//! These are no offers: who wants none, or is paused, is written to all the same.
use super::{Doer, Error, Result, message, reminder::house};
use crate::{
    db::{Conn, customer, customer_mail, duty, neighbour, site, visit},
    domain::notice::{self, Duty, Rule},
    mail::words::{self, Notice},
    texts::Language,
};
use serde_json::json;
use uuid::Uuid;

/// The duties of a visit by its state, county and the methods of what it means to apply, or applied.
#[must_use]
pub fn required(of: &visit::Visit, doses: &[visit::Dose]) -> Vec<&'static Rule> {
    let counted = doses.iter().filter(|d| matches!(d.status.as_str(), "planned" | "applied"));
    let methods: Vec<&str> = counted.map(|d| d.method.as_str()).collect();
    notice::required(&of.state, &of.county, &methods)
}

/// Notes that a duty is done, and how.
///
/// # Errors
/// When the visit has no such duty, or nothing is said of how (field `how`).
pub async fn mark(doer: &Doer, id: Uuid, code: &str, how: &str) -> Result<()> {
    if how.is_empty() {
        return Err(Error::field("how", "Say how it was done."));
    }
    let mut tx = doer.pool.begin().await?;
    asked(&mut tx, id, code).await?;
    note(&mut tx, doer, id, code, how).await?;
    tx.commit().await?;
    Ok(())
}

async fn note(tx: &mut Conn, doer: &Doer, id: Uuid, code: &str, how: &str) -> Result<()> {
    let by = doer.person.ok_or(Error::NotFound)?;
    if duty::insert(tx, id, code, (by, doer.clock.now()), how).await? {
        doer.note(tx, "duty done", "visit", id, json!({ "code": code, "how": how })).await?;
    }
    Ok(())
}

/// The visit and its rule of that code.
async fn asked(
    tx: &mut Conn,
    id: Uuid,
    code: &str,
) -> Result<(visit::Visit, Vec<visit::Dose>, &'static Rule)> {
    let found = visit::find(tx, id).await?.ok_or(Error::NotFound)?;
    if found.status == "cancelled" {
        return Err(Error::refused("This visit is cancelled; nobody needs to be told."));
    }
    let doses = visit::doses(tx, id).await?;
    let rule = required(&found, &doses).into_iter().find(|r| r.code == code).ok_or(Error::NotFound)?;
    Ok((found, doses, rule))
}

/// Writes the notices of a duty into the outbox and notes it as done; how many were written.
///
/// # Errors
/// When the duty is not one of telling, or nobody is known to be told.
pub async fn tell(doer: &Doer, id: Uuid, code: &str) -> Result<usize> {
    let mut tx = doer.pool.begin().await?;
    let (v, doses, rule) = asked(&mut tx, id, code).await?;
    let place = site::find(&mut tx, v.site_id).await?.ok_or(Error::NotFound)?;
    let who = customer::find(&mut tx, place.customer_id).await?.ok_or(Error::NotFound)?;
    let own = customer_mail::find(&mut tx, who.id).await?;
    let people: Vec<(String, String, String)> = match rule.duty {
        Duty::Sign => return Err(Error::refused("A sign is put up, not sent.")),
        Duty::Customer | Duty::Statement => vec![(who.id.to_string(), who.name.clone(), who.email.clone())],
        Duty::Neighbours | Duty::Registry => {
            let all = neighbour::of_site(&mut tx, v.site_id).await?.into_iter();
            let named = |n: neighbour::Neighbour| {
                let name = if n.address.is_empty() { n.name } else { format!("{}, {}", n.name, n.address) };
                (n.id.to_string(), name, n.email)
            };
            all.map(named).collect()
        }
    };
    if people.is_empty() {
        return Err(Error::refused(
            "No neighbour is on the site's list. Enter them there first, or tell them and note it here.",
        ));
    }
    let said = Notice {
        statement: rule.duty == Duty::Statement,
        on: v.on_date,
        place: format!("{}, {}, {} {}", v.street, v.city, v.state, v.zip),
        products: products(&doses),
        rule: format!("{} ({})", rule.words, rule.source),
    };
    let language = Language::from_code(&own.language).unwrap_or_default();
    let company = house(&mut tx).await?;
    let mut written = 0;
    for (key, name, email) in people {
        let new = message::New {
            id: Uuid::now_v7(),
            customer: matches!(rule.duty, Duty::Customer | Duty::Statement).then_some(&who),
            site: Some(v.site_id),
            kind: "notice",
            cause: format!("notice {id} {code} {} {key}", v.on_date),
            language,
            written: words::notice(&company, &name, &said),
            recipient: email,
            recipient_name: name,
            link: String::new(),
            unsubscribe: String::new(),
            calendar: String::new(),
            file: None,
            lasts: None,
        };
        written += usize::from(message::write(&mut tx, doer, new).await?.is_some());
    }
    let how = format!("{written} notice{} written by this program", if written == 1 { "" } else { "s" });
    if written > 0 {
        note(&mut tx, doer, id, code, &how).await?;
    }
    tx.commit().await?;
    Ok(written)
}

/// Each product once, with its number.
fn products(doses: &[visit::Dose]) -> Vec<String> {
    let mut all: Vec<String> = doses
        .iter()
        .filter(|d| matches!(d.status.as_str(), "planned" | "applied"))
        .map(|d| {
            format!(
                "{}, EPA Reg. No. {}: {}",
                d.product_name,
                d.registration_number,
                d.method.replace('-', " ")
            )
        })
        .collect();
    all.sort();
    all.dedup();
    all
}
