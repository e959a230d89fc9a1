//! Changes by hand: each is worked out by the planner's own rules and refused where it breaks a limit.
use super::{
    engine::{Driven, Question, held},
    gather, hold_as_seen, note,
    week::Week,
};
use crate::{
    actions::{Doer, Error, Result},
    db::{
        Conn,
        plan::{self, Day, Placed, Stop},
    },
    domain::route::DayRoute,
};
use chrono::NaiveDate;
use uuid::Uuid;

/// What is to become of a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// One place earlier in its day.
    Earlier,
    /// One place later in its day.
    Later,
    /// It stays with this technician, on this day, at this time.
    Lock,
    /// It may be moved again.
    Unlock,
    /// Out of the plan.
    Remove,
    /// To that technician's day, where it makes the least driving.
    To(Uuid, NaiveDate),
}

/// Takes the step, if every limit stays kept; in words what it did to the driving.
///
/// # Errors
/// Refused with the limit that it would break, or with who changed the plan meanwhile.
pub async fn change(doer: &Doer, monday: NaiveDate, seen: i32, id: Uuid, step: Step) -> Result<String> {
    let mut tx = doer.pool.begin().await?;
    let held = hold_as_seen(&mut tx, monday, seen).await?;
    let week = Week::load(&mut tx, doer, held).await?;
    let stop = week.stop(id)?;
    if week.is_past(stop) {
        return Err(Error::refused("This stop is done or its day is over; it stays as it is."));
    }
    if stop.locked && !matches!(step, Step::Unlock | Step::Lock) {
        return Err(Error::refused("This stop is locked; unlock it first."));
    }
    let words = match step {
        Step::Earlier | Step::Later => swap(&mut tx, &week, stop, step == Step::Earlier).await?,
        Step::Lock | Step::Unlock => lock(&mut tx, stop, step == Step::Lock).await?,
        Step::Remove => remove(&mut tx, &week, stop).await?,
        Step::To(technician, on) => {
            let fits = week.fits(&mut tx, &[stop]).await?;
            let day = day_of(&week, technician, on)?;
            if let Some(why) =
                week.around.trouble(stop).or_else(|| week.around.why_not(stop, fits.get(&id), day))
            {
                return Err(Error::refused(why));
            }
            to_day(&mut tx, &week, stop, day).await?
        }
    };
    note(doer, &mut tx, &week.plan, "changed", &words).await?;
    tx.commit().await?;
    Ok(words)
}

/// Adds a site to the plan, on the day on which it makes the least driving; in words where it came to stand.
///
/// # Errors
/// Refused when it stands in the plan already, or nothing there can be treated in this week (field `site`).
pub async fn add_site(doer: &Doer, monday: NaiveDate, seen: i32, site: Uuid) -> Result<String> {
    let mut tx = doer.pool.begin().await?;
    let held = hold_as_seen(&mut tx, monday, seen).await?;
    let known = plan::stops(&mut tx, held.id).await?;
    if known.iter().any(|s| s.site_id == site && s.visit_status.as_deref() != Some("done")) {
        return Err(Error::field("site", "This site stands in the plan already."));
    }
    let id = gather::one_more(doer, &mut tx, &held, site).await?;
    let week = Week::load(&mut tx, doer, held).await?;
    let stop = week.stop(id)?;
    let fits = week.fits(&mut tx, &[stop]).await?;
    let open = week.around.days.iter().filter(|d| week.around.why_not(stop, fits.get(&id), d).is_none());
    let best = match week.around.trouble(stop) {
        Some(why) => Err(why),
        None => open
            .filter_map(|day| Some((day, insertion(&week, stop, day).ok()?)))
            .min_by_key(|(day, found)| (found.more.seconds, day.on_date))
            .ok_or_else(|| "Every day of this week that it could be is full.".to_owned()),
    };
    let words = match best {
        Ok((day, found)) => {
            write_day(&mut tx, &week, day, &found).await?;
            format!("Added {}: {}, {}; {}", stop.street, day.technician_name, day.on_date, effect(found.more))
        }
        Err(why) => {
            plan::place(&mut tx, id, None, &why).await?;
            format!("Added {}, which stands on no day: {why}", stop.street)
        }
    };
    note(doer, &mut tx, &week.plan, "added", &words).await?;
    tx.commit().await?;
    Ok(words)
}

/// A technician's day to which a stop could go.
#[derive(Debug, Clone)]
pub struct Choice {
    pub day: Day,
    /// What it would do to the driving of the whole week, or which limit it would break.
    pub answer: Result<Driven, String>,
}

