//! The built program as a process on a real folder: killed, started twice, tampered with.
//!
//! Every story has a folder of its own, waits for events and never for a time, and leaves
//! neither a process nor a file behind, also when it fails.

#[path = "../support/mod.rs"]
mod database;
#[path = "../support/smtp.rs"]
mod smtp;

mod database_killed;
mod field;
mod first_start;
mod folder;
mod log;
mod mail;
mod new_day;
mod program_killed;
mod refusals;
mod restore;
mod role;
mod start_and_stop;
mod suite_server;
mod support;
mod tamper;
mod verify;
