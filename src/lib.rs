//! Plantward: application records, due dates and label limits for a plant-health company.
//!
//! One process, one Postgres database, one company. The rooms and what each may
//! import are described in DEVELOPERS.md and kept by `tests/tidy.rs`.

/// Writes: gather, decide, write, commit; one verb per file.
pub mod actions;
/// The interface of the field page: the same actions as JSON.
pub mod api;
/// `plantward calc`: the rules on the command line.
pub mod calc;
/// System or fixed time; the only caller of the machine's clock.
pub mod clock;
/// What the program does when it is called; one file per command.
pub mod commands;
/// One typed configuration from flags and environment.
pub mod config;
/// The only SQL; one file per noun.
pub mod db;
/// The invented company of the demo.
pub mod demo;
/// Pure rules: facts in, decisions out.
pub mod domain;
/// Tables out of files that are brought to us.
pub mod input;
/// Work in the background.
pub mod jobs;
/// Words, form and way of mail.
pub mod mail;
/// Bytes from finished figures: pictures of protection and caps.
pub mod output;
/// Our own Postgres in a data folder, for whoever has no server.
pub mod private_postgres;
/// What people read, in the language that each of them chose.
pub mod texts;
/// The client of a service that knows the roads.
pub mod travel_service;
/// Pages and forms.
pub mod web;
