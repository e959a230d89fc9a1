//! What a week's plan is made of: the chosen technicians' days and every stop that could be on them.
use super::{
    rules::{self, Asked, Doses, Fits},
    week::{days_from, last_day},
};
use crate::{
    actions::{Doer, Error, Result},
    db::{
        Conn,
        plan::{self, Booked, Day, Ground, NewStop, Terms, WeekPlan, Worker},
    },
};
use chrono::{Datelike, NaiveDate};
use rust_decimal::{Decimal, prelude::ToPrimitive};
use std::collections::{HashMap, HashSet};
use uuid::Uuid;

/// Somebody whom no plan can send out, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Absent {
    pub worker: Worker,
    /// Nothing: they can be sent out.
    pub why: Option<&'static str>,
}

/// Everybody who goes out, with what keeps some of them from it.
#[must_use]
pub fn absent(workers: Vec<Worker>) -> Vec<Absent> {
    let of = |worker: Worker| {
        let why = if !worker.has_hours {
            Some("no working hours are entered")
        } else if worker.latitude.is_none() {
            Some("nobody has said where the day begins")
        } else {
            None
        };
        Absent { worker, why }
    };
    workers.into_iter().map(of).collect()
}

/// Puts the technicians' days and the stops of the week into the plan. What is locked, done or behind us stays.
pub(super) async fn gather(
    doer: &Doer,
    tx: &mut Conn,
    plan: &WeekPlan,
    technicians: &[Uuid],
) -> Result<usize> {
    let today = doer.today(tx).await?;
    let dates = days_from(plan.week_start, today);
    if dates.is_empty() {
        return Err(Error::field("technicians", "This week is over; choose a later one."));
    }
    plan::delete_loose(tx, plan.id, today).await?;
    plan::forget_days(tx, plan.id).await?;
    let days = working(tx, technicians, &dates).await?;
    if days.is_empty() {
        return Err(Error::field(
            "technicians",
            "None of them works on a day of this week that is still to come; enter their working hours, or choose \
             others.",
        ));
    }
    for day in &days {
        plan::keep_day(tx, plan.id, day).await?;
    }
    let kept = plan::stops(tx, plan.id).await?;
    let kept_visits: HashSet<Uuid> = kept.iter().filter_map(|s| s.visit_id).collect();
    let kept_plants: HashSet<Uuid> =
        plan::plants_of(tx, plan.id).await?.into_iter().map(|(_, plant)| plant).collect();
    let mut wanted = visits(tx, technicians, today, last_day(plan.week_start), &kept_visits).await?;
    wanted.extend(due(tx, last_day(plan.week_start), &kept_plants).await?);
    enter(tx, plan, today, &days, wanted).await
}

/// The days on which these people work.
async fn working(tx: &mut Conn, technicians: &[Uuid], dates: &[NaiveDate]) -> Result<Vec<Day>> {
    let workers = plan::workers(tx).await?;
    let hours = plan::hours(tx, technicians).await?;
    let mut days = vec![];
    for worker in workers.iter().filter(|w| technicians.contains(&w.id)) {
        let Some((latitude, longitude)) = worker.latitude.zip(worker.longitude) else { continue };
        for on in dates {
            let weekday = on.weekday().number_from_monday();
            let hours =
                hours.iter().find(|h| h.person_id == worker.id && u32::try_from(h.weekday) == Ok(weekday));
            days.extend(hours.map(|hours| Day {
                technician_id: worker.id,
                technician_name: worker.name.clone(),
                on_date: *on,
                starts: hours.starts,
                ends: hours.ends,
                break_minutes: hours.break_minutes,
                break_from: hours.break_from,
                break_until: hours.break_until,
                start_latitude: latitude,
                start_longitude: longitude,
                tank_gal: worker.tank_gal,
            }));
        }
    }
    Ok(days)
}

/// A stop before it is entered.
struct Wanted {
    site: Uuid,
    visit: Option<Uuid>,
    supervisor: Option<Uuid>,
    doses: Doses,
}

/// What is booked for these people in the rest of the week, and what waits to be planned anew.
async fn visits(
    tx: &mut Conn,
    technicians: &[Uuid],
    from: NaiveDate,
    until: NaiveDate,
    kept: &HashSet<Uuid>,
) -> Result<Vec<Wanted>> {
    let monday = until - chrono::TimeDelta::days(6);
    let mut booked: Vec<Booked> = plan::visits_in(tx, technicians, from.max(monday), until).await?;
    booked.extend(plan::waiting(tx).await?);
    booked.retain(|b| !kept.contains(&b.id));
    let ids: Vec<Uuid> = booked.iter().map(|b| b.id).collect();
    let doses = plan::visit_doses(tx, &ids).await?;
    let of = |b: Booked| {
        let own = doses.iter().filter(|d| d.visit_id == b.id).cloned().collect();
        Wanted {
            site: b.site_id,
            visit: Some(b.id),
            supervisor: b.supervisor_id,
            doses: Doses::Booked(b.on_date, own),
        }
    };
    Ok(booked.into_iter().map(of).collect())
}

/// Sites with plants that are due by then and that nobody has booked.
async fn due(tx: &mut Conn, until: NaiveDate, kept: &HashSet<Uuid>) -> Result<Vec<Wanted>> {
    let mut sites: Vec<(Uuid, Vec<Uuid>)> = vec![];
    for one in plan::due_in(tx, until).await? {
        if kept.contains(&one.plant_id) {
            continue;
        }
        match sites.last_mut().filter(|(site, _)| *site == one.site_id) {
            Some((_, plants)) => plants.push(one.plant_id),
            None => sites.push((one.site_id, vec![one.plant_id])),
        }
    }
    let of = |(site, plants)| Wanted { site, visit: None, supervisor: None, doses: Doses::Most(plants) };
    Ok(sites.into_iter().map(of).collect())
}

