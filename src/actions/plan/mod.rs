//! The week's plan: gathered, calculated in the background, changed by hand, released to the technicians.
mod change;
mod engine;
mod gather;
mod options;
mod release;
mod rules;
mod run;
mod search;
mod shown;
mod travel;
mod week;

pub use change::{Choice, Step, add_site, change, choices, effect};
pub use engine::Driven;
pub use gather::{Absent, absent};
pub use options::monday_of;
pub use release::{Released, release};
pub use run::{Limit, SECONDS, Start, start, stop_run, work_one};
pub use shown::{Before, Shown, ShownDay, before, shown};
pub use week::last_day;

use super::{Doer, Error, Result};
use crate::db::{
    self, Conn,
    plan::{self, WeekPlan},
};
use chrono::NaiveDate;
use serde_json::json;

/// Holds the plan as its reader saw it. If somebody changed it meanwhile nothing is written over.
///
/// # Errors
/// Not found when the week has no plan; refused with who changed what when `seen` is older.
async fn hold_as_seen(tx: &mut Conn, monday: NaiveDate, seen: i32) -> Result<WeekPlan> {
    let plan = plan::hold(tx, monday).await?.ok_or(Error::NotFound)?;
    if plan.version == seen {
        return Ok(plan);
    }
    let meanwhile = meanwhile(tx, &plan, seen).await?;
    Err(Error::refused(format!(
        "This plan was changed meanwhile, and nothing of yours was written over it. {meanwhile} Look at it below and \
         decide again."
    )))
}

/// Who did what to the plan after that version.
async fn meanwhile(conn: &mut Conn, plan: &WeekPlan, seen: i32) -> Result<String> {
    let zone = db::company::time_zone(conn).await?;
    let deeds = plan::deeds_after(conn, plan.id, seen).await?;
    let words = deeds
        .iter()
        .map(|(who, at, words)| format!("{who} at {}: {words}", at.with_timezone(&zone).format("%-I:%M %P")));
    Ok(words.collect::<Vec<_>>().join(" "))
}

/// Counts the version up and writes the deed down in words; the new version.
async fn note(doer: &Doer, tx: &mut Conn, plan: &WeekPlan, deed: &str, words: &str) -> Result<i32> {
    let by = doer.person.unwrap_or(plan.changed_by);
    let version = plan::changed(tx, plan.id, by, doer.clock.now()).await?;
    doer.note(tx, deed, "week_plan", plan.id, json!({ "version": version, "words": words })).await?;
    Ok(version)
}
