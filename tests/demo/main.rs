//! The demo company: every case that screens and journeys count on is there, on any day.
#[path = "../support/mod.rs"]
mod database;

mod cases;
mod laws;
mod migrations;
mod same;
mod sizes;
mod support;
