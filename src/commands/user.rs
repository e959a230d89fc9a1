//! `plantward user`: people who sign in, for the operator.

use super::{database::Database, links};
use crate::{clock::Clock, config::UserAddConfig};

/// Prints a one-time link. Nobody but the invited person ever knows the password.
pub(super) async fn add(config: UserAddConfig) -> anyhow::Result<()> {
    let database = Database::join(&config.database).await?;
    let link = links::invitation(&database.pool, &Clock::system(), &config).await;
    database.close().await;
    println!("{}{}", config.public_url, link?);
    Ok(())
}
