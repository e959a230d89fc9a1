//! Work from the field under faults: phones that send everything more than once through a link that breaks,
//! a program and a database that are killed, keys used at the same time, and many hands at the last of a cap.
//!
//! The short form runs with every test. The long one is asked for:
//! `PLANTWARD_FAULTS=long cargo test --release --test faults field:: -- --nocapture --test-threads 1`.
//! `PLANTWARD_FAULTS=long/10` is a tenth of it, for where an evening is too short.
//! Each harness first shows that it finds a bug which is planted for it.
pub mod company;
pub mod dice;
pub mod gate;
mod judge;
mod keys;
mod last_of_the_cap;
mod outboxes;
mod phone;

/// A size for the short form, for the long one, and for the part of the long one that was asked for.
pub fn size(short: usize, long: usize) -> usize {
    let Ok(asked) = std::env::var("PLANTWARD_FAULTS") else { return short };
    let part = asked.strip_prefix("long/").map(|part| part.parse().expect("a part such as long/10"));
    match part {
        Some(part) => short.max(long / std::cmp::max::<usize>(part, 1)),
        None if asked == "long" => long,
        None => short,
    }
}
