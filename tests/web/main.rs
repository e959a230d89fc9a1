//! Stories over HTTP: named people, a frozen clock, a real Postgres.
#[path = "../support/mod.rs"]
mod database;
mod support;

mod accounts;
mod calendars;
mod customers;
mod doors;
mod due;
mod exemptions;
mod field;
mod help;
mod holds;
mod labels;
mod many;
mod neighbours;
mod people;
mod phone;
mod pieces;
mod places;
mod plans;
mod plants;
mod products;
mod records;
mod reports;
mod same_answer;
mod same_engine;
mod sheets;
mod sites;
mod state_rules;
mod supervision;
mod travel;
mod twice;
mod visits;
mod ways_out;
mod working;
mod yard;
