//! `plantward calc`: one scenario in, one answer out. Status 2 when the scenario is wrong.

use std::{
    fs,
    io::{Read, Write},
    process::ExitCode,
};

use anyhow::Context;

use crate::config::CalcConfig;

const WRONG_SCENARIO: u8 = 2;

pub(super) fn run(config: &CalcConfig) -> anyhow::Result<ExitCode> {
    answer(config, crate::calc::run)
}

/// Reads the file or standard input, prints the answer or the errors.
pub(super) fn answer(
    config: &CalcConfig,
    work: impl FnOnce(&str) -> Result<String, String>,
) -> anyhow::Result<ExitCode> {
    let scenario = match &config.file {
        Some(file) => fs::read_to_string(file).with_context(|| format!("cannot read {}", file.display()))?,
        None => {
            let mut text = String::new();
            std::io::stdin().read_to_string(&mut text).context("cannot read standard input")?;
            text
        }
    };
    let (answer, status) = match work(&scenario) {
        Ok(answer) => (answer, ExitCode::SUCCESS),
        Err(errors) => (errors, ExitCode::from(WRONG_SCENARIO)),
    };
    writeln!(std::io::stdout(), "{}", answer.trim_end()).context("cannot write the answer")?;
    Ok(status)
}
