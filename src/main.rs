//! The command line.

use std::process::ExitCode;

use clap::Parser;
use plantward::{commands, config::CommandLine};

fn main() -> ExitCode {
    commands::run(CommandLine::parse())
}
