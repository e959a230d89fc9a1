//! Pure rules: facts in, decisions out. No I/O, no clock, no SQL, no HTTP.
pub mod plant;
pub mod site;
pub mod user;
