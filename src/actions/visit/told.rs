//! Who said yes is told the exact day by mail as soon as it is booked, moved or cancelled, with a calendar file that is
//! always the same event: one name for ever, one number higher each time (RFC 5545, 3.8.7.4).
use crate::{
    actions::{Doer, Error, Result, mail_terms, message, reminder::house},
    db::{
        Conn, customer, customer_mail, site, visit,
        visit_told::{self, Answered, New},
    },
    mail::day::{self, DaySaid},
    output::ical::{self, Day},
    texts::Language,
};
use chrono::TimeDelta;
use uuid::Uuid;

/// Why an older word about the same event does not go out any more.
const OLDER: &str = "A newer message about this visit took its place.";

/// Tells the day that the visit now has to each customer of it who said yes and does not know it.
///
/// # Errors
/// When the database does not answer.
pub(super) async fn day(tx: &mut Conn, doer: &Doer, id: Uuid) -> Result<()> {
    let found = visit::find(tx, id).await?.ok_or(Error::NotFound)?;
    for answer in visit_told::answers(tx, id).await? {
        if answer.told_on != Some(found.on_date) {
            tell(tx, doer, &found, &answer, false).await?;
            // They know the day now: no plan moves it without somebody's say.
            visit::set_promised(tx, id, true).await?;
        }
    }
    Ok(())
}

/// Tells those who know the day that nobody comes.
///
/// # Errors
/// When the database does not answer.
pub(super) async fn off(tx: &mut Conn, doer: &Doer, id: Uuid) -> Result<()> {
    let found = visit::find(tx, id).await?.ok_or(Error::NotFound)?;
    for answer in visit_told::answers(tx, id).await? {
        if answer.told_on.is_some() {
            tell(tx, doer, &found, &answer, true).await?;
        }
    }
    Ok(())
}

async fn tell(tx: &mut Conn, doer: &Doer, of: &visit::Visit, answer: &Answered, off: bool) -> Result<()> {
    let Some(who) = customer::find(tx, answer.customer_id).await? else { return Ok(()) };
    let place = site::find(tx, answer.site_id).await?.ok_or(Error::NotFound)?;
    let language = Language::from_code(&customer_mail::find(tx, who.id).await?.language).unwrap_or_default();
    let links = mail_terms::links(tx, doer, who.id).await?;
    let company = house(tx).await?;
    // The answer's own event, unless another visit to other plants of the same answer has it.
    let uid = answer.uid.unwrap_or(if answer.taken { of.id } else { answer.answer_id });
    let sequence = visit_told::next(tx, uid).await?;
    let on = (!off).then_some(of.on_date);
    let said = DaySaid {
        customer: who.name.clone(),
        street: place.street.clone(),
        on,
        was: answer.told_on,
        plants: answer.plants.clone(),
        page: links.page.clone(),
    };
    let event = Day {
        id: uid,
        sequence,
        on: answer.told_on.filter(|_| off).unwrap_or(of.on_date),
        off,
        summary: format!("{}: {}", company.name, place.street),
        place: format!("{}, {}, {} {}", place.street, place.city, place.state, place.zip),
        description: answer.plants.join("; "),
        organizer: company.name.clone(),
    };
    let now = doer.clock.now();
    let new = message::New {
        id: Uuid::now_v7(),
        customer: Some(&who),
        site: Some(place.id),
        kind: "answer",
        cause: format!("visit day {uid} {sequence}"),
        language,
        recipient: who.email.clone(),
        recipient_name: who.name.clone(),
        written: day::day(language, &company, &said),
        link: links.page.clone(),
        calendar: ical::write_day(&company.name, (doer.host(), &doer.base), now, &event),
        lasts: Some((of.on_date - doer.today(tx).await?).max(TimeDelta::zero()) + TimeDelta::days(1)),
        ..message::New::default()
    };
    visit_told::withdraw_unsent(tx, uid, OLDER, now).await?;
    if let Some(message) = message::write(tx, doer, new).await? {
        let kept = New { uid, sequence, visit: of.id, answer: answer.answer_id, on, message };
        visit_told::insert(tx, &kept).await?;
    }
    Ok(())
}
