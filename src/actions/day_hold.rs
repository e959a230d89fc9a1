//! Putting a day on hold because of soil or weather, and lifting that. The booked visits of the day go back to be
//! planned; what they reserve of the caps stays reserved until they are moved or cancelled.
use super::{Doer, Error, Result, visit::MONTHS_AHEAD};
use crate::{
    db::day_hold::{self, New},
    domain::calendar::add_months,
};
use chrono::{Days, NaiveDate};
use serde_json::json;
use uuid::Uuid;

/// A rained-out day may be entered so long afterwards.
const DAYS_BACK: u64 = 31;

/// Places a hold; how many visits go back. The same form twice makes one.
///
/// # Errors
/// When the day lies too far off (field `on`), or there is no reason (field `reason`).
pub async fn place(doer: &Doer, today: NaiveDate, new: &New) -> Result<u64> {
    if new.reason.is_empty() {
        return Err(Error::field("reason", "Say why nothing is applied that day."));
    }
    if new.on_date < today - Days::new(DAYS_BACK) || new.on_date > add_months(today, MONTHS_AHEAD) {
        return Err(Error::field(
            "on",
            format!("A day is put on hold from {DAYS_BACK} days back to {MONTHS_AHEAD} months ahead."),
        ));
    }
    let by = doer.person.ok_or(Error::NotFound)?;
    let mut tx = doer.pool.begin().await?;
    day_hold::own(&mut tx, new.on_date).await?;
    if let Some(there) = day_hold::find(&mut tx, new.id).await? {
        let same = there.on_date == new.on_date
            && there.state.zip(there.county) == new.place
            && there.reason == new.reason;
        return if same { Ok(0) } else { Err(Error::entered()) };
    }
    let now = doer.clock.now();
    day_hold::insert(&mut tx, new, by, now).await?;
    let placed = day_hold::find(&mut tx, new.id).await?.ok_or(Error::NotFound)?;
    let sent = day_hold::send_back(&mut tx, &placed, now).await?;
    let detail = json!({ "on": new.on_date, "place": new.place, "reason": new.reason, "visits": sent });
    doer.note(&mut tx, "placed", "day hold", new.id, detail).await?;
    tx.commit().await?;
    Ok(sent)
}

/// Lifts a hold; how many visits of the day stand again. Visits under another hold of the day keep waiting, for
/// its reason.
///
/// # Errors
/// When there is no such hold, or it is lifted already.
pub async fn lift(doer: &Doer, id: Uuid) -> Result<u64> {
    let by = doer.person.ok_or(Error::NotFound)?;
    let mut tx = doer.pool.begin().await?;
    let found = day_hold::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    day_hold::own(&mut tx, found.on_date).await?;
    let now = doer.clock.now();
    if !day_hold::lift(&mut tx, id, by, now).await? {
        return Err(Error::refused("This hold is lifted already."));
    }
    let freed = day_hold::call_back(&mut tx, &found).await?;
    let mut kept = 0;
    for other in day_hold::standing(&mut tx, found.on_date).await? {
        kept += day_hold::send_back(&mut tx, &other, now).await?;
    }
    let detail = json!({ "on": found.on_date, "visits": freed.saturating_sub(kept) });
    doer.note(&mut tx, "lifted", "day hold", id, detail).await?;
    tx.commit().await?;
    Ok(freed.saturating_sub(kept))
}
