//! The command line.

use clap::{Parser, Subcommand};
use std::io::Read;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Parser)]
#[command(version, about)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Doses, caps and due dates of one JSON scenario, without a database.
    Calc {
        /// The scenario; standard input where none is named.
        file: Option<PathBuf>,
    },
}

fn main() -> ExitCode {
    match Cli::parse().command {
        Command::Calc { file } => calc(file),
    }
}

fn calc(file: Option<PathBuf>) -> ExitCode {
    let mut input = String::new();
    let read = match file {
        Some(path) => std::fs::read_to_string(path).map(|text| input = text),
        None => std::io::stdin().read_to_string(&mut input).map(|_| ()),
    };
    if let Err(error) = read {
        eprintln!("the scenario cannot be read: {error}");
        return ExitCode::FAILURE;
    }
    match plantward::calc::run(&input) {
        Ok(answer) => {
            println!("{answer}");
            ExitCode::SUCCESS
        }
        Err(errors) => {
            println!("{errors}");
            ExitCode::from(2)
        }
    }
}
