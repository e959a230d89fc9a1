//! What the program does when it is called; one file per command.

mod calc;
mod database;
mod demo;
mod links;
mod logging;
mod migrate;
mod route;
mod serve;
mod stop;
mod user;
mod verify;

use std::process::ExitCode;

use crate::config::{Command, CommandLine, UserCommand};

/// Runs a command to its end. An error is printed with its causes and ends with status 1.
#[must_use]
pub fn run(line: CommandLine) -> ExitCode {
    logging::start(line.log);
    let outcome = tokio::runtime::Runtime::new()
        .map_err(anyhow::Error::from)
        .and_then(|runtime| runtime.block_on(dispatch(line.command)));
    outcome.unwrap_or_else(|error| {
        eprintln!("plantward: {error:#}");
        ExitCode::FAILURE
    })
}

async fn dispatch(command: Command) -> anyhow::Result<ExitCode> {
    match command {
        Command::Serve(flags) => serve::run(flags).await?,
        Command::Demo(flags) => demo::run(flags).await?,
        Command::Migrate(config) => migrate::run(config).await?,
        Command::User(UserCommand::Add(config)) => user::add(config).await?,
        Command::Calc(config) => return calc::run(&config),
        Command::Route(config) => return route::run(&config),
        Command::Verify(config) => return verify::run(config).await,
    }
    Ok(ExitCode::SUCCESS)
}
