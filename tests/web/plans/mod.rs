//! The week's plan: gathered, calculated, changed by hand, released.
mod bad;
mod changes;
mod releases;
mod runs;
pub mod town;
mod weather;
