//! Plantward: application records, due dates and label limits for a plant-health company.
//!
//! One process, one Postgres database, one company. The rooms and what each may
//! import are described in DEVELOPERS.md and kept by `tests/tidy.rs`.

/// Writes: gather, decide, write, commit; one verb per file.
pub mod actions;
/// System or fixed time; the only caller of the machine's clock.
pub mod clock;
/// One typed configuration from flags and environment.
pub mod config;
/// The only SQL; one file per noun.
pub mod db;
/// Pure rules: facts in, decisions out.
pub mod domain;
/// Bytes from finished figures: pictures of protection and caps.
pub mod output;
/// Our own Postgres in a data folder, for whoever has no server.
pub mod private_postgres;
/// Pages and forms.
pub mod web;

pub mod calc;
