//! Work in the background: shallow workers that call one action again and again. Any number of
//! copies may run them at once; what one holds, the others pass over.
use crate::actions::{
    Doer, account, completion, due, evidence, import,
    plan::{self, Limit},
};
use chrono::TimeDelta;
use std::time::Duration;
use tokio::task::JoinSet;

/// How often to look whether a new day has begun where the company works.
const LOOK_FOR_NEW_DAY: Duration = Duration::from_secs(5 * 60);
/// How many workers compute due days anew within one copy of the program.
const WORKERS: usize = 2;
/// How often to forget sessions, failed sign-ins and answers to phones that no longer matter.
const SWEEP: Duration = Duration::from_secs(60 * 60);
/// How often to link what was written down of who did and saw what.
const LINK: Duration = Duration::from_secs(20);
/// How often to look whether somebody wants a week planned.
const LOOK_FOR_PLANS: Duration = Duration::from_millis(700);
/// How often to look whether somebody brought a table.
const LOOK_FOR_TABLES: Duration = Duration::from_millis(700);

/// Starts the background work; dropping the set ends it.
#[must_use]
pub fn spawn(doer: Doer, session_limit: TimeDelta) -> JoinSet<()> {
    let mut all = JoinSet::new();
    all.spawn(keep_due_days_current(doer.clone()));
    all.spawn(calculate_plans(doer.clone()));
    all.spawn(read_tables(doer.clone()));
    all.spawn(link_audit(doer.clone()));
    all.spawn(sweep(doer, session_limit));
    all
}

async fn keep_due_days_current(doer: Doer) {
    let mut ticks = tokio::time::interval(LOOK_FOR_NEW_DAY);
    loop {
        ticks.tick().await;
        let mut workers = JoinSet::new();
        for _ in 0..WORKERS {
            let doer = doer.clone();
            workers.spawn(async move { due::refresh(&doer).await });
        }
        while let Some(outcome) = workers.join_next().await {
            match outcome {
                Ok(Ok(0)) => {}
                Ok(Ok(parcels)) => tracing::info!(parcels, "computed due days for a new day"),
                Ok(Err(reason)) => tracing::error!(%reason, detail = ?reason, "due days were not computed"),
                Err(reason) => tracing::error!(%reason, "a worker that computes due days broke off"),
            }
        }
    }
}

async fn calculate_plans(doer: Doer) {
    let mut ticks = tokio::time::interval(LOOK_FOR_PLANS);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        if let Err(reason) = plan::work_one(&doer, Limit::AsAsked).await {
            tracing::error!(%reason, detail = ?reason, "no plan could be taken");
        }
    }
}

async fn read_tables(doer: Doer) {
    let mut ticks = tokio::time::interval(LOOK_FOR_TABLES);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        if let Err(reason) = import::work_one(&doer).await {
            tracing::error!(%reason, detail = ?reason, "no table could be taken");
        }
    }
}

async fn link_audit(doer: Doer) {
    let mut ticks = tokio::time::interval(LINK);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        if let Err(reason) = evidence::link_audit(&doer).await {
            tracing::error!(%reason, detail = ?reason, "the audit was not linked");
        }
    }
}

async fn sweep(doer: Doer, limit: chrono::TimeDelta) {
    let mut ticks = tokio::time::interval(SWEEP);
    loop {
        ticks.tick().await;
        if let Err(reason) = account::sweep(&doer, limit).await {
            tracing::error!(%reason, "old sessions were not swept");
        }
        if let Err(reason) = import::prune(&doer).await {
            tracing::error!(%reason, "tables that nobody finished were not swept");
        }
        if let Err(reason) = completion::sweep(&doer).await {
            tracing::error!(%reason, "old answers to phones were not swept");
        }
    }
}
