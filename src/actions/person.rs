//! Inviting people, changing and retiring them, and entering their certifications and courses.
use super::{Doer, Error, Result, due, secret};
use crate::db::{Conn, broken_constraint, invitation, person, session};
use crate::domain::user::Role;
use chrono::{Duration, NaiveDate};
use serde_json::json;
use uuid::Uuid;

/// An invitation works this long.
pub const INVITATION_LASTS: Duration = Duration::days(7);

/// Enters a person and makes their invitation; the secret of the link.
///
/// # Errors
/// When the e-mail is taken (field `email`).
pub async fn invite(doer: &Doer, new: &person::Person) -> Result<String> {
    let mut tx = doer.pool.begin().await?;
    person::insert(&mut tx, new, doer.clock.now()).await.map_err(|e| match broken_constraint(&e) {
        Some("person_email_once") => Error::field("email", "Somebody with this e-mail is already entered."),
        Some("person_pkey") => {
            Error::field("email", "This form was sent before; the person stands in the list.")
        }
        Some("person_email_lower") => Error::field("email", "This is not an e-mail address."),
        _ => e.into(),
    })?;
    let link = link_for(&mut tx, doer, new.id).await?;
    doer.note(&mut tx, "invited", "person", new.id, json!({ "role": new.role })).await?;
    tx.commit().await?;
    Ok(link)
}

/// Makes a new link for somebody who lost theirs or forgot the password; older links stop working.
///
/// # Errors
/// When the person is not there or has left.
pub async fn invite_again(doer: &Doer, id: Uuid) -> Result<String> {
    let mut tx = doer.pool.begin().await?;
    let found = person::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if found.retired_at.is_some() {
        return Err(Error::refused("Somebody who has left cannot be invited; bring them back first."));
    }
    let link = link_for(&mut tx, doer, id).await?;
    doer.note(&mut tx, "invited again", "person", id, json!({})).await?;
    tx.commit().await?;
    Ok(link)
}

/// Changes name, role and service area. One owner always stays.
///
/// # Errors
/// When the last owner would lose the role (field `role`).
pub async fn change(doer: &Doer, id: Uuid, name: &str, role: Role, area: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let owners = person::lock_owners(&mut tx).await?;
    let was = person::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if was.role == Role::Owner && role != Role::Owner && owners == 1 {
        return Err(Error::field(
            "role",
            "The company needs an owner; give the role to somebody else first.",
        ));
    }
    person::update(&mut tx, id, name, role, area).await?;
    doer.note(&mut tx, "changed", "person", id, json!({ "role": [was.role, role] })).await?;
    tx.commit().await?;
    Ok(())
}

/// Retires a person (their sessions end at once) or takes them back.
///
/// # Errors
/// When the last owner would leave, or visits are booked for the person.
pub async fn set_retired(doer: &Doer, id: Uuid, retired: bool) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let owners = person::lock_owners(&mut tx).await?;
    let was = person::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if retired && was.retired_at.is_none() && was.role == Role::Owner && owners == 1 {
        return Err(Error::refused("The company needs an owner; give the role to somebody else first."));
    }
    let booked = if retired { person::booked_visits(&mut tx, id).await? } else { 0 };
    if booked > 0 {
        return Err(Error::refused(format!(
            "Visits are booked for {} ({booked}); give them to somebody else or cancel them first.",
            was.name
        )));
    }
    let held = due::company_holds(&mut tx, doer).await?;
    person::set_retired(&mut tx, id, retired.then(|| doer.clock.now())).await?;
    if retired {
        session::delete_all(&mut tx, id).await?;
    }
    due::company_changed(&mut tx, doer, &held).await?;
    doer.note(&mut tx, if retired { "retired" } else { "taken back" }, "person", id, json!({})).await?;
    tx.commit().await?;
    Ok(())
}

/// Enters a certification of a person.
///
/// # Errors
/// When the dates are the wrong way round (field `expires_on`).
pub async fn certify(doer: &Doer, new: &person::Certification) -> Result<()> {
    if new.expires_on < new.valid_from {
        return Err(Error::field("expires_on", "The last day comes before the first."));
    }
    let mut tx = doer.pool.begin().await?;
    person::find(&mut tx, new.person_id).await?.ok_or(Error::NotFound)?;
    let held = due::company_holds(&mut tx, doer).await?;
    match person::insert_certification(&mut tx, new).await {
        Err(e) if broken_constraint(&e) == Some("certification_pkey") => return Ok(()), // sent twice
        other => other?,
    }
    due::company_changed(&mut tx, doer, &held).await?;
    let detail = json!({ "category": new.category, "number": new.number, "expires_on": new.expires_on });
    doer.note(&mut tx, "certification entered", "person", new.person_id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Enters a course that a person took.
///
/// # Errors
/// When it is still to come (field `taken_on`) or would run out before it was taken (field `valid_until`).
pub async fn took_course(doer: &Doer, new: &person::Course, today: NaiveDate) -> Result<()> {
    if new.taken_on > today {
        return Err(Error::field(
            "taken_on",
            "This day is still to come; enter the course when it was taken.",
        ));
    }
    if new.valid_until.is_some_and(|last| last < new.taken_on) {
        return Err(Error::field("valid_until", "The last day comes before the course."));
    }
    let mut tx = doer.pool.begin().await?;
    person::find(&mut tx, new.person_id).await?.ok_or(Error::NotFound)?;
    let held = due::company_holds(&mut tx, doer).await?;
    match person::insert_course(&mut tx, new).await {
        Err(e) if broken_constraint(&e) == Some("course_pkey") => return Ok(()), // sent twice
        other => other?,
    }
    due::company_changed(&mut tx, doer, &held).await?;
    let detail =
        json!({ "state": new.state, "name": new.name, "taken_on": new.taken_on, "proof": new.proof });
    doer.note(&mut tx, "course entered", "person", new.person_id, detail).await?;
    tx.commit().await?;
    Ok(())
}

async fn link_for(tx: &mut Conn, doer: &Doer, id: Uuid) -> Result<String> {
    let (link, now) = (secret::fresh()?, doer.clock.now());
    invitation::insert(tx, &secret::hash(&link), id, doer.person, now, now + INVITATION_LASTS).await?;
    Ok(link)
}
