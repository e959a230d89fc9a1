//! `plantward route`: one planner's problem in, one plan out. Status 2 when the problem is wrong.

use std::process::ExitCode;
use std::time::Instant;

use crate::config::CalcConfig;

pub(super) fn run(config: &CalcConfig) -> anyhow::Result<ExitCode> {
    let started = Instant::now();
    let mut seconds = || started.elapsed().as_secs_f64();
    super::calc::answer(config, |problem| crate::calc::route::run(problem, &mut seconds))
}
