//! The visits ahead: only what the engine allows that day is booked, and it reserves the cap.
use super::{
    days::{ago, ahead, at},
    people::People,
    rows::deed,
    world::{Wish, World},
};
use crate::{
    db::{
        Conn,
        demo::{Table, fill},
        fact, ledger,
        visit::{self, New, NewDose},
    },
    domain::{
        facts::{Application, Facts},
        plan::{Ask, PlanError, PlannedDose, may_plan},
        quantity::{kept, to_decimal},
    },
};
use anyhow::Context;
use serde_json::json;
use uuid::Uuid;

/// Books every wish.
pub async fn enter(conn: &mut Conn, w: &mut World, people: &People) -> anyhow::Result<()> {
    let wishes = std::mem::take(&mut w.wishes);
    let mut deeds = vec![];
    for wish in wishes {
        let id = w.chance.id();
        let doses = book(conn, w, people, wish, id).await?;
        let day = ago(w.today, 6);
        deeds.push(deed(day, people.office, "booked", "visit", id, &json!({ "doses": doses })));
    }
    Ok(fill(conn, Table::Audit, &deeds).await?)
}

async fn book(conn: &mut Conn, w: &World, people: &People, wish: Wish, id: Uuid) -> anyhow::Result<usize> {
    let place = &w.places[wish.place];
    let parcel = w.lands[place.land].id;
    let on = ahead(w.today, wish.in_days);
    let new = New {
        id,
        site_id: place.id,
        technician_id: people.technicians[wish.technician].id,
        supervisor_id: None,
        on_date: on,
        note: if wish.in_days == 0 {
            "Customer is told; ring at the gate.".to_owned()
        } else {
            String::new()
        },
        promised: wish.in_days == 0,
        booked_by: people.office,
    };
    visit::insert(conn, &new, at(ago(w.today, 6), 10, 40)).await?;
    let held = ledger::lock(conn, parcel).await?;
    let applicator = fact::company_as_applicator(conn, parcel, on).await?;
    let mut facts = fact::of_parcel(conn, parcel, w.today, applicator).await?;
    let mut booked = 0;
    for plant in w.plants.iter().filter(|p| p.place == wish.place && p.retired.is_none()) {
        let key = plant.id.to_string();
        let ask = Ask { plant: &key, use_id: None, rate: None, on };
        let planned = match may_plan(&facts, &ask) {
            Ok(planned) => planned,
            Err(PlanError::Refused(_) | PlanError::Unknown(_)) => continue,
            Err(PlanError::Facts(errors)) => anyhow::bail!("facts of {parcel}: {errors:?}"),
        };
        let dose = reserve(&mut facts, plant.id, id, &planned, on)?;
        visit::insert_dose(conn, &held, &dose).await?;
        booked += 1;
    }
    Ok(booked)
}

/// The dose's row; the next plant of the visit sees it as reserved.
fn reserve(
    facts: &mut Facts,
    plant: Uuid,
    visit: Uuid,
    planned: &PlannedDose,
    on: chrono::NaiveDate,
) -> anyhow::Result<NewDose> {
    let known = facts.plants.iter().find(|one| one.id == plant.to_string()).context("the plant is known")?;
    let (measure, count) =
        (to_decimal(&kept(&known.measure)).context("a measure")?, i32::try_from(known.count)?);
    let use_id = known.use_id.clone();
    let product = facts.products.iter().find(|one| one.find_use(&use_id).is_some()).context("a product")?;
    let amount = &planned.dose.product;
    let row = NewDose {
        visit_id: visit,
        plant_id: plant,
        label_use_id: use_id.parse()?,
        measure,
        count,
        rate: to_decimal(&planned.dose.rate).context("a rate")?,
        amount: to_decimal(&kept(&amount.value)).context("an amount")?,
        unit: amount.unit.code().to_owned(),
    };
    let reservation = Application {
        plant: Some(plant.to_string()),
        product: product.id.clone(),
        use_id: Some(use_id),
        on,
        amount: amount.clone(),
    };
    facts.reservations.push(reservation);
    Ok(row)
}
