//! Who comes on which day: the day is near enough and not on hold, the people are at work and certified there.
use crate::{
    actions::{Error, Result},
    db::{Conn, day_hold, fact, person, record},
    domain::{calendar::add_months, permission::Applicator},
};
use chrono::NaiveDate;
use uuid::Uuid;

/// Further ahead no visit is booked: a slip of the year would hide the plant for as long.
pub const MONTHS_AHEAD: u32 = 18;

/// Nothing is booked for a day that is on hold. The day stays as it is until the transaction ends.
pub(super) async fn not_held(conn: &mut Conn, state: &str, county: &str, on: NaiveDate) -> Result<()> {
    day_hold::share(conn, on).await?;
    let Some(found) = day_hold::covering(conn, on, state, county).await? else { return Ok(()) };
    Err(Error::field(
        "on",
        format!(
            "{} is on hold {}: {}. Choose another day, or lift the hold first.",
            on.format("%b %-d, %Y"),
            found.place_words(),
            found.reason.trim_end_matches('.')
        ),
    ))
}

/// Who would come, for the state's rules; the day must lie neither behind us nor too far ahead.
pub(super) async fn applicator(
    conn: &mut Conn,
    (technician, supervisor): (Uuid, Option<Uuid>),
    state: &str,
    on: NaiveDate,
    today: NaiveDate,
) -> Result<Applicator> {
    if on < today {
        return Err(Error::field("on", "A visit is booked for today or later; record what was done before."));
    }
    let last = add_months(today, MONTHS_AHEAD);
    if on > last {
        return Err(Error::field(
            "on",
            format!(
                "A visit is booked at most {MONTHS_AHEAD} months ahead, until {}. Check the year.",
                last.format("%b %-d, %Y")
            ),
        ));
    }
    let found = person::find(conn, technician).await?;
    if found.is_none_or(|p| p.retired_at.is_some()) {
        return Err(Error::field("technician", "Choose somebody who is at work."));
    }
    if let Some(other) = supervisor {
        supervises(conn, other, technician, state, on).await?;
    }
    Ok(fact::applicator(conn, technician, supervisor, state, on).await?)
}

/// Whoever answers for the technician is another person, at work, and certified there on that day.
async fn supervises(conn: &mut Conn, id: Uuid, technician: Uuid, state: &str, on: NaiveDate) -> Result<()> {
    let wrong = |words: String| Err(Error::field("supervisor", words));
    if id == technician {
        return wrong("Nobody supervises themselves; choose another person, or nobody.".to_owned());
    }
    match record::person_on(conn, id, state, on).await? {
        Some(found) if found.retired => wrong("Choose somebody who is at work.".to_owned()),
        Some(found) if found.number.is_empty() => wrong(format!(
            "{} holds no certification of {state} on {}; only a certified applicator supervises.",
            found.name,
            on.format("%b %-d, %Y")
        )),
        Some(_) => Ok(()),
        None => wrong("Choose one of these people.".to_owned()),
    }
}
