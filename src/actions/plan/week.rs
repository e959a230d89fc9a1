//! A plan with all that its stops follow from, as the verbs read it.
use super::{
    options::Around,
    rules::{self, Asked, Doses, Fits},
    travel::Roads,
};
use crate::{
    actions::{Doer, Error, Result},
    db::{
        self, Conn,
        plan::{self, Day, Stop, WeekPlan},
    },
};
use chrono::{Days, NaiveDate};
use std::collections::HashMap;
use uuid::Uuid;

/// A plan, its stops and what stands around them.
#[derive(Debug, Clone)]
pub struct Week {
    pub plan: WeekPlan,
    pub stops: Vec<Stop>,
    pub around: Around,
    /// Plants of the stops that are not booked yet.
    plants: HashMap<Uuid, Vec<Uuid>>,
    pub today: NaiveDate,
}

impl Week {
    /// Reads it all.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn load(conn: &mut Conn, doer: &Doer, plan: WeekPlan) -> Result<Self> {
        let zone = db::company::time_zone(conn).await?;
        let now = doer.clock.now().with_timezone(&zone).naive_local();
        let (monday, sunday) = (plan.week_start, last_day(plan.week_start));
        let days = plan::days(conn, plan.id).await?;
        let stops = plan::stops(conn, plan.id).await?;
        let sites: Vec<Uuid> = stops.iter().map(|s| s.site_id).collect();
        let places = days.iter().map(|d| (d.start_latitude, d.start_longitude));
        let places = places.chain(stops.iter().filter_map(|s| s.latitude.zip(s.longitude)));
        let around = Around {
            monday,
            now,
            roads: Roads::between(doer, places.collect()).await?,
            days,
            holds: plan::holds(conn, monday, sunday).await?,
            windows: plan::windows(conn, &sites).await?,
        };
        let mut plants: HashMap<Uuid, Vec<Uuid>> = HashMap::new();
        for (stop, plant) in plan::plants_of(conn, plan.id).await? {
            plants.entry(stop).or_default().push(plant);
        }
        Ok(Self { plan, stops, around, plants, today: now.date() })
    }

    /// The stop of that id.
    ///
    /// # Errors
    /// Not found when the plan has none.
    pub fn stop(&self, id: Uuid) -> Result<&Stop> {
        self.stops.iter().find(|s| s.id == id).ok_or(Error::NotFound)
    }

    /// The stops that stand on a technician's day, in order.
    #[must_use]
    pub fn on_day(&self, technician: Uuid, on: NaiveDate) -> Vec<Uuid> {
        let there =
            self.stops.iter().filter(|s| s.technician_id == Some(technician) && s.on_date == Some(on));
        let mut there: Vec<(Option<i32>, Uuid)> = there.map(|s| (s.position, s.id)).collect();
        there.sort_unstable();
        there.into_iter().map(|(_, id)| id).collect()
    }

    /// Whether nothing changes a stop any more: it is done, or its day in the plan is over.
    #[must_use]
    pub fn is_past(&self, stop: &Stop) -> bool {
        stop.visit_status.as_deref() == Some("done") || stop.on_date.is_some_and(|on| on < self.today)
    }

    /// The last number on that day that is taken by what is done already.
    #[must_use]
    pub fn behind(&self, technician: Uuid, on: NaiveDate) -> i32 {
        let there =
            self.stops.iter().filter(|s| s.technician_id == Some(technician) && s.on_date == Some(on));
        there.filter(|s| self.is_past(s)).filter_map(|s| s.position).max().unwrap_or(0)
    }

    /// Asks the rules of labels and states about these stops, all days of the week from today on.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn fits(&self, conn: &mut Conn, stops: &[&Stop]) -> Result<HashMap<Uuid, Fits>> {
        let visits: Vec<Uuid> = stops.iter().filter_map(|s| s.visit_id).collect();
        let doses = plan::visit_doses(conn, &visits).await?;
        let asked: Vec<Asked> = stops
            .iter()
            .map(|stop| {
                let doses = match (stop.visit_id, stop.booked_on) {
                    (Some(visit), Some(on)) => {
                        Doses::Booked(on, doses.iter().filter(|d| d.visit_id == visit).cloned().collect())
                    }
                    _ => Doses::All(self.plants.get(&stop.id).cloned().unwrap_or_default()),
                };
                let (parcel, state) = (stop.parcel_id, stop.state.clone());
                Asked {
                    stop: stop.id,
                    site: stop.site_id,
                    parcel,
                    state,
                    supervisor: stop.supervisor_id,
                    doses,
                }
            })
            .collect();
        let days: Vec<Day> = self.around.days.iter().filter(|d| d.on_date >= self.today).cloned().collect();
        rules::fits(conn, self.today, &days, &asked).await
    }

    /// The plants of a stop that is not booked yet.
    #[must_use]
    pub fn plants_of(&self, stop: Uuid) -> &[Uuid] {
        self.plants.get(&stop).map(Vec::as_slice).unwrap_or_default()
    }
}

/// Sunday of the week that begins on this Monday.
#[must_use]
pub fn last_day(monday: NaiveDate) -> NaiveDate {
    monday.checked_add_days(Days::new(6)).unwrap_or(NaiveDate::MAX)
}

/// The days of the week that are not over.
#[must_use]
pub fn days_from(monday: NaiveDate, today: NaiveDate) -> Vec<NaiveDate> {
    monday.iter_days().take(7).filter(|day| *day >= today).collect()
}
