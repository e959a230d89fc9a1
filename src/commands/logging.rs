//! The log: lines on standard error, for people or for programs.
//!
//! What may never be in it: names, addresses, passwords, cookies, what was typed into a form,
//! the query part of an address, and addresses that are secrets themselves.

use tracing_subscriber::EnvFilter;

use crate::config::LogFormat;

pub(super) fn start(format: LogFormat) {
    let levels = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new("info,sqlx=warn"));
    let log = tracing_subscriber::fmt().with_env_filter(levels).with_writer(std::io::stderr);
    // A second start in one process keeps the first log.
    let _ = match format {
        LogFormat::Json => log.json().flatten_event(true).try_init(),
        LogFormat::Text => log.with_ansi(std::io::IsTerminal::is_terminal(&std::io::stderr())).try_init(),
    };
}
