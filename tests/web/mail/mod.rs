//! What is written to customers, on its way through a real mail server.
#[path = "../../support/smtp.rs"]
mod smtp;

mod clock_run;
mod days;
mod delivery;
mod duties;
mod heads;
mod notices;
mod outbox;
mod own_page;
mod reminders;
mod yard;
