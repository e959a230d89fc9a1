//! Calculations in the background: asked for, taken by a worker, watched, stopped, written down.
use super::{
    engine::{Driven, Question},
    gather, hold_as_seen, meanwhile, note,
    search::{self, Best, Shared, StopWithMe},
    week::Week,
};
use crate::{
    actions::{Doer, Error, Result},
    db::{
        self, Conn,
        plan::{self, Run, WeekPlan},
    },
    domain::route::Plan,
};
use chrono::{Datelike, NaiveDate, TimeDelta, Weekday};
use rust_decimal::{Decimal, prelude::ToPrimitive};
use std::{sync::Arc, time::Duration};
use uuid::Uuid;

pub use super::search::Limit;

/// How long one may let it calculate.
pub const SECONDS: [u32; 4] = [5, 20, 60, 300];
/// Nobody works on a calculation that has not been heard of for so long.
const SILENCE: TimeDelta = TimeDelta::seconds(30);
/// How often a worker says that it is still there.
const BEAT: Duration = Duration::from_millis(500);

/// What is to be planned.
#[derive(Debug, Clone)]
pub struct Start {
    /// The run's own name: the same form sent twice asks once.
    pub id: Uuid,
    pub monday: NaiveDate,
    /// The version that the reader saw; 0: there was no plan.
    pub seen: i32,
    pub seconds: u32,
    /// Who is to be sent out; nothing: the plan's stops are planned anew around what is locked.
    pub technicians: Option<Vec<Uuid>>,
}

/// Asks for a calculation, of a plan gathered anew or of the one that is there. How many stops were gathered.
///
/// # Errors
/// Refused when the week is over, nobody works, the plan changed meanwhile, or a calculation goes on.
pub async fn start(doer: &Doer, start: &Start) -> Result<usize> {
    let by = doer.person.ok_or(Error::NotFound)?;
    if start.monday.weekday() != Weekday::Mon {
        return Err(Error::NotFound);
    }
    let (mut tx, now) = (doer.pool.begin().await?, doer.clock.now());
    if start.seen == 0 {
        if start.technicians.as_ref().is_none_or(Vec::is_empty) {
            return Err(Error::field("technicians", "Choose at least one person to send out."));
        }
        plan::make(&mut tx, Uuid::now_v7(), start.monday, by, now).await?;
    }
    // A plan that was only just made is at its first version.
    let held = hold_as_seen(&mut tx, start.monday, start.seen.max(1)).await?;
    if plan::running(&mut tx, held.id).await? {
        return Err(Error::refused("This week is being calculated already."));
    }
    let (gathered, words) = match &start.technicians {
        Some(technicians) => {
            let count = gather::gather(doer, &mut tx, &held, technicians).await?;
            (count, format!("gathered {count} stops and began to calculate."))
        }
        None => (0, "began to calculate anew around what is locked.".to_owned()),
    };
    let version = note(doer, &mut tx, &held, "calculated", &words).await?;
    let run = Run {
        id: start.id,
        plan_id: held.id,
        plan_version: version,
        random_start: i64::from(version),
        seconds: Decimal::from(start.seconds),
        state: "waiting".to_owned(),
        stop_asked: false,
        percent: 0,
        best_minutes: None,
        best_miles: None,
        best_unserved: None,
        minutes_before: None,
        miles_before: None,
        words: String::new(),
        asked_by: by,
        asked_at: now,
        started_at: None,
        beat_at: None,
        ended_at: None,
    };
    plan::insert_run(&mut tx, &run).await.map_err(|e| match db::broken_constraint(&e) {
        Some("plan_run_pkey" | "plan_run_one_at_a_time") => {
            Error::refused("This week is being calculated already.")
        }
        _ => e.into(),
    })?;
    tx.commit().await?;
    Ok(gathered)
}

/// Asks the worker to stop; what it has found by then is kept.
///
/// # Errors
/// Not found when there is no such calculation; refused when it has ended.
pub async fn stop_run(doer: &Doer, monday: NaiveDate, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let held = plan::hold(&mut tx, monday).await?.ok_or(Error::NotFound)?;
    if !plan::ask_to_stop(&mut tx, held.id, id, doer.clock.now()).await? {
        return Err(Error::refused("This calculation has ended already."));
    }
    tx.commit().await?;
    Ok(())
}

