//! The pure middle: facts in, decisions out. No clock, no database, no network.

pub mod calendar;
pub mod facts;
pub mod ids;
pub mod label;
pub mod permission;
pub mod quantity;
pub mod user;
