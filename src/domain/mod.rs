//! The pure middle: facts in, decisions out. No clock, no database, no network.

pub mod book;
pub mod calendar;
pub mod cap;
pub mod cell;
pub mod chain;
pub mod dose;
pub mod due;
pub mod facts;
pub mod filing;
pub mod hold;
pub mod ids;
pub mod label;
pub mod label_check;
pub mod measure;
pub mod permission;
pub mod plan;
pub mod plant;
pub mod pour;
pub mod quantity;
pub mod record;
pub mod registration;
pub mod signal;
pub mod site;
pub mod us;
pub mod user;
pub mod way_out;
