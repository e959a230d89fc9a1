//! REPLACED AT MERGE: stands where the background work will be started.

use tokio::task::JoinSet;

use crate::web::AppState;

/// Starts the background work; dropping the set ends it.
#[must_use]
pub fn spawn(_state: AppState) -> JoinSet<()> {
    JoinSet::new()
}
