//! Work from the field under faults: phones that send everything more than once through a link that breaks,
//! a program and a database that are killed, keys used at the same time, and many hands at the last of a cap.
//!
//! The short form runs with every test. The long one is asked for:
//! `PLANTWARD_FAULTS=long cargo test --release --test faults field:: -- --nocapture --test-threads 1`.
//! Each harness first shows that it finds a bug which is planted for it.
pub mod company;
pub mod dice;
pub mod gate;
mod judge;
mod keys;
mod last_of_the_cap;
mod outboxes;
mod phone;

/// A size for the short and for the long form.
pub fn size(short: usize, long: usize) -> usize {
    if std::env::var("PLANTWARD_FAULTS").is_ok_and(|v| v == "long") { long } else { short }
}
