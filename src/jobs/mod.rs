//! Work in the background: shallow workers that call one action again and again. Any number of
//! copies may run them at once; what one holds, the others pass over.
mod bounces;

use crate::{
    actions::{
        Doer, account, completion, due, evidence, head_mail, import,
        message::{self, Delivery},
        plan::{self, Limit},
        reminder,
    },
    mail::Mailer,
};
use chrono::TimeDelta;
use std::{path::PathBuf, time::Duration};
use tokio::task::JoinSet;

/// How often to look whether a new day has begun where the company works.
const LOOK_FOR_NEW_DAY: Duration = Duration::from_secs(5 * 60);
/// How many workers compute due days anew within one copy of the program.
const WORKERS: usize = 2;
/// How often to forget sessions, failed sign-ins and answers to phones that no longer matter.
const SWEEP: Duration = Duration::from_secs(60 * 60);
/// How often to link what was written down of who did and saw what.
const LINK: Duration = Duration::from_secs(20);
/// How often to look whether a head is to be mailed.
const LOOK_FOR_HEADS: Duration = Duration::from_secs(5 * 60);
/// How often to look whether somebody wants a week planned.
const LOOK_FOR_PLANS: Duration = Duration::from_millis(700);
/// How often to look whether somebody brought a table.
const LOOK_FOR_TABLES: Duration = Duration::from_millis(700);
/// How often to look into the outbox.
const LOOK_FOR_MAIL: Duration = Duration::from_secs(2);
/// How many workers hand mail to the server within one copy of the program: one slow answer holds up nobody else.
const CARRIERS: usize = 2;
/// How often to look for reminders to write, for mail that is too old, and for mail that came back.
const LOOK_FOR_REMINDERS: Duration = Duration::from_secs(60);

/// The mail that leaves and comes back.
#[derive(Debug, Clone, Default)]
pub struct Post {
    /// None: mail waits to be printed.
    pub mailer: Option<Mailer>,
    /// The folder into which returned mail is put.
    pub bounces: Option<PathBuf>,
}

/// Starts the background work; dropping the set ends it.
#[must_use]
pub fn spawn(doer: Doer, session_limit: TimeDelta, post: Post) -> JoinSet<()> {
    let mut all = JoinSet::new();
    all.spawn(keep_due_days_current(doer.clone()));
    all.spawn(calculate_plans(doer.clone()));
    all.spawn(read_tables(doer.clone()));
    all.spawn(link_audit(doer.clone()));
    all.spawn(mail_heads(doer.clone()));
    all.spawn(write_reminders(doer.clone(), post.mailer.is_some()));
    for _ in 0..CARRIERS {
        if let Some(mailer) = &post.mailer {
            all.spawn(deliver_mail(doer.clone(), mailer.clone()));
        }
    }
    if let Some(folder) = post.bounces {
        all.spawn(bounces::read(doer.clone(), folder));
    }
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

async fn write_reminders(doer: Doer, mail_leaves: bool) {
    let mut ticks = tokio::time::interval(LOOK_FOR_REMINDERS);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        match reminder::write_due(&doer).await {
            Ok(0) => {}
            Ok(written) => tracing::info!(written, "wrote reminders"),
            Err(reason) => tracing::error!(%reason, detail = ?reason, "reminders were not written"),
        }
        // Without a server nothing is late: what waits is printed when somebody prints it.
        if mail_leaves && let Err(reason) = message::withdraw_expired(&doer).await {
            tracing::error!(%reason, "old mail was not withdrawn");
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

async fn mail_heads(doer: Doer) {
    let mut ticks = tokio::time::interval(LOOK_FOR_HEADS);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        match head_mail::mail_due(&doer).await {
            Ok(None) => {}
            Ok(Some(id)) => tracing::info!(%id, "mailed a head of the records"),
            Err(reason) => tracing::error!(%reason, detail = ?reason, "no head was mailed"),
        }
    }
}

async fn deliver_mail(doer: Doer, mailer: Mailer) {
    let mut ticks = tokio::time::interval(LOOK_FOR_MAIL);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        loop {
            match message::deliver_one(&doer, &mailer).await {
                Ok(Delivery::Settled(_) | Delivery::Later { server_silent: false, .. }) => {}
                Ok(Delivery::Later { id, .. }) => {
                    tracing::warn!(%id, "the mail server does not answer");
                    break;
                }
                Ok(Delivery::Nothing) => break,
                Err(reason) => {
                    tracing::error!(%reason, detail = ?reason, "mail was not handed on");
                    break;
                }
            }
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
