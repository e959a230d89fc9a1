//! Checks against published rules, tables and definitions. Each names its
//! source beside it; a check without one says so.

mod caps;
mod contract;
mod dates;
mod doses;
mod filings;
mod mistakes;
mod oracle;
mod permissions;
mod plans;
mod records;
mod support;
mod trunks;
mod units;
