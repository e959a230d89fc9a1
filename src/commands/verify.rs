//! `plantward verify`: a list of named checks, each of which answers with faults in words.

use std::{pin::Pin, process::ExitCode};

use anyhow::Context;
use sqlx::PgPool;

use super::database::Database;
use crate::{
    actions::{Doer, due, evidence},
    clock::Clock,
    config::VerifyConfig,
    db,
    domain::{growth, head::Head},
};

/// What a check found.
struct Found {
    /// How much was looked at, in words; empty where there is nothing to count.
    seen: String,
    faults: Vec<String>,
}

impl From<Vec<String>> for Found {
    fn from(faults: Vec<String>) -> Self {
        Self { seen: String::new(), faults }
    }
}

/// What a check found, or the error that kept it from looking.
type Answer<'a> = Pin<Box<dyn Future<Output = anyhow::Result<Found>> + Send + 'a>>;

/// What a check is about, to be asked for by a flag of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum About {
    Tables,
    Records,
    Due,
}

/// One thing to be sure of.
struct Check {
    about: About,
    /// What is true when nothing is found.
    name: &'static str,
    find: for<'a> fn(&'a PgPool) -> Answer<'a>,
}

/// Every check, cheapest first: later ones may rely on the tables being there.
const CHECKS: &[Check] = &[
    Check {
        about: About::Tables,
        name: "every migration is in, unchanged",
        find: |pool| Box::pin(async { Ok(db::migration::faults(pool).await?.into()) }),
    },
    Check {
        about: About::Tables,
        name: "every constraint, index and trigger is in force",
        find: |pool| Box::pin(async { Ok(db::verify::unenforced_rules(pool).await?.into()) }),
    },
    Check {
        about: About::Tables,
        name: "the service's role can change nothing that was recorded",
        find: |pool| Box::pin(async { Ok(db::role::faults(&mut *pool.acquire().await?).await?.into()) }),
    },
    Check {
        about: About::Records,
        name: "every record is linked to the one before, as it was written",
        find: |pool| Box::pin(async { Ok(walked(db::chain::verify(pool, None).await?, "versions")) }),
    },
    Check {
        about: About::Records,
        name: "every row of the audit is linked to the one before, as it was written",
        find: |pool| Box::pin(async { Ok(walked(db::audit::verify(pool, None).await?, "rows")) }),
    },
    Check {
        about: About::Due,
        name: "every due day can be computed again and is the same",
        find: |pool| Box::pin(due_days(pool)),
    },
];

fn walked(found: db::chain::Walked, rows: &str) -> Found {
    Found { seen: format!("{} {rows}", found.rows), faults: found.faults }
}

/// Compares both chains with a head from outside.
async fn against(pool: &PgPool, head: &Head) -> bool {
    println!("head of {}, taken {}", head.company, head.taken_at.format("%Y-%m-%d %H:%M:%S UTC"));
    let records = db::chain::verify(pool, Some(&head.records)).await;
    let audit = db::audit::verify(pool, Some(&head.audit)).await;
    let mut sound = true;
    for (name, rows, kept, found) in [
        ("every version of every record is as the head says", "versions", &head.records, records),
        ("every row of the audit is as the head says", "rows", &head.audit, audit),
    ] {
        let covered = format!("{rows}, {} of them under the head", kept.size);
        sound &= told(name, found.map(|found| walked(found, &covered)).map_err(anyhow::Error::from));
    }
    sound
}

/// Proves of each list that it only grew from the older head to the newer one.
async fn between(pool: &PgPool, one: &Head, other: &Head) -> bool {
    let (older, newer) = growth::in_order(one, other);
    let grown = async {
        let lists = evidence::growth(&mut *pool.acquire().await?, older, newer).await?;
        anyhow::Ok(lists)
    };
    let lists = match grown.await {
        Ok(lists) => lists,
        Err(e) => return told("nothing was changed between the two heads", Err(e)),
    };
    let mut sound = true;
    for list in &lists {
        let fault = (!list.holds())
            .then(|| format!("the {} do not lead from the older head to the newer", list.list));
        let seen = format!("{} of {}", list.older.0, list.newer.0);
        let found = Found { seen, faults: fault.into_iter().collect() };
        sound &= told(&format!("the {} only grew between the two heads", list.list), Ok(found));
    }
    let exact = |head: &Head| head.taken_at.to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
    println!("\n{}", growth::text(&newer.company, &exact(older), &exact(newer), &lists));
    sound
}

async fn due_days(pool: &PgPool) -> anyhow::Result<Found> {
    let found = due::compare(&Doer::program(pool, &Clock::system())).await?;
    let seen = format!("{} plants on {} parcels of land", found.plants, found.parcels);
    Ok(Found { seen, faults: found.differences })
}

pub(super) async fn run(config: VerifyConfig) -> anyhow::Result<ExitCode> {
    anyhow::ensure!(config.against.len() <= 2, "--against is given once, or twice");
    let heads = config.against.iter().map(|file| {
        let text =
            std::fs::read_to_string(file).with_context(|| format!("cannot read {}", file.display()))?;
        Head::parse(&text).with_context(|| format!("{} cannot be used", file.display()))
    });
    let heads = heads.collect::<anyhow::Result<Vec<Head>>>()?;
    let database = Database::join(&config.database).await?;
    if !heads.is_empty() {
        let mut sound = true;
        for head in &heads {
            sound &= against(&database.pool, head).await;
        }
        if let [one, other] = heads.as_slice() {
            sound &= between(&database.pool, one, other).await;
        }
        database.close().await;
        return Ok(if sound { ExitCode::SUCCESS } else { ExitCode::FAILURE });
    }
    let everything = !config.due && !config.records;
    let asked = |about: About| match about {
        About::Tables => everything,
        About::Records => everything || config.records,
        About::Due => everything || config.due,
    };
    let checks = CHECKS.iter().filter(|check| asked(check.about));
    let sound = check_all(&database.pool, checks).await;
    database.close().await;
    Ok(if sound { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// Runs every check even after one found something: all that is wrong is named in one go.
async fn check_all(pool: &PgPool, checks: impl Iterator<Item = &'static Check>) -> bool {
    let mut sound = true;
    for check in checks {
        sound &= told(check.name, (check.find)(pool).await);
    }
    sound
}

/// Prints what a check found; whether nothing is wrong.
fn told(name: &str, found: anyhow::Result<Found>) -> bool {
    let found = found.unwrap_or_else(|e| vec![format!("cannot be checked: {e:#}")].into());
    let mark = if found.faults.is_empty() { "ok   " } else { "WRONG" };
    let seen = if found.seen.is_empty() { String::new() } else { format!(" ({})", found.seen) };
    println!("{mark}  {name}{seen}");
    for fault in &found.faults {
        println!("       {fault}");
    }
    found.faults.is_empty()
}
