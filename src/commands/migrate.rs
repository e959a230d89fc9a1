//! `plantward migrate`: the tables of this version, in, out or listed.

use anyhow::Context;

use super::database::Database;
use crate::{
    config::MigrateConfig,
    db::{
        migration,
        role::{self, Standing},
    },
};

pub(super) async fn run(config: MigrateConfig) -> anyhow::Result<()> {
    // Only going forward may make a database where there is none.
    let forward = !config.status && config.down_to.is_none();
    let database = if forward {
        Database::join_or_make(&config.database).await?
    } else {
        Database::join(&config.database).await?
    };
    let outcome = migrate(&database, &config).await;
    database.close().await;
    outcome
}

async fn migrate(database: &Database, config: &MigrateConfig) -> anyhow::Result<()> {
    if let Some(version) = config.down_to {
        migration::undo(&database.pool, version).await.context("cannot take the migrations back")?;
    } else if !config.status {
        migration::run(&database.pool).await.context("cannot migrate the database")?;
        let ours = config.database.database_url.is_none();
        if let Standing::Loose(reason) = role::set_up(&database.pool, ours).await? {
            tracing::warn!(%reason, "the service will work with the rights of the tables' owner");
        }
    }
    for step in migration::steps(&database.pool).await? {
        let mark = if step.applied { "in     " } else { "missing" };
        println!("{mark}  {}  {}", step.version, step.description);
    }
    Ok(())
}
