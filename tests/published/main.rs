//! Checks against published rules, tables and definitions. Each names its
//! source beside it; a check without one says so.

mod caps;
mod contract;
mod dates;
mod doses;
mod filings;
mod fuzz;
mod hostile;
mod mistakes;
mod oracle;
mod permissions;
mod pint;
mod plans;
mod quantities;
mod records;
mod support;
mod trunks;
mod units;
mod ways_out;
