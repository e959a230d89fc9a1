//! Checks against published rules, tables and definitions. Each names its
//! source beside it; a check without one says so.

mod business_days;
mod caps;
mod contract;
mod dates;
mod doses;
mod filings;
mod fuzz;
mod hostile;
mod jurisdictions;
mod mistakes;
mod new_york;
mod oracle;
mod permissions;
mod pint;
mod plans;
mod quantities;
mod records;
mod reminders;
mod support;
mod survival;
mod trunks;
mod units;
mod ways_out;
