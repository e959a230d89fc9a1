//! Booking, moving and cancelling visits. A plan that breaks a rule is refused with the reason and the
//! way out; what is planned reserves its share of the caps.
use super::{Doer, Error, Result, due};
use crate::{
    db::{Conn, day_hold, fact, ledger, person, record, visit},
    domain::{
        calendar::add_months,
        facts::{Application, Facts},
        label::MeasureBasis,
        permission::Applicator,
        plan::{Ask, PlanError, PlannedDose, Refusal, may_plan},
        plant::figure_words,
        quantity::{Exact, from_decimal, kept, plain, to_decimal},
    },
};
use chrono::NaiveDate;
use num_traits::One;
use rust_decimal::Decimal;
use serde_json::json;
use uuid::Uuid;

/// A visit that somebody wants to book.
#[derive(Debug, Clone)]
pub struct Booking {
    pub id: Uuid,
    pub site: Uuid,
    pub technician: Uuid,
    /// Who answers for a technician without a certification of the site's state.
    pub supervisor: Option<Uuid>,
    pub on: NaiveDate,
    pub note: String,
    /// The customer was told this day.
    pub promised: bool,
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
    write(doer, &mut tx, &held, booking, &planned).await?;
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
    let mut tx = doer.pool.begin().await?;
    let (held, was) = hold(&mut tx, id).await?;
    let applicator = applicator(&mut tx, (technician, supervisor), &was.state, on, today).await?;
    not_held(&mut tx, &was.state, &was.county, on).await?;
    let doses = visit::doses(&mut tx, id).await?;
    let mut facts = fact::for_day(&mut tx, held.parcel(), today, on, applicator).await?;
    doses.iter().for_each(|dose| forget(&mut facts, dose, was.on_date));
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
    visit::set_day(&mut tx, id, on, technician, supervisor).await?;
    let detail = json!({
        "on": [was.on_date, on], "technician": [was.technician_id, technician],
        "supervisor": [was.supervisor_id, supervisor],
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

/// Further ahead no visit is booked: a slip of the year would hide the plant for as long.
pub const MONTHS_AHEAD: u32 = 18;

/// Nothing is booked for a day that is on hold. The day stays as it is until the transaction ends.
async fn not_held(conn: &mut Conn, state: &str, county: &str, on: NaiveDate) -> Result<()> {
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
async fn applicator(
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

/// Asks the rules for one plant. A dose that may be planned is reserved in the facts, so that the next
/// plant is asked about with it.
pub(super) fn plan(
    facts: &mut Facts,
    plant: &visit::Bookable,
    rate: Option<Decimal>,
    on: NaiveDate,
) -> Result<Result<PlannedDose, String>> {
    if let Some(words) = unplannable(facts, plant) {
        return Ok(Err(words));
    }
    // Rates are written in the terms of the label; the rules know those for one foot, inch or plant.
    let per = plant.rate_per.map_or_else(Exact::one, from_decimal);
    let (id, rate) = (plant.plant_id.to_string(), rate.map(|rate| from_decimal(rate) / &per));
    match may_plan(facts, &Ask { plant: &id, use_id: None, rate: rate.as_ref(), on }) {
        Ok(planned) => {
            let product = plant.product_id.map(|p| p.to_string()).unwrap_or_default();
            let use_id = plant.label_use_id.map(|u| u.to_string());
            let amount = planned.dose.product.clone();
            facts.reservations.push(Application { plant: Some(id), product, use_id, on, amount });
            Ok(Ok(planned))
        }
        Err(PlanError::Refused(why)) => {
            Ok(Err(in_label_terms(why.iter().map(words).collect::<Vec<_>>().join(" "), plant, &per)))
        }
        Err(PlanError::Unknown(what)) => Ok(Err(format!("The label entry lacks a {what} for this plant."))),
        Err(PlanError::Facts(faults)) => {
            let words: Vec<String> = faults.iter().map(ToString::to_string).collect();
            Err(anyhow::anyhow!("facts do not fit together: {}", words.join("; ")).into())
        }
    }
}

fn words(refusal: &Refusal) -> String {
    match &refusal.way_out {
        Some(way) => format!("{} {way}", refusal.words),
        None => refusal.words.clone(),
    }
}

/// Where the label states its rate for more than one inch, the refusal's figures are told apart from it.
fn in_label_terms(words: String, plant: &visit::Bookable, per: &Exact) -> String {
    let basis = plant.measure_basis.as_deref().and_then(MeasureBasis::from_code);
    match (basis, plant.rate_low.zip(plant.rate_high)) {
        (Some(basis), Some((low, high))) if !per.is_one() => format!(
            "{words} Rates here are per {}; the label states {} to {} per {}, and the form takes the rate so.",
            basis.after_per(&Exact::one()),
            low.normalize(),
            high.normalize(),
            basis.on_label(per)
        ),
        _ => words,
    }
}

/// What is missing before the rules can even be asked.
fn unplannable(facts: &Facts, plant: &visit::Bookable) -> Option<String> {
    if plant.retired_at.is_some() {
        return Some("This plant is retired; bring it back first.".to_owned());
    }
    let Some(product) = &plant.product_name else {
        return Some("No treatment is chosen for this plant; choose one on its page.".to_owned());
    };
    if plant.product_retired_at.is_some() {
        return Some(format!(
            "{product} is retired and is not booked any more; choose another treatment on the plant's page."
        ));
    }
    if plant.label_use_id.is_none() {
        return Some(format!(
            "No signed label of {product} has this plant's use. Let a person with a current certification check and \
             sign the label entry, or choose another treatment."
        ));
    }
    let id = plant.plant_id.to_string();
    if !facts.plants.iter().any(|p| p.id == id) {
        return Some(no_dose(plant));
    }
    let booked = facts.reservations.iter().find(|r| {
        r.plant.as_deref() == Some(&id) && plant.product_id.is_some_and(|p| p.to_string() == r.product)
    })?;
    Some(format!(
        "This plant is booked for {product} on {} already; move or cancel that visit instead.",
        booked.on
    ))
}

/// Why the rules know no dose of a plant that has its use: it is not measured, or packets cannot be divided.
fn no_dose(plant: &visit::Bookable) -> String {
    let basis = plant.measure_basis.as_deref().and_then(MeasureBasis::from_code);
    let measured = basis.is_some_and(|basis| plant.measure().for_basis(basis).is_some());
    let piece = plant.rate_unit.as_deref().filter(|unit| matches!(*unit, "packet" | "tablet"));
    if let (true, Some(piece)) = (measured, piece) {
        return format!(
            "No whole number of {piece}s lies within the label's band for its measure, and a {piece} is never \
             divided; choose another treatment."
        );
    }
    let what = basis.map_or("size", figure_words);
    format!("Its {what} is not measured; measure it and enter it on its page.")
}

/// Takes a dose's own reservation out of the facts, so that it does not stand in its own way.
fn forget(facts: &mut Facts, dose: &visit::Dose, on: NaiveDate) {
    let (plant, item) = (dose.plant_id.to_string(), dose.label_use_id.to_string());
    let own = facts
        .reservations
        .iter()
        .position(|r| r.on == on && r.plant.as_deref() == Some(&plant) && r.use_id.as_deref() == Some(&item));
    if let Some(position) = own {
        facts.reservations.remove(position);
    }
}

/// The dose as a row.
fn stored(
    visit: Uuid,
    plant: &visit::Bookable,
    facts: &Facts,
    planned: &PlannedDose,
) -> Result<visit::NewDose> {
    let id = plant.plant_id.to_string();
    let measure = facts.plants.iter().find(|p| p.id == id).map(|p| &p.measure).ok_or(Error::NotFound)?;
    let per = plant.rate_per.map_or_else(Exact::one, from_decimal);
    Ok(visit::NewDose {
        visit_id: visit,
        plant_id: plant.plant_id,
        label_use_id: plant.label_use_id.ok_or(Error::NotFound)?,
        measure: decimal(&kept(measure))?,
        count: plant.count,
        rate: decimal(&(&planned.dose.rate * per))?,
        amount: decimal(&kept(&planned.dose.product.value))?,
        unit: planned.dose.product.unit.code().to_owned(),
    })
}

/// A product of decimals is a decimal; only its length may be too much for the database.
pub(super) fn decimal(value: &Exact) -> Result<Decimal> {
    to_decimal(value).ok_or_else(|| Error::refused(format!("{} has too many digits.", plain(value))))
}
