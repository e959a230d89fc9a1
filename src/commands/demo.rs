//! `plantward demo`: an invented company with known passwords, so on this machine only.

use anyhow::{Context, ensure};

use super::{database::Database, serve};
use crate::{clock::Clock, config::ServeConfig, demo};

pub(super) async fn run(config: ServeConfig) -> anyhow::Result<()> {
    ensure!(
        config.listen.ip().is_loopback(),
        "the demo's passwords are known to everybody, so it listens on this machine only; \
         give --listen 127.0.0.1:PORT instead of {}",
        config.listen
    );
    serve::on_database(&config, async |database| fill(database).await).await
}

/// Lines to print under the address.
async fn fill(database: &Database) -> anyhow::Result<Vec<String>> {
    serve::migrate(database).await?;
    let today = Clock::system().today(demo::ZONE);
    let people = demo::fill(&database.pool, today).await.context("cannot fill the demo")?;
    let mut lines = vec!["Sign in as".to_owned()];
    for person in people {
        lines.push(format!(
            "  {:<12} {:<36} password {}   ({})",
            person.role, person.email, person.password, person.name
        ));
    }
    Ok(lines)
}