/// Takes one calculation and brings it to its end; whether there was one. Several workers may do so at once.
///
/// # Errors
/// When the database does not answer. A calculation that fails says so itself.
pub async fn work_one(doer: &Doer, limit: Limit) -> Result<bool> {
    let now = doer.clock.now();
    let taken = plan::take_run(&mut *doer.pool.acquire().await?, now - SILENCE, now).await?;
    let Some(run) = taken else { return Ok(false) };
    if let Err(reason) = calculate(doer, &run, limit).await {
        tracing::error!(%reason, detail = ?reason, "a plan was not calculated");
        let words = match reason {
            Error::Refused { words, .. } => words,
            _ => "Something failed on our side; start it again.".to_owned(),
        };
        let mut tx = doer.pool.begin().await?;
        if plan::begin(&mut tx, &run).await? {
            plan::end(&mut tx, run.id, "failed", &words, doer.clock.now()).await?;
        }
        tx.commit().await?;
    }
    Ok(true)
}

async fn calculate(doer: &Doer, run: &Run, limit: Limit) -> Result<()> {
    let mut conn = doer.pool.acquire().await?;
    let found = plan::find(&mut conn, run.plan_id).await?.ok_or(Error::NotFound)?;
    if found.version != run.plan_version {
        drop(conn);
        return write_down(doer, run, None).await;
    }
    let week = Week::load(&mut conn, doer, found).await?;
    let open: Vec<_> = week.stops.iter().filter(|s| !week.is_past(s)).collect();
    let fits = week.fits(&mut conn, &open).await?;
    let question = Arc::new(Question::of_week(&week, &fits));
    let before = before(&week, &question);
    plan::set_before(&mut conn, run.id, before.minutes(), before.tenths()).await?;
    drop(conn);
    let shared = Arc::new(Shared::default());
    let _guard = StopWithMe(shared.clone());
    let mut work = {
        let (question, shared) = (question.clone(), shared.clone());
        let (dice, seconds) = (run.random_start, run.seconds.to_f64().unwrap_or(5.0));
        tokio::task::spawn_blocking(move || search::search(&question, dice, limit.within(seconds), &shared))
    };
    let mut beats = tokio::time::interval(BEAT);
    let answer = loop {
        tokio::select! {
            answer = &mut work => break answer.map_err(anyhow::Error::from)?.map_err(anyhow::Error::msg)?,
            _ = beats.tick() => if !tell(doer, run, &shared).await? {
                shared.stop();
            },
        }
    };
    tell(doer, run, &shared).await?;
    write_down(doer, run, Some((&week, &question, &answer))).await
}

/// Says how far it is and asks whether to go on: not when somebody else has taken it over.
async fn tell(doer: &Doer, run: &Run, shared: &Shared) -> Result<bool> {
    let mut conn = doer.pool.acquire().await?;
    let Best { percent, minutes, miles, unserved } = shared.best();
    let told =
        Run { percent, best_minutes: minutes, best_miles: miles, best_unserved: unserved, ..run.clone() };
    let ours = plan::beat(&mut conn, run, doer.clock.now(), &told).await?;
    if ours && plan::is_wanted_to_stop(&mut conn, run.id).await? {
        shared.stop();
    }
    Ok(ours)
}

/// What is driven as the plan stands; where nothing is placed yet, as the visits are booked.
fn before(week: &Week, question: &Question) -> Driven {
    let planned = week.stops.iter().any(|s| s.is_placed() && !week.is_past(s));
    let mut sum = Driven::default();
    for day in &question.days {
        let order = if planned {
            week.on_day(day.technician_id, day.on_date)
        } else {
            let booked = week.stops.iter().filter(|s| {
                !s.waiting
                    && s.booked_technician == Some(day.technician_id)
                    && s.booked_on == Some(day.on_date)
            });
            let mut booked: Vec<_> =
                booked.map(|s| (s.booked_place.unwrap_or(i32::MAX), s.visit_id, s.id)).collect();
            booked.sort_unstable();
            booked.into_iter().map(|(_, _, id)| id).collect()
        };
        if !order.is_empty() {
            sum = sum.and(question.driven_by(day.technician_id, day.on_date, &order));
        }
    }
    sum
}

