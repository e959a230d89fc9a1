//! Booking, moving and cancelling visits. A plan that breaks a rule is refused with the reason and the
//! way out; what is planned reserves its share of the caps.
mod dose;
mod told;
mod who;

pub(super) use dose::{decimal, forget, plan};
pub use who::MONTHS_AHEAD;

use super::{Doer, Error, Result, due, duty};
use crate::{
    db::{Conn, fact, ledger, record, visit},
    domain::{notice::Rule, plan::PlannedDose},
};
use chrono::{NaiveDate, NaiveTime};
use dose::stored;
use rust_decimal::Decimal;
use serde_json::json;
use uuid::Uuid;
use who::{applicator, not_held};

/// A visit that somebody wants to book.
#[derive(Debug, Clone)]
pub struct Booking {
    pub id: Uuid,
    pub site: Uuid,
    pub technician: Uuid,
    /// Who answers for a technician without a certification of the site's state.
    pub supervisor: Option<Uuid>,
    pub on: NaiveDate,
    /// The hour that a plan has for it.
    pub at: Option<NaiveTime>,
    pub note: String,
    /// The customer was told this day.
    pub promised: bool,
    /// Why the law leaves a notice open that can no longer be given in time; only the owner may say so.
    pub excuse: String,
    pub doses: Vec<Wanted>,
}

impl Booking {
    fn who(&self) -> (Uuid, Option<Uuid>) {
        (self.technician, self.supervisor)
    }
}

/// A plant that is to get its treatment; without a rate the plant's own, else the lowest of the band.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    pub plant: Uuid,
    pub rate: Option<Decimal>,
}

/// Why a plant's dose was not planned, and what would do instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlantRefusal {
    pub plant: Uuid,
    pub words: String,
}

/// Books the visit with all its doses, or none. No refusals: it is booked.
///
/// # Errors
/// When the day, the people or the site will not do (fields `on`, `technician`, `supervisor`, `form`).
pub async fn book(doer: &Doer, today: NaiveDate, booking: &Booking) -> Result<Vec<PlantRefusal>> {
    let mut tx = doer.pool.begin().await?;
    let held = ledger::lock_of_site(&mut tx, booking.site).await.map_err(not_there)?;
    if let Some(known) = visit::find(&mut tx, booking.id).await? {
        return sent_twice(&mut tx, &known, booking).await;
    }
    let place = record::place(&mut tx, booking.site).await?.ok_or(Error::NotFound)?;
    if place.retired_at.is_some() {
        return Err(Error::refused("This site is retired; bring it back before you book a visit."));
    }
    if booking.doses.is_empty() {
        return Err(Error::refused("Tick at least one plant."));
    }
    let applicator = applicator(&mut tx, booking.who(), &place.state, booking.on, today).await?;
    not_held(&mut tx, &place.state, &place.county, booking.on).await?;
    let mut facts = fact::for_day(&mut tx, held.parcel(), today, booking.on, applicator).await?;
    let plants = visit::bookable(&mut tx, booking.site).await?;
    let (mut planned, mut refused) = (vec![], vec![]);
    for wanted in &booking.doses {
        let plant = plants.iter().find(|p| p.plant_id == wanted.plant).ok_or(Error::NotFound)?;
        match plan(&mut facts, plant, wanted.rate, booking.on)? {
            Ok(dose) => planned.push(stored(booking.id, plant, &facts, &dose)?),
            Err(words) => refused.push(PlantRefusal { plant: wanted.plant, words }),
        }
    }
    if !refused.is_empty() {
        return Ok(refused);
    }
    let meant: Vec<Uuid> = planned.iter().map(|dose| dose.label_use_id).collect();
    let methods = visit::methods(&mut tx, &meant).await?;
    let of = duty::Of {
        visit: booking.id,
        state: &place.state,
        county: &place.county,
        methods: methods.iter().map(String::as_str).collect(),
        on: booking.on,
        at: booking.at,
    };
    let open = duty::in_time(&mut tx, doer, &of, &booking.excuse).await?;
    write(doer, &mut tx, &held, booking, &planned).await?;
    duty::keep_excuses(&mut tx, doer, (booking.id, booking.on), &open, &booking.excuse).await?;
    told::day(&mut tx, doer, booking.id).await?;
    due::recompute_parcel(&mut tx, doer, held.parcel()).await?;
    tx.commit().await?;
    Ok(vec![])
}

