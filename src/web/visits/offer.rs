//! The dose that follows from what was measured on the spot, offered for the person to check.
use crate::{
    db::{
        Conn, fact,
        visit::{Dose, Visit},
    },
    domain::{
        plan::{Ask, PlanError, may_plan},
        quantity::from_decimal,
    },
    web::{Result, form::Form, pour, session::Actor, words},
};
use rust_decimal::Decimal;
use uuid::Uuid;

/// An offered dose, and what stands against it.
pub struct Offer {
    pub plant: Uuid,
    /// The plant in words, for the page's head.
    pub name: String,
    pub words: String,
    pub warnings: Vec<String>,
}

/// Works the dose out at the planned rate and puts it into the form, with the measure that it is for.
pub async fn offer(
    conn: &mut Conn,
    actor: &Actor,
    visit: &Visit,
    dose: &Dose,
    measure: Decimal,
    form: &mut Form,
) -> Result<Offer> {
    let times = measure * Decimal::from(dose.count);
    let amount = (dose.rate * times).normalize();
    form.set(&format!("amount-{}", dose.plant_id), amount.to_string());
    form.set(&format!("offered-{}", dose.plant_id), measure.normalize().to_string());
    let unit = words::unit(&dose.unit);
    let said = format!(
        "Measured {}, planned for {}: at {} that is {amount} {unit}; the label's band gives {} to {}.",
        pour::measure(measure, &dose.measure_basis),
        pour::measure(dose.measure, &dose.measure_basis),
        pour::rate(dose.rate, &dose.unit, &dose.measure_basis),
        pour::amount(dose.rate_low * times, &dose.unit),
        pour::amount(dose.rate_high * times, &dose.unit),
    );
    Ok(Offer {
        plant: dose.plant_id,
        name: format!("{}, {}", dose.host_plant, dose.place),
        words: said,
        warnings: against(conn, actor, visit, dose, measure).await?,
    })
}

/// What the rules say against it today.
async fn against(
    conn: &mut Conn,
    actor: &Actor,
    visit: &Visit,
    dose: &Dose,
    measure: Decimal,
) -> Result<Vec<String>> {
    let (technician, supervisor) = (visit.technician_id, visit.supervisor_id);
    let applicator = fact::applicator(conn, technician, supervisor, &visit.state, actor.today).await?;
    let mut facts = fact::of_parcel(conn, visit.parcel_id, actor.today, applicator).await?;
    let (plant, item) = (dose.plant_id.to_string(), dose.label_use_id.to_string());
    // Its own reservation gives way to what is about to be poured.
    facts.reservations.retain(|r| {
        !(r.plant.as_deref() == Some(&plant) && r.use_id.as_deref() == Some(&item) && r.on == visit.on_date)
    });
    if let Some(known) = facts.plants.iter_mut().find(|p| p.id == plant) {
        known.measure = from_decimal(measure);
    }
    let rate = from_decimal(dose.rate);
    let ask = Ask { plant: &plant, use_id: Some(&item), rate: Some(&rate), on: actor.today };
    let Err(PlanError::Refused(why)) = may_plan(&facts, &ask) else { return Ok(vec![]) };
    let words = |one: crate::domain::plan::Refusal| {
        words::sentence(&format!("Warning: {} {}", one.words, one.way_out.unwrap_or_default()))
    };
    Ok(why.into_iter().map(words).collect())
}
