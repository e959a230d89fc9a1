//! A plan as a page shows it.
use super::{
    engine::{Driven, Question},
    gather::{Absent, absent},
    week::{Week, last_day},
};
use crate::{
    actions::{Doer, Result},
    db::plan::{self, Day, Run, Stop, WeekPlan},
};
use chrono::{NaiveDate, NaiveDateTime};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, HashMap, HashSet};
use uuid::Uuid;

/// One technician's day: its stops in order and what it drives.
#[derive(Debug, Clone)]
pub struct ShownDay {
    pub day: Day,
    pub stops: Vec<Stop>,
    pub driven: Driven,
    /// Carrier water of all its stops.
    pub water_gal: Decimal,
    /// Nothing changes here any more.
    pub is_past: bool,
}

/// The whole plan.
#[derive(Debug, Clone)]
pub struct Shown {
    pub plan: WeekPlan,
    pub days: Vec<ShownDay>,
    pub left_out: Vec<Stop>,
    pub run: Option<Run>,
    pub driven: Driven,
    /// Where the figures of travel come from, in words.
    pub travel: String,
    /// The moment at which it is shown, by the company's clock.
    pub now: NaiveDateTime,
    /// Plants of these sites that are not part of the stop there, in words.
    pub apart: HashMap<Uuid, Vec<String>>,
    /// People who go out and have no day in this plan.
    pub without_a_day: Vec<Absent>,
}

/// What a week that is not planned yet would be made of.
#[derive(Debug, Clone, Default)]
pub struct Before {
    pub people: Vec<Absent>,
    /// Sites with plants due by its Sunday that nobody has booked.
    pub due_sites: usize,
    pub booked: usize,
    pub waiting: usize,
    /// Plants that are due nowhere since nothing can be worked out for them.
    pub without_a_day: i64,
}

/// The week's plan; nothing: there is none yet.
///
/// # Errors
/// When the database does not answer.
pub async fn shown(doer: &Doer, monday: NaiveDate) -> Result<Option<Shown>> {
    let mut conn = doer.pool.acquire().await?;
    let Some(found) = plan::of_week(&mut conn, monday).await? else { return Ok(None) };
    let run = plan::newest_run(&mut conn, found.id).await?;
    let mut apart: HashMap<Uuid, Vec<String>> = HashMap::new();
    for one in plan::apart(&mut conn, found.id, last_day(monday)).await? {
        let why = match (one.is_due, one.has_treatment) {
            (true, _) => "is due as well and does not go with the others; its page says why",
            (false, true) => "is not measured",
            (false, false) => "has no treatment chosen",
        };
        apart.entry(one.site_id).or_default().push(format!("{}, {} {why}", one.host_plant, one.place));
    }
    let people = absent(plan::workers(&mut conn).await?);
    let week = Week::load(&mut conn, doer, found).await?;
    let days: Vec<ShownDay> = week.around.days.iter().map(|day| shown_day(&week, day)).collect();
    let with: HashSet<Uuid> = week.around.days.iter().map(|d| d.technician_id).collect();
    Ok(Some(Shown {
        driven: days.iter().map(|d| d.driven).fold(Driven::default(), Driven::and),
        days,
        left_out: week.stops.iter().filter(|s| !s.is_placed()).cloned().collect(),
        run,
        travel: week.around.roads.source.words(),
        now: week.around.now,
        apart,
        without_a_day: people.into_iter().filter(|p| !with.contains(&p.worker.id)).collect(),
        plan: week.plan,
    }))
}

fn shown_day(week: &Week, day: &Day) -> ShownDay {
    let order = week.on_day(day.technician_id, day.on_date);
    let stops: Vec<&Stop> = order.iter().filter_map(|id| week.stop(*id).ok()).collect();
    let driven = if stops.is_empty() {
        Driven::default()
    } else {
        Question::of_day(&week.around, day, &stops).driven_by(day.technician_id, day.on_date, &order)
    };
    ShownDay {
        day: day.clone(),
        water_gal: stops.iter().map(|s| s.load_gal).sum(),
        stops: stops.into_iter().cloned().collect(),
        driven,
        is_past: day.on_date < week.today,
    }
}

/// What the week would be made of if these people were sent out; nobody chosen: everybody.
///
/// # Errors
/// When the database does not answer.
pub async fn before(doer: &Doer, monday: NaiveDate) -> Result<Before> {
    let mut conn = doer.pool.acquire().await?;
    let today = doer.today(&mut conn).await?;
    let people = absent(plan::workers(&mut conn).await?);
    let all: Vec<Uuid> = people.iter().map(|p| p.worker.id).collect();
    let due = plan::due_in(&mut conn, last_day(monday)).await?;
    let sites: BTreeMap<Uuid, ()> = due.iter().map(|d| (d.site_id, ())).collect();
    Ok(Before {
        due_sites: sites.len(),
        booked: plan::visits_in(&mut conn, &all, today.max(monday), last_day(monday)).await?.len(),
        waiting: plan::waiting(&mut conn).await?.len(),
        without_a_day: plan::has_no_day(&mut conn).await?,
        people,
    })
}
