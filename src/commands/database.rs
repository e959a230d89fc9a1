//! The database that a command works on: a server that is named, one that already runs on the
//! data folder, or our own for the time being.

use std::{path::Path, time::Duration};

use anyhow::Context;
use sqlx::{
    PgPool,
    postgres::{PgConnectOptions, PgPoolOptions},
};

use crate::{
    config::DatabaseConfig,
    db::role::{self, Standing},
    private_postgres::{self, Durability, PrivatePostgres, Trouble},
};

/// How long a request waits for a connection: long enough for the database to come back.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open database. Close it: only then is our own server stopped before the program ends.
#[derive(Debug)]
pub(super) struct Database {
    pub pool: PgPool,
    own: Option<PrivatePostgres>,
}

impl Database {
    /// For a service: the named server, or our own, which is made where there is none.
    pub(super) async fn serve(config: &DatabaseConfig) -> anyhow::Result<Self> {
        match &config.database_url {
            Some(url) => Self::named(url, config).await,
            None => Self::own(config, PrivatePostgres::start).await,
        }
    }

    /// For a command beside it: joins what runs on the folder, or else starts it for a while.
    pub(super) async fn join(config: &DatabaseConfig) -> anyhow::Result<Self> {
        if let Some(url) = &config.database_url {
            return Self::named(url, config).await;
        }
        match private_postgres::join(&config.data_dir) {
            Ok(options) => Ok(Self { pool: connect(options, config).await?, own: None }),
            Err(Trouble::NotRunning { .. }) => Self::own(config, PrivatePostgres::start_existing).await,
            Err(trouble) => Err(trouble.into()),
        }
    }

    /// As [`join`](Self::join), and an empty folder gets a database.
    pub(super) async fn join_or_make(config: &DatabaseConfig) -> anyhow::Result<Self> {
        let missing = config.database_url.is_none()
            && matches!(private_postgres::join(&config.data_dir), Err(Trouble::NoDatabase { .. }));
        if missing { Self::serve(config).await } else { Self::join(config).await }
    }

    async fn named(url: &str, config: &DatabaseConfig) -> anyhow::Result<Self> {
        tracing::info!("using the server that DATABASE_URL names, not a data folder");
        // The address holds a password: neither it nor a part of it is repeated.
        let options = url.parse().map_err(|_| anyhow::anyhow!("DATABASE_URL is not a PostgreSQL address"))?;
        Ok(Self { pool: connect(options, config).await?, own: None })
    }

    async fn own(
        config: &DatabaseConfig,
        start: fn(&Path, Durability) -> Result<PrivatePostgres, Trouble>,
    ) -> anyhow::Result<Self> {
        let dir = config.data_dir.clone();
        let own = tokio::task::spawn_blocking(move || start(&dir, Durability::Full)).await??;
        let pool = connect(own.connect_options(), config).await?;
        Ok(Self { pool, own: Some(own) })
    }

    /// From here on the pool's connections have the rights of the service's role and no others. Where the role
    /// cannot be set up they stay the owner's, which is said in the log.
    pub(super) async fn confine(&mut self, config: &DatabaseConfig) -> anyhow::Result<()> {
        let ours = config.database_url.is_none();
        if let Standing::Loose(reason) = role::set_up(&self.pool, ours).await? {
            tracing::warn!(%reason, "the service works with the rights of the tables' owner");
            return Ok(());
        }
        let options = self.pool.connect_options().as_ref().clone();
        self.pool.close().await;
        self.pool = if ours {
            connect(options.username(role::NAME), config).await?
        } else {
            pool(config)
                .after_connect(|conn, _| Box::pin(role::become_it(conn)))
                .connect_with(options)
                .await
                .context(CANNOT)?
        };
        Ok(())
    }

    /// Closes every connection and stops the server if it is our own.
    pub(super) async fn close(self) {
        // A connection that never comes back must not keep the server from stopping.
        let _ = tokio::time::timeout(PATIENCE, self.pool.close()).await;
        if let Some(own) = self.own {
            let stopped = tokio::task::spawn_blocking(move || own.stop()).await;
            if let Err(error) = stopped {
                tracing::error!(%error, "stopping the database");
            }
        }
    }
}

const CANNOT: &str = "cannot connect to the database";

async fn connect(options: PgConnectOptions, config: &DatabaseConfig) -> anyhow::Result<PgPool> {
    // Compiling a query costs more than it saves here: estimates of joined rows are far too high.
    let options = options.options([("jit", "off")]);
    pool(config).connect_with(options).await.context(CANNOT)
}

fn pool(config: &DatabaseConfig) -> PgPoolOptions {
    PgPoolOptions::new().max_connections(config.pool_size).acquire_timeout(PATIENCE)
}
