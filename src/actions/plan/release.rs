//! Releasing a plan: its stops become booked visits, or move those that are booked, each checked again.
use super::{hold_as_seen, note, week::Week};
use crate::{
    actions::{
        Doer, Error, Result, duty,
        visit::{self as verbs, Booking, Move, PlantRefusal, Wanted},
    },
    db::{
        plan::{self, Stop},
        visit,
    },
};
use uuid::Uuid;

/// What a release did.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Released {
    /// Visits that stand as planned now.
    pub stops: usize,
    /// Stops that the rules refused; each says why and stays in the plan.
    pub refused: usize,
    /// Visits that stand as planned and have a notice or sign by law that is not done yet.
    pub open: usize,
}

/// Gives the plan to the technicians. Each stop is booked or moved by itself; one that is refused says why
/// and stays. Releasing again makes nothing twice.
///
/// # Errors
/// Refused when the plan was changed meanwhile, is being calculated, or places nothing.
pub async fn release(doer: &Doer, monday: chrono::NaiveDate, seen: i32) -> Result<Released> {
    let mut tx = doer.pool.begin().await?;
    let held = hold_as_seen(&mut tx, monday, seen).await?;
    if plan::running(&mut tx, held.id).await? {
        return Err(Error::refused(
            "The plan is being calculated; wait for the end, or stop it, and release it then.",
        ));
    }
    let week = Week::load(&mut tx, doer, held).await?;
    let placed: Vec<&Stop> = week.stops.iter().filter(|s| s.is_placed() && !week.is_past(s)).collect();
    if placed.is_empty() {
        return Err(Error::refused("No stop stands on a day; plan the week first."));
    }
    let (mut done, mut standing) = (Released::default(), vec![]);
    for stop in placed {
        match book(doer, &week, stop).await {
            Ok(visit) => {
                if stop.visit_id.is_none() {
                    plan::set_visit(&mut tx, stop.id, visit).await?;
                }
                if let (Some(number), Some(arrives), Some(leaves)) =
                    (stop.position, stop.arrives_at, stop.leaves_at)
                {
                    plan::set_visit_times(&mut tx, visit, number, arrives, leaves).await?;
                }
                plan::say_why(&mut tx, stop.id, "").await?;
                standing.push(visit);
            }
            Err(Error::Refused { words, .. }) => {
                plan::say_why(&mut tx, stop.id, &words).await?;
                done.refused += 1;
            }
            Err(other) => return Err(other),
        }
    }
    done.stops = standing.len();
    done.open = duty::open_visits(&mut tx, &standing).await?;
    let words = format!("released {} stops, {} refused.", done.stops, done.refused);
    let version = note(doer, &mut tx, &week.plan, "released", &words).await?;
    plan::released(&mut tx, week.plan.id, version).await?;
    tx.commit().await?;
    Ok(done)
}

/// The visit of a stop, booked or moved to where the plan has it.
async fn book(doer: &Doer, week: &Week, stop: &Stop) -> Result<Uuid> {
    let (Some(technician), Some(on)) = (stop.technician_id, stop.on_date) else {
        return Err(Error::NotFound);
    };
    if let Some(visit) = stop.visit_id {
        if stop.visit_status.as_deref() != Some("booked") {
            return Err(Error::refused("Its visit is not booked any more."));
        }
        let stands = stop.booked_on == Some(on) && stop.booked_technician == Some(technician);
        if !stands {
            // Whoever answers for the technician still does, unless they go there themselves.
            let supervisor = stop.supervisor_id.filter(|other| *other != technician);
            let to = Move { on, at: stop.arrives_at, technician, supervisor, excuse: String::new() };
            refused(&verbs::move_as(doer, week.today, visit, &to).await?)?;
        } else {
            told_in_time(doer, stop, visit).await?;
        }
        return Ok(visit);
    }
    // The stop's own id names the visit: however often it is sent, it is booked once.
    let booking = Booking {
        id: stop.id,
        site: stop.site_id,
        technician,
        supervisor: None,
        promised: false,
        on,
        at: stop.arrives_at,
        excuse: String::new(),
        note: String::new(),
        doses: week.plants_of(stop.id).iter().map(|plant| Wanted { plant: *plant, rate: None }).collect(),
    };
    refused(&verbs::book(doer, week.today, &booking).await?)?;
    Ok(stop.id)
}

/// A visit that stays on its day is not given to the technician either where a notice by law came too late for the
/// hour that the plan has.
async fn told_in_time(doer: &Doer, stop: &Stop, id: Uuid) -> Result<()> {
    let mut conn = doer.pool.acquire().await?;
    let booked = visit::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let doses = visit::doses(&mut conn, id).await?;
    let of = duty::Of { at: stop.arrives_at, ..duty::Of::visit(&booked, &doses) };
    duty::in_time(&mut conn, doer, &of, "").await.map(|_| ())
}

fn refused(why: &[PlantRefusal]) -> Result<()> {
    if why.is_empty() {
        return Ok(());
    }
    Err(Error::refused(why.iter().map(|one| one.words.as_str()).collect::<Vec<_>>().join(" ")))
}
