//! Duties of a visit: noting what was done, and writing the notices to the customer and the site's neighbours.
//! These are no offers: who wants none, or is paused, is written to all the same.
mod standing;

pub use standing::{Line, Of, begin, in_time, lacked, lines, open_visits};

use super::{Doer, Error, Result, message, reminder::house};
use crate::{
    db::{
        Conn, company, customer, customer_mail,
        duty::{self, New},
        neighbour, site, visit,
    },
    domain::notice::{self, Duty, Rule, Standing},
    mail::words::{self, Notice},
    texts::Language,
};
use chrono::{DateTime, NaiveDate, Utc};
use serde_json::json;
use standing::is_owner;
use uuid::Uuid;

/// The duties of a visit by its state, county and the methods of what it means to apply, or applied.
#[must_use]
pub fn required(of: &visit::Visit, doses: &[visit::Dose]) -> Vec<&'static Rule> {
    notice::required(&of.state, &of.county, &Of::visit(of, doses).methods)
}

/// Notes that a duty is done, and how; without a moment it was done just now.
///
/// # Errors
/// When the visit has no such duty, nothing is said of how (field `how`), or the moment is still to come (field `when`).
pub async fn mark(
    doer: &Doer,
    id: Uuid,
    code: &str,
    how: &str,
    done_at: Option<DateTime<Utc>>,
) -> Result<()> {
    if how.is_empty() {
        return Err(Error::field("how", "Say how it was done."));
    }
    let now = doer.clock.now();
    if done_at.is_some_and(|at| at > now) {
        return Err(Error::field("when", "This moment is still to come; note it when it is done."));
    }
    let mut tx = doer.pool.begin().await?;
    let asked = asked(&mut tx, id, code).await?;
    if !asked.said_already(how) {
        asked.note(&mut tx, doer, how, done_at.unwrap_or(now), false).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// The owner says why the law leaves a duty open at this visit; nothing else lets work begin without it.
///
/// # Errors
/// Not found for anybody else; refused without a reason (field `excuse`), or where the duty holds nothing.
pub async fn excuse(doer: &Doer, id: Uuid, code: &str, why: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    if !is_owner(&mut tx, doer).await? {
        return Err(Error::NotFound);
    }
    if why.is_empty() {
        return Err(Error::field("excuse", "Say why the law does not ask for it at this visit."));
    }
    let asked = asked(&mut tx, id, code).await?;
    if !asked.line.rule.holds() {
        return Err(Error::refused("This rule holds no visit; there is nothing to leave open."));
    }
    if !asked.said_already(why) {
        asked.note(&mut tx, doer, why, doer.clock.now(), true).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Keeps with a visit what the owner said of duties that its plan could not keep.
///
/// # Errors
/// When the database does not answer.
pub(super) async fn keep_excuses(
    tx: &mut Conn,
    doer: &Doer,
    (visit, on): (Uuid, NaiveDate),
    rules: &[&'static Rule],
    why: &str,
) -> Result<()> {
    for rule in rules {
        let (now, by) = (doer.clock.now(), doer.person.ok_or(Error::NotFound)?);
        let new = New { visit, code: rule.code, for_day: on, done_at: now, by, how: why, excused: true };
        duty::insert(tx, &new, now).await?;
        let detail = json!({ "code": rule.code, "why": why, "for": on });
        doer.note(tx, "duty left open", "visit", visit, detail).await?;
    }
    Ok(())
}

/// A visit with one of its duties.
struct Asked {
    visit: visit::Visit,
    doses: Vec<visit::Dose>,
    line: Line,
}

impl Asked {
    /// The same words once more: the form was sent twice.
    fn said_already(&self, how: &str) -> bool {
        let last = self.line.deeds.last();
        self.line.standing.is_settled() && last.is_some_and(|d| d.how == how)
    }

    async fn note(
        &self,
        tx: &mut Conn,
        doer: &Doer,
        how: &str,
        done_at: DateTime<Utc>,
        excused: bool,
    ) -> Result<()> {
        let by = doer.person.ok_or(Error::NotFound)?;
        let (visit, for_day, code) = (self.visit.id, self.visit.on_date, self.line.rule.code);
        let new = New { visit, code, for_day, done_at, by, how, excused };
        if duty::insert(tx, &new, doer.clock.now()).await? {
            let deed = if excused { "duty left open" } else { "duty done" };
            let detail = json!({ "code": code, "how": how, "for": for_day, "at": done_at });
            doer.note(tx, deed, "visit", visit, detail).await?;
        }
        Ok(())
    }
}

/// The visit and its duty of that code.
async fn asked(tx: &mut Conn, id: Uuid, code: &str) -> Result<Asked> {
    let visit = visit::find(tx, id).await?.ok_or(Error::NotFound)?;
    if visit.status == "cancelled" {
        return Err(Error::refused("This visit is cancelled; nobody needs to be told."));
    }
    let doses = visit::doses(tx, id).await?;
    let zone = company::time_zone(tx).await?;
    let done = duty::of_visits(tx, &[id]).await?;
    let all = lines(&Of::visit(&visit, &doses), &done, zone);
    let line = all.into_iter().find(|line| line.rule.code == code).ok_or(Error::NotFound)?;
    Ok(Asked { visit, doses, line })
}

/// Writes the notices of a duty into the outbox and notes it as done; how many were written.
///
/// # Errors
/// When the duty is not one of telling, or nobody is known to be told.
pub async fn tell(doer: &Doer, id: Uuid, code: &str) -> Result<usize> {
    let mut tx = doer.pool.begin().await?;
    let asked = asked(&mut tx, id, code).await?;
    let (v, rule) = (&asked.visit, asked.line.rule);
    if asked.line.standing == Standing::Done {
        return Ok(0);
    }
    // Who was told of another day since hears of this one again.
    let other_days = asked.line.deeds.iter().filter(|d| d.for_day != v.on_date).count();
    let again = if other_days == 0 { String::new() } else { format!("{other_days} ") };
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
        products: products(&asked.doses),
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
            cause: format!("notice {id} {code} {} {again}{key}", v.on_date),
            language,
            written: words::notice(&company, &name, &said),
            recipient: email,
            recipient_name: name,
            ..message::New::default()
        };
        written += usize::from(message::write(&mut tx, doer, new).await?.is_some());
    }
    let how = format!("{written} notice{} written by this program", if written == 1 { "" } else { "s" });
    if written > 0 {
        asked.note(&mut tx, doer, &how, doer.clock.now(), false).await?;
    }
    tx.commit().await?;
    Ok(written)
}

/// Each product once, with its number.
fn products(doses: &[visit::Dose]) -> Vec<String> {
    let mut all: Vec<String> = doses
        .iter()
        .filter(|d| d.counts())
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
