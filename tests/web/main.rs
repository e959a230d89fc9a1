//! Stories over HTTP: named people, a frozen clock, a real Postgres.
#[path = "../support/mod.rs"]
mod database;
mod support;

mod accounts;
mod doors;
mod people;
mod reports;
