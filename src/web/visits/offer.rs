//! The dose that follows from what was measured on the spot, offered for the person to check.
use crate::{
    db::{
        Conn, fact,
        visit::{Dose, Visit},
    },
    domain::{
        dose,
        plan::{Ask, PlanError, may_plan},
        quantity::{Amount, from_decimal, kept, plain},
    },
    web::{Result, form::Form, pour, session::Actor, words},
};
use fluent_bundle::FluentArgs;
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
    let (amount, against) = worked_out(conn, actor, visit, dose, measure).await?;
    if let Ok(amount) = &amount {
        form.set(&format!("amount-{}", dose.plant_id), plain(&kept(&amount.product.value)));
    }
    form.set(&format!("offered-{}", dose.plant_id), measure.normalize().to_string());
    let language = actor.reads();
    let mut args = FluentArgs::new();
    args.set("measured", pour::measure_in(language, measure, &dose.measure_basis));
    args.set("planned", pour::measure_in(language, dose.measure, &dose.measure_basis));
    args.set("rate", pour::rate_in(language, dose.rate, &dose.unit, &dose.measure_basis, dose.rate_per));
    let said = match &amount {
        Ok(own) => {
            let exact = Amount::new(kept(&own.product.value), own.product.unit);
            args.set("dose", words::sentence(&exact.words()));
            args.set("low", pour::shown_in(language, &own.low.value, &dose.unit));
            args.set("high", pour::shown_in(language, &own.high.value, &dose.unit));
            language.fill("offer-dose", &args)
        }
        Err(why) => {
            args.set("why", format!("{}.", language.said(why)));
            language.fill("offer-none", &args)
        }
    };
    Ok(Offer {
        plant: dose.plant_id,
        name: format!("{}, {}", dose.host_plant, dose.place),
        words: said,
        warnings: against,
    })
}

/// The dose for that measure, or why there is none; and what the rules say against it today.
async fn worked_out(
    conn: &mut Conn,
    actor: &Actor,
    visit: &Visit,
    planned: &Dose,
    measure: Decimal,
) -> Result<(std::result::Result<dose::Dose, String>, Vec<String>)> {
    let (technician, supervisor) = (visit.technician_id, visit.supervisor_id);
    let applicator = fact::applicator(conn, technician, supervisor, &visit.state, actor.today).await?;
    let mut facts = fact::of_parcel(conn, visit.parcel_id, actor.today, applicator).await?;
    let (plant, item) = (planned.plant_id.to_string(), planned.label_use_id.to_string());
    let (rate, measure) =
        (from_decimal(planned.rate) / from_decimal(planned.rate_per), from_decimal(measure));
    let found = facts.products.iter().find_map(|product| Some((product, product.find_use(&item)?)));
    let (product, used) = found.ok_or_else(|| anyhow::anyhow!("the use of a planned dose is not there"))?;
    let count = u32::try_from(planned.count).unwrap_or(1);
    let worked = dose::dose(product, used, &measure, count, Some(&rate)).map_err(|why| why.to_string());
    if worked.is_err() {
        return Ok((worked, vec![]));
    }
    // Its own reservation gives way to what is about to be poured.
    facts.reservations.retain(|r| {
        !(r.plant.as_deref() == Some(&plant) && r.use_id.as_deref() == Some(&item) && r.on == visit.on_date)
    });
    if let Some(known) = facts.plants.iter_mut().find(|p| p.id == plant) {
        known.measure = measure;
    }
    let ask = Ask { plant: &plant, use_id: Some(&item), rate: Some(&rate), on: actor.today };
    let Err(PlanError::Refused(why)) = may_plan(&facts, &ask) else { return Ok((worked, vec![])) };
    let words = |one: crate::domain::plan::Refusal| {
        let said = format!("{} {}", one.words, one.way_out.unwrap_or_default());
        let said = words::sentence_in(actor.reads(), said.trim());
        actor.reads().say_of("offer-warning", "words", said)
    };
    Ok((worked, why.into_iter().map(words).collect()))
}
