//! The application log of a period, and where the company is registered. What is owed to regulators is in
//! `filings`.
pub mod cells;
pub mod charges;
pub mod log;
pub mod registrations;

use crate::domain::record::{self, Field};
use axum::response::Redirect;

/// The part of the house that holds these pages.
const AT: &str = "/filings";
/// The page of the log.
pub(super) const AT_LOG: &str = "/reports/log";

/// GET /reports : the old address of the filings.
pub async fn moved() -> Redirect {
    Redirect::to(AT)
}

/// What a record lacks by the rules of its state, each with the rule and how far it was checked.
pub(super) fn lacks(
    state: &str,
    restricted_use: bool,
    present: impl IntoIterator<Item = Field>,
) -> Vec<String> {
    let missing = record::missing(state, restricted_use, &present.into_iter().collect());
    let words = missing.iter().map(|m| format!("{} ({}, {})", m.field.words(), m.source, m.mark.words()));
    words.collect()
}