/// Writes the result into the plan, unless the plan is another one by now or the work was taken over.
async fn write_down(doer: &Doer, run: &Run, answer: Option<(&Week, &Question, &Plan)>) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let found = plan::find(&mut tx, run.plan_id).await?.ok_or(Error::NotFound)?;
    let held = plan::hold(&mut tx, found.week_start).await?.ok_or(Error::NotFound)?;
    if !plan::begin(&mut tx, run).await? {
        return Ok(());
    }
    let stopped = plan::is_wanted_to_stop(&mut tx, run.id).await?;
    let state = if stopped { "stopped" } else { "done" };
    let words = match answer.filter(|_| held.version == run.plan_version) {
        Some((week, question, plan)) => {
            keep(&mut tx, week, question, plan).await?;
            let acting = doer.acting(run.asked_by);
            note(&acting, &mut tx, &held, "planned", &told(question, plan, stopped)).await?;
            worth(question, plan)
        }
        None => changed_meanwhile(&mut tx, &held, run, answer).await?,
    };
    plan::end(&mut tx, run.id, state, &words, doer.clock.now()).await?;
    tx.commit().await?;
    Ok(())
}

fn told(question: &Question, plan: &Plan, stopped: bool) -> String {
    let driven = question.driven_in(plan);
    let placed: usize = plan.routes.iter().map(|route| route.visits.len()).sum();
    let how = if stopped { "stopped the calculation; the best so far" } else { "the calculation" };
    format!(
        "{how} placed {placed} stops, {} left out, {} minutes of driving.",
        question.unserved(plan),
        driven.minutes()
    )
}

/// What the result is worth, in the order in which the planner weighs it.
fn worth(question: &Question, plan: &Plan) -> String {
    let placed: usize = plan.routes.iter().map(|route| route.visits.len()).sum();
    let late = match plan.cost.late {
        0 => "no plant waits beyond its due day".to_owned(),
        late => format!("plants wait {late} days in all beyond their due day"),
    };
    format!(
        "{placed} stops placed, {} left out; {late}. Losing no protection comes first, little driving second.",
        question.unserved(plan)
    )
}

async fn changed_meanwhile(
    tx: &mut Conn,
    held: &WeekPlan,
    run: &Run,
    answer: Option<(&Week, &Question, &Plan)>,
) -> Result<String> {
    let who = meanwhile(tx, held, run.plan_version).await?;
    let found = answer.map(|(_, question, plan)| {
        let driven = question.driven_in(plan);
        format!(
            " It had found {} minutes and {} miles of driving with {} stops left out.",
            driven.minutes(),
            driven.tenths(),
            question.unserved(plan)
        )
    });
    Ok(format!(
        "The plan was changed while it was calculated, so the result was not written over it. {who}{}",
        found.unwrap_or_default()
    ))
}

/// Gives every stop its new place. A locked one that could not be kept where it is stays there and says so.
async fn keep(tx: &mut Conn, week: &Week, question: &Question, answer: &Plan) -> Result<()> {
    let places = question.places(&week.around, answer);
    for (id, _) in &places {
        if !week.stop(*id)?.locked {
            plan::place(tx, *id, None, "").await?;
        }
    }
    let mut last = 1_000;
    for (id, place) in places {
        let stop = week.stop(id)?;
        match place {
            Ok(mut at) => {
                at.position += week.behind(at.technician, at.on);
                plan::place(tx, id, Some(at), "").await?;
            }
            Err(why) if stop.locked => {
                last += 1;
                plan::number(tx, id, last, &why).await?;
            }
            Err(why) => plan::place(tx, id, None, &why).await?,
        }
    }
    Ok(())
}
