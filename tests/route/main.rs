//! The week planner as `plantward route` serves it: every plan is checked by a checker and an oracle
//! that share nothing with the planner.

mod checker;
mod dice;
mod exact;
mod fuzz;
mod laws;
mod mistakes;
mod oracle;
mod support;