/// The same booking once more leads to the same visit; anything else under its id is refused.
async fn sent_twice(tx: &mut Conn, known: &visit::Visit, booking: &Booking) -> Result<Vec<PlantRefusal>> {
    let doses = visit::doses(tx, known.id).await?;
    let head = known.site_id == booking.site
        && known.technician_id == booking.technician
        && known.supervisor_id == booking.supervisor
        && known.on_date == booking.on
        && known.promised == booking.promised
        && known.note.replace('\r', "") == booking.note.replace('\r', "");
    let found = |wanted: &Wanted| {
        doses.iter().any(|d| d.plant_id == wanted.plant && wanted.rate.is_none_or(|rate| rate == d.rate))
    };
    if head && doses.len() == booking.doses.len() && booking.doses.iter().all(found) {
        return Ok(vec![]);
    }
    Err(Error::field(
        "id",
        "This is already booked, with other contents; amend it instead: move or cancel the visit.",
    ))
}

async fn write(
    doer: &Doer,
    tx: &mut Conn,
    held: &ledger::Locked,
    booking: &Booking,
    planned: &[visit::NewDose],
) -> Result<()> {
    let booked_by = doer.person.ok_or(Error::NotFound)?;
    let new = visit::New {
        id: booking.id,
        site_id: booking.site,
        technician_id: booking.technician,
        supervisor_id: booking.supervisor,
        on_date: booking.on,
        note: booking.note.clone(),
        promised: booking.promised,
        booked_by,
    };
    visit::insert(tx, &new, doer.clock.now()).await?;
    for dose in planned {
        visit::insert_dose(tx, held, dose).await?;
    }
    let detail = json!({
        "on": booking.on, "technician": booking.technician, "supervisor": booking.supervisor,
        "doses": planned.len(),
    });
    doer.note(tx, "booked", "visit", booking.id, detail).await
}

/// What a dose of each ticked plant would be, and what stands against it; nothing is written.
///
/// # Errors
/// As [`book`].
pub async fn preview(doer: &Doer, today: NaiveDate, booking: &Booking) -> Result<Vec<Preview>> {
    let mut conn = doer.pool.acquire().await?;
    let place = record::place(&mut conn, booking.site).await?.ok_or(Error::NotFound)?;
    let applicator = applicator(&mut conn, booking.who(), &place.state, booking.on, today).await?;
    not_held(&mut conn, &place.state, &place.county, booking.on).await?;
    let mut facts = fact::for_day(&mut conn, place.parcel_id, today, booking.on, applicator).await?;
    let plants = visit::bookable(&mut conn, booking.site).await?;
    let mut answers = vec![];
    for wanted in &booking.doses {
        let plant = plants.iter().find(|p| p.plant_id == wanted.plant).ok_or(Error::NotFound)?;
        answers
            .push(Preview { plant: wanted.plant, answer: plan(&mut facts, plant, wanted.rate, booking.on)? });
    }
    Ok(answers)
}

/// The answer for one plant.
#[derive(Debug, Clone)]
pub struct Preview {
    pub plant: Uuid,
    /// The dose, or why not.
    pub answer: Result<PlannedDose, String>,
}

/// Another day, technician or supervisor for a visit.
#[derive(Debug, Clone)]
pub struct Move {
    pub on: NaiveDate,
    /// The hour that a plan has for it.
    pub at: Option<NaiveTime>,
    pub technician: Uuid,
    pub supervisor: Option<Uuid>,
    /// As in [`Booking`].
    pub excuse: String,
}

/// Gives a booked visit another day, technician or supervisor; every dose is checked anew for that day. No
/// refusals: it is moved.
///
/// # Errors
/// When the visit is not booked any more, or day or technician will not do.
pub async fn move_to(
    doer: &Doer,
    today: NaiveDate,
    id: Uuid,
    on: NaiveDate,
    (technician, supervisor): (Uuid, Option<Uuid>),
) -> Result<Vec<PlantRefusal>> {
    let to = Move { on, at: None, technician, supervisor, excuse: String::new() };
    move_as(doer, today, id, &to).await
}