/// Asks the rules about every stop and enters it with its minutes and its water; how many.
async fn enter(
    tx: &mut Conn,
    plan: &WeekPlan,
    today: NaiveDate,
    days: &[Day],
    wanted: Vec<Wanted>,
) -> Result<usize> {
    let terms = plan::terms(tx).await?.ok_or(Error::NotFound)?;
    let sites: Vec<Uuid> = wanted.iter().map(|w| w.site).collect();
    let known: HashMap<Uuid, Ground> =
        plan::grounds(tx, &sites).await?.into_iter().map(|ground| (ground.id, ground)).collect();
    let mut asked = vec![];
    for one in &wanted {
        let ground = known.get(&one.site).ok_or(Error::NotFound)?;
        asked.push(question(ground, one.supervisor, one.doses.clone()));
    }
    let fits = rules::fits(tx, today, days, &asked).await?;
    for (asked, wanted) in asked.iter().zip(&wanted) {
        let fits = fits.get(&asked.stop).cloned().unwrap_or_default();
        let own = known.get(&asked.site).and_then(|ground| ground.service_minutes);
        plan::insert_stop(tx, plan.id, &new_stop(&terms, asked, wanted.visit, own, &fits)).await?;
    }
    Ok(wanted.len())
}

fn question(ground: &Ground, supervisor: Option<Uuid>, doses: Doses) -> Asked {
    Asked {
        stop: Uuid::now_v7(),
        site: ground.id,
        parcel: ground.parcel_id,
        state: ground.state.clone(),
        supervisor,
        doses,
    }
}

fn new_stop(terms: &Terms, asked: &Asked, visit: Option<Uuid>, own: Option<i32>, fits: &Fits) -> NewStop {
    let why = fits.plants.is_empty().then(|| fits.days.values().flatten().next().cloned()).flatten();
    NewStop {
        id: asked.stop,
        site_id: asked.site,
        visit_id: visit,
        service_minutes: own.unwrap_or_else(|| minutes(terms, fits.count)),
        load_gal: fits.water_gal,
        plants: if visit.is_some() {
            vec![]
        } else if fits.plants.is_empty() {
            // Kept by name, so that it is asked about again.
            match &asked.doses {
                Doses::Most(plants) | Doses::All(plants) => plants.clone(),
                Doses::Booked(..) => vec![],
            }
        } else {
            fits.plants.clone()
        },
        unserved_why: why.unwrap_or_default(),
    }
}

/// So much for coming and going and so much for each plant, in whole minutes, at least one.
fn minutes(terms: &Terms, plants: i32) -> i32 {
    let of_plants = (terms.plant_minutes * Decimal::from(plants)).ceil().to_i32().unwrap_or(1440);
    terms.stop_minutes.saturating_add(of_plants).clamp(1, 1440)
}

/// Enters one more site, with every plant of it that some day of the week allows; the stop's id.
pub(super) async fn one_more(doer: &Doer, tx: &mut Conn, plan: &WeekPlan, site: Uuid) -> Result<Uuid> {
    let today = doer.today(tx).await?;
    let mut days = plan::days(tx, plan.id).await?;
    days.retain(|day| day.on_date >= today);
    let plants = plan::open_plants(tx, site).await?;
    if plants.is_empty() {
        return Err(Error::field(
            "site",
            "No plant there can be added: each is booked already, or has no treatment chosen.",
        ));
    }
    let terms = plan::terms(tx).await?.ok_or(Error::NotFound)?;
    let known = plan::grounds(tx, &[site]).await?;
    let ground = known.first().ok_or(Error::NotFound)?;
    let asked = question(ground, None, Doses::Most(plants));
    let fits = rules::fits(tx, today, &days, std::slice::from_ref(&asked)).await?;
    let fits = fits.get(&asked.stop).cloned().unwrap_or_default();
    if fits.plants.is_empty() {
        let why = fits.days.values().flatten().next().cloned();
        return Err(Error::field("site", why.unwrap_or_else(|| "This week is over.".to_owned())));
    }
    plan::insert_stop(tx, plan.id, &new_stop(&terms, &asked, None, ground.service_minutes, &fits)).await?;
    Ok(asked.stop)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn terms() -> Terms {
        Terms { stop_minutes: 10, plant_minutes: Decimal::new(25, 1), latitude: None, longitude: None }
    }

    #[test]
    fn a_stop_takes_its_plants_time_and_coming_and_going() {
        assert_eq!(minutes(&terms(), 5), 23, "10 + 12.5, rounded up");
        assert_eq!(minutes(&terms(), 10_000), 1440, "no longer than a day");
        assert_eq!(minutes(&Terms { stop_minutes: 0, plant_minutes: Decimal::ZERO, ..terms() }, 3), 1);
    }

    #[test]
    fn who_cannot_be_sent_out_is_named_with_the_reason() {
        let worker = |has_hours, latitude| Worker {
            id: Uuid::nil(),
            name: "Per Aldous".into(),
            role: "technician".into(),
            latitude,
            longitude: latitude,
            tank_gal: None,
            has_hours,
        };
        let why: Vec<_> = absent(vec![worker(false, None), worker(true, None), worker(true, Some(35.0))])
            .into_iter()
            .map(|a| a.why)
            .collect();
        assert_eq!(why[2], None);
        assert!(why[0].unwrap().contains("hours") && why[1].unwrap().contains("begins"));
    }
}
