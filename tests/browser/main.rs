//! Whole journeys in a real browser, on the demo company, against a server on a real port.
//! Each step leaves a picture in `target/screenshots`.
#[path = "../support/mod.rs"]
mod database;
#[path = "../support/smtp.rs"]
mod smtp;
mod support;

mod answer_a_reminder;
mod caps;
mod documents;
mod field;
mod lost;
mod plan_and_record;
mod plan_the_week;
mod sign_in_and_roles;
mod spanish;