/// The same, with the hour that a plan has, and what the owner says of a notice that comes too late.
///
/// # Errors
/// As [`move_to`].
pub async fn move_as(doer: &Doer, today: NaiveDate, id: Uuid, to: &Move) -> Result<Vec<PlantRefusal>> {
    let (on, people) = (to.on, (to.technician, to.supervisor));
    let mut tx = doer.pool.begin().await?;
    let (held, was) = hold(&mut tx, id).await?;
    let applicator = applicator(&mut tx, people, &was.state, on, today).await?;
    not_held(&mut tx, &was.state, &was.county, on).await?;
    let doses = visit::doses(&mut tx, id).await?;
    let mut facts = fact::for_day(&mut tx, held.parcel(), today, on, applicator).await?;
    doses.iter().for_each(|dose| forget(&mut facts, (dose.plant_id, dose.label_use_id), was.on_date));
    let plants = visit::bookable(&mut tx, was.site_id).await?;
    let mut refused = vec![];
    for dose in doses.iter().filter(|d| d.status == "planned") {
        let plant = plants.iter().find(|p| p.plant_id == dose.plant_id).ok_or(Error::NotFound)?;
        match plan(&mut facts, plant, Some(dose.rate), on)? {
            Ok(fresh) => {
                let fresh = stored(id, plant, &facts, &fresh)?;
                visit::renew_dose(&mut tx, &held, dose.label_use_id, &fresh).await?;
            }
            Err(words) => refused.push(PlantRefusal { plant: dose.plant_id, words }),
        }
    }
    if !refused.is_empty() {
        return Ok(refused);
    }
    // Whoever only comes instead of another breaks no notice that stands.
    let open: Vec<&'static Rule> = if on == was.on_date && to.at.is_none() {
        vec![]
    } else {
        let of = duty::Of { on, at: to.at, ..duty::Of::visit(&was, &doses) };
        duty::in_time(&mut tx, doer, &of, &to.excuse).await?
    };
    visit::set_day(&mut tx, id, on, to.technician, to.supervisor).await?;
    duty::keep_excuses(&mut tx, doer, (id, on), &open, &to.excuse).await?;
    told::day(&mut tx, doer, id).await?;
    let detail = json!({
        "on": [was.on_date, on], "technician": [was.technician_id, to.technician],
        "supervisor": [was.supervisor_id, to.supervisor],
    });
    doer.note(&mut tx, "moved", "visit", id, detail).await?;
    due::recompute_parcel(&mut tx, doer, held.parcel()).await?;
    tx.commit().await?;
    Ok(vec![])
}

/// Notes whether the customer was told the day of a booked visit: then no plan moves it to another.
///
/// # Errors
/// When the visit is not booked any more.
pub async fn promise(doer: &Doer, id: Uuid, promised: bool) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let (_held, was) = hold(&mut tx, id).await?;
    if was.promised != promised {
        visit::set_promised(&mut tx, id, promised).await?;
        let detail = json!({ "promised": [was.promised, promised] });
        doer.note(&mut tx, "changed", "visit", id, detail).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Cancels a booked visit; what it reserved is free again.
///
/// # Errors
/// When the visit is not booked any more, or no reason is given (field `reason`).
pub async fn cancel(doer: &Doer, id: Uuid, reason: &str) -> Result<()> {
    if reason.is_empty() {
        return Err(Error::field("reason", "Say why the visit is cancelled."));
    }
    let mut tx = doer.pool.begin().await?;
    let (held, _) = hold(&mut tx, id).await?;
    told::off(&mut tx, doer, id).await?;
    visit::release_doses(&mut tx, id).await?;
    visit::close(&mut tx, id, "cancelled", doer.clock.now()).await?;
    visit::add_note(&mut tx, id, &format!("Cancelled: {reason}")).await?;
    doer.note(&mut tx, "cancelled", "visit", id, json!({ "reason": reason })).await?;
    due::recompute_parcel(&mut tx, doer, held.parcel()).await?;
    tx.commit().await?;
    Ok(())
}

/// Holds the ledger of a visit's parcel and gives the visit as it then stands.
pub(super) async fn hold(tx: &mut Conn, id: Uuid) -> Result<(ledger::Locked, visit::Visit)> {
    let parcel = visit::find(tx, id).await?.ok_or(Error::NotFound)?.parcel_id;
    let held = ledger::lock(tx, parcel).await.map_err(not_there)?;
    let now = visit::find(tx, id).await?.ok_or(Error::NotFound)?;
    if now.is_booked() {
        return Ok((held, now));
    }
    Err(Error::refused(format!("This visit is {} already.", now.status)))
}

pub(super) fn not_there(error: sqlx::Error) -> Error {
    match error {
        sqlx::Error::RowNotFound => Error::NotFound,
        other => other.into(),
    }
}
