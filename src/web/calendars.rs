//! A technician's visits for the calendar of their telephone: the secret address, its making and its end.
use super::{
    AppState, Error, Result, account,
    form::Posted,
    people,
    session::{self, Actor},
};
use crate::{
    actions::{calendar_feed as verbs, secret},
    db::{calendar_feed, company},
    output::ical::{self, Entry},
    texts::Language,
};
use axum::{
    extract::{Path, State},
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
};
use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use chrono_tz::Tz;
use uuid::Uuid;

/// So many days back and ahead stand in the calendar.
const BACK: u64 = 30;
const AHEAD: u64 = 180;

/// GET /calendars/{secret}.ics : for whoever has the address; anything else is not there.
pub async fn show(State(state): State<AppState>, Path(file): Path<String>) -> Result<Response> {
    let held = file.strip_suffix(".ics").ok_or(Error::NotFound)?;
    let mut conn = state.pool.acquire().await?;
    let owner = calendar_feed::owner(&mut conn, &secret::hash(held)).await?.ok_or(Error::NotFound)?;
    let language = Language::from_code(&owner.language).unwrap_or_default();
    let zone = company::time_zone(&mut conn).await?;
    let today = state.clock.today(zone);
    let (from, until) = (today - Days::new(BACK), today + Days::new(AHEAD));
    let visits = calendar_feed::visits(&mut conn, owner.person_id, from, until).await?;
    let base = state.config.base_url();
    let host = base.split("://").nth(1).unwrap_or(&base).to_owned();
    let entries: Vec<Entry> = visits.into_iter().map(|v| entry(v, zone, &base, language)).collect();
    let name = format!("{}, {}", owner.name, owner.company);
    let text = ical::write(&name, &host, state.clock.now(), &entries);
    let kind = HeaderValue::from_static("text/calendar; charset=utf-8");
    Ok(([(header::CONTENT_TYPE, kind)], text).into_response())
}

fn entry(v: calendar_feed::Visit, zone: Tz, base: &str, language: Language) -> Entry {
    let times = v.arrives_at.zip(v.leaves_at);
    let times = times
        .and_then(|(from, until)| Some((moment(v.on_date, from, zone)?, moment(v.on_date, until, zone)?)));
    Entry {
        link: format!("{base}/visits/{}", v.id),
        id: v.id,
        on: v.on_date,
        times,
        address: v.address,
        plants: language.say_of("plants", "count", v.plants),
        waiting: v.waits.then(|| language.say("calendar-waiting")),
        position: v.latitude.zip(v.longitude),
    }
}

/// The company's local time as a moment. An hour that the clocks skip or repeat is its earlier reading; one that
/// there is not makes the visit take the day.
fn moment(on: NaiveDate, at: NaiveTime, zone: Tz) -> Option<DateTime<Utc>> {
    Some(on.and_time(at).and_local_timezone(zone).earliest()?.with_timezone(&Utc))
}

fn address(state: &AppState, secret: &str) -> String {
    format!("{}/calendars/{secret}.ics", state.config.base_url())
}

/// POST /account/calendars
pub async fn make_own(State(state): State<AppState>, actor: Actor, _form: Posted) -> Result<Response> {
    let secret = verbs::make(&actor.doer(), actor.id).await?;
    account::page(&state, &actor, Some(address(&state, &secret))).await
}

/// POST /account/calendars/revocations
pub async fn revoke_own(State(state): State<AppState>, actor: Actor, _form: Posted) -> Result<Response> {
    verbs::revoke(&actor.doer(), actor.id).await?;
    Ok(session::done(&state, "/account", REVOKED))
}

const REVOKED: &str = "The calendar's address is revoked; whoever has it sees nothing any more.";

/// POST /people/{id}/calendars
pub async fn make(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let secret = verbs::make(&actor.doer(), id).await?;
    people::with_calendar(&state, &actor, id, address(&state, &secret)).await
}

/// POST /people/{id}/calendars/revocations
pub async fn revoke(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::revoke(&actor.doer(), id).await?;
    Ok(session::done(&state, &format!("/people/{id}"), REVOKED))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Los_Angeles;

    /// The clocks of California go forward on March 14, 2027 and back on November 7, 2027 (15 U.S.C. 260a:
    /// second Sunday of March, first Sunday of November, at two o'clock).
    #[test]
    fn local_hours_become_moments_on_odd_days_too() {
        let at = |day: &str, hour| {
            let time = NaiveTime::from_hms_opt(hour, 30, 0).unwrap();
            moment(day.parse().unwrap(), time, Los_Angeles).map(|m| m.to_rfc3339())
        };
        assert_eq!(at("2026-11-30", 9).unwrap(), "2026-11-30T17:30:00+00:00");
        assert_eq!(at("2027-07-01", 9).unwrap(), "2027-07-01T16:30:00+00:00");
        assert_eq!(at("2027-03-14", 2), None, "there is no half past two");
        assert_eq!(at("2027-11-07", 1).unwrap(), "2027-11-07T08:30:00+00:00", "the first of two");
    }
}
