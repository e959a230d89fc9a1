//! What is written to customers, on its way through a real mail server.
#[path = "../../support/smtp.rs"]
mod smtp;

mod delivery;
mod outbox;
mod reminders;
mod yard;
