//! `plantward verify`: a list of named checks, each of which answers with faults in words.

use std::{pin::Pin, process::ExitCode};

use sqlx::PgPool;

use super::database::Database;
use crate::{
    actions::{Doer, due},
    clock::Clock,
    config::DatabaseConfig,
    db,
};

/// The faults that a check found, or the error that kept it from looking.
type Faults<'a> = Pin<Box<dyn Future<Output = anyhow::Result<Vec<String>>> + Send + 'a>>;

/// One thing to be sure of.
struct Check {
    /// What is true when nothing is found.
    name: &'static str,
    find: for<'a> fn(&'a PgPool) -> Faults<'a>,
}

/// Every check, cheapest first: later ones may rely on the tables being there.
const CHECKS: &[Check] = &[
    Check {
        name: "every migration is in, unchanged",
        find: |pool| Box::pin(async { Ok(db::migration::faults(pool).await?) }),
    },
    Check {
        name: "every constraint, index and trigger is in force",
        find: |pool| Box::pin(async { Ok(db::verify::unenforced_rules(pool).await?) }),
    },
    Check {
        name: "every record is linked to the one before, as it was written",
        find: |pool| Box::pin(async { Ok(db::chain::verify(pool).await?) }),
    },
    Check {
        name: "every due day can be computed again and is the same",
        find: |pool| Box::pin(async { Ok(due::differences(&Doer::program(pool, &Clock::system())).await?) }),
    },
];

pub(super) async fn run(config: DatabaseConfig) -> anyhow::Result<ExitCode> {
    let database = Database::join(&config).await?;
    let sound = check_all(&database.pool).await;
    database.close().await;
    Ok(if sound { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// Runs every check even after one found something: all that is wrong is named in one go.
async fn check_all(pool: &PgPool) -> bool {
    let mut sound = true;
    for check in CHECKS {
        let faults = (check.find)(pool).await.unwrap_or_else(|e| vec![format!("cannot be checked: {e:#}")]);
        println!("{}  {}", if faults.is_empty() { "ok   " } else { "WRONG" }, check.name);
        for fault in &faults {
            println!("       {fault}");
        }
        sound &= faults.is_empty();
    }
    sound
}