/// Every technician's day of the plan that is still to come, with what moving the stop there would do.
///
/// # Errors
/// Not found when the week has no plan or the plan no such stop.
pub async fn choices(doer: &Doer, monday: NaiveDate, id: Uuid) -> Result<(Stop, Vec<Choice>)> {
    let mut conn = doer.pool.acquire().await?;
    let found = plan::of_week(&mut conn, monday).await?.ok_or(Error::NotFound)?;
    let week = Week::load(&mut conn, doer, found).await?;
    let stop = week.stop(id)?;
    let fits = week.fits(&mut conn, &[stop]).await?;
    let leaving = leaving(&week, stop).map(|(_, gone)| gone.more).unwrap_or_default();
    let mut all = vec![];
    for day in week.around.days.iter().filter(|d| d.on_date >= week.today) {
        let here = stop.technician_id == Some(day.technician_id) && stop.on_date == Some(day.on_date);
        if here {
            continue;
        }
        let no = week.around.trouble(stop).or_else(|| week.around.why_not(stop, fits.get(&id), day));
        let answer = match no {
            Some(why) => Err(why),
            None => insertion(&week, stop, day).map(|found| found.more.and(leaving)),
        };
        all.push(Choice { day: day.clone(), answer });
    }
    Ok((stop.clone(), all))
}

/// A technician's day as it would become.
struct Becomes {
    order: Vec<Uuid>,
    route: Option<DayRoute>,
    /// More driving than now.
    more: Driven,
}

fn day_of(week: &Week, technician: Uuid, on: NaiveDate) -> Result<&Day> {
    let day = week.around.days.iter().find(|d| d.technician_id == technician && d.on_date == on);
    day.ok_or_else(|| Error::refused("This technician does not work on that day in this plan."))
}

/// The stops of a day that can still change, in order.
fn open_order(week: &Week, day: &Day) -> Vec<Uuid> {
    let all = week.on_day(day.technician_id, day.on_date);
    all.into_iter().filter(|id| week.stop(*id).is_ok_and(|s| !week.is_past(s))).collect()
}

/// The day with exactly this order, if it can be kept.
fn becomes(week: &Week, day: &Day, order: Vec<Uuid>) -> Result<Becomes, String> {
    let now = open_order(week, day);
    let mut all = now.clone();
    all.extend(order.iter().filter(|id| !now.contains(id)));
    let stops = |ids: &[Uuid]| -> Vec<&Stop> { ids.iter().filter_map(|id| week.stop(*id).ok()).collect() };
    let whole = Question::of_day(&week.around, day, &stops(&all));
    let drive = |ids: &[Uuid]| whole.driven_by(day.technician_id, day.on_date, ids);
    let (before, after) = (drive(&now), drive(&order));
    let more = Driven { seconds: after.seconds - before.seconds, miles: after.miles - before.miles };
    let names: Vec<&Stop> = stops(&order);
    let route = if order.is_empty() { None } else { Some(held(&week.around, day, &names)?) };
    Ok(Becomes { order, route, more })
}

/// Where the stop makes the least driving in that day.
fn insertion(week: &Week, stop: &Stop, day: &Day) -> Result<Becomes, String> {
    let mut order = open_order(week, day);
    order.retain(|id| *id != stop.id);
    let (mut best, mut why) = (None::<Becomes>, String::new());
    for at in 0..=order.len() {
        let mut with = order.clone();
        with.insert(at, stop.id);
        match becomes(week, day, with) {
            Ok(found) if best.as_ref().is_none_or(|b| found.more.seconds < b.more.seconds) => {
                best = Some(found)
            }
            Ok(_) => {}
            Err(words) => why = words,
        }
    }
    best.ok_or(why)
}

/// The day that the stop leaves.
fn leaving<'w>(week: &'w Week, stop: &Stop) -> Option<(&'w Day, Becomes)> {
    let day = day_of(week, stop.technician_id?, stop.on_date?).ok()?;
    let mut order = open_order(week, day);
    order.retain(|id| *id != stop.id);
    Some((day, becomes(week, day, order).ok()?))
}

async fn swap(tx: &mut Conn, week: &Week, stop: &Stop, earlier: bool) -> Result<String> {
    let (Some(technician), Some(on)) = (stop.technician_id, stop.on_date) else {
        return Err(Error::refused("This stop stands on no day yet; choose one for it first."));
    };
    let day = day_of(week, technician, on)?;
    let mut order = open_order(week, day);
    let at = order.iter().position(|id| *id == stop.id).ok_or(Error::NotFound)?;
    let other = if earlier { at.checked_sub(1) } else { Some(at + 1).filter(|other| *other < order.len()) };
    let Some(other) = other else {
        let end = if earlier { "first" } else { "last" };
        return Err(Error::refused(format!("This stop is the {end} of its day already.")));
    };
    order.swap(at, other);
    let found = becomes(week, day, order).map_err(Error::refused)?;
    write_day(tx, week, day, &found).await?;
    let way = if earlier { "earlier" } else { "later" };
    Ok(format!("{} comes {way} on {on}: {}", stop.street, effect(found.more)))
}

async fn lock(tx: &mut Conn, stop: &Stop, locked: bool) -> Result<String> {
    if !stop.is_placed() {
        return Err(Error::refused("This stop stands on no day yet; choose one for it first."));
    }
    plan::lock_stop(tx, stop.id, locked).await?;
    Ok(if locked {
        format!("{} is locked: technician, day and time stay.", stop.street)
    } else {
        format!("{} may be moved again.", stop.street)
    })
}

async fn remove(tx: &mut Conn, week: &Week, stop: &Stop) -> Result<String> {
    let left = leaving(week, stop);
    plan::delete_stop(tx, stop.id).await?;
    let mut words = format!("{} is out of this plan.", stop.street);
    if let Some((day, found)) = left {
        write_day(tx, week, day, &found).await?;
        words = format!("{words} {}", capital(&effect(found.more)));
    }
    if let Some(on) = stop.booked_on {
        words = format!("{words} Its visit stays booked for {on}.");
    }
    Ok(words)
}

async fn to_day(tx: &mut Conn, week: &Week, stop: &Stop, day: &Day) -> Result<String> {
    if stop.technician_id == Some(day.technician_id) && stop.on_date == Some(day.on_date) {
        return Err(Error::refused("This stop stands on that day already."));
    }
    let found = insertion(week, stop, day).map_err(Error::refused)?;
    let mut more = found.more;
    if let Some((old, gone)) = leaving(week, stop) {
        more = more.and(gone.more);
        // Its old place must be free before the others close up.
        plan::place(tx, stop.id, None, "").await?;
        write_day(tx, week, old, &gone).await?;
    }
    write_day(tx, week, day, &found).await?;
    Ok(format!("{} goes to {}, {}: {}", stop.street, day.technician_name, day.on_date, effect(more)))
}

/// Writes the places of a whole day.
async fn write_day(tx: &mut Conn, week: &Week, day: &Day, found: &Becomes) -> Result<()> {
    let Some(route) = &found.route else { return Ok(()) };
    let base = week.behind(day.technician_id, day.on_date);
    for (number, visit) in (base + 1..).zip(&route.visits) {
        let id = *found.order.get(visit.stop).ok_or(Error::NotFound)?;
        let placed = Placed {
            technician: day.technician_id,
            on: day.on_date,
            position: number,
            arrives_at: week.around.time_of(visit.arrive),
            starts_at: week.around.time_of(visit.start),
            leaves_at: week.around.time_of(visit.leave),
        };
        plan::place(tx, id, Some(placed), "").await?;
    }
    Ok(())
}

/// What a change does to the driving: `12 minutes and 3.4 miles more driving.`
#[must_use]
pub fn effect(more: Driven) -> String {
    let (minutes, miles) = (more.minutes(), more.tenths());
    if minutes == 0 && miles.is_zero() {
        return "as much driving as before.".to_owned();
    }
    let word = |less: bool| if less { "less" } else { "more" };
    if (minutes < 0) == miles.is_sign_negative() || minutes == 0 || miles.is_zero() {
        let less = minutes < 0 || (minutes == 0 && miles.is_sign_negative());
        return format!("{} minutes and {} miles {} driving.", minutes.abs(), miles.abs(), word(less));
    }
    format!(
        "{} minutes {} and {} miles {} driving.",
        minutes.abs(),
        word(minutes < 0),
        miles.abs(),
        word(miles.is_sign_negative())
    )
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_effect_is_told_as_more_or_less() {
        let words = |seconds, miles| effect(Driven { seconds, miles });
        assert_eq!(words(720, 3.44), "12 minutes and 3.4 miles more driving.");
        assert_eq!(words(-300, -2.0), "5 minutes and 2.0 miles less driving.");
        assert_eq!(words(10, 0.01), "as much driving as before.");
        assert_eq!(words(-300, 1.0), "5 minutes less and 1.0 miles more driving.");
        assert_eq!(words(0, -1.0), "0 minutes and 1.0 miles less driving.");
    }
}
