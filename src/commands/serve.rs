//! `plantward serve`: start, serve, stop.

use std::{fmt::Write as _, io::Write as _, net::SocketAddr, sync::Arc, time::Duration};

use anyhow::Context;
use tokio::net::TcpListener;

use super::{database::Database, links, stop::Stop};
use crate::{
    clock::Clock,
    config::ServeConfig,
    db, jobs,
    mail::Mailer,
    web::{self, AppState},
};

/// Requests that run when we are told to stop get this long.
const TO_FINISH: Duration = Duration::from_secs(30);

pub(super) async fn run(config: ServeConfig) -> anyhow::Result<()> {
    on_database(&config, async |database| {
        migrate(database).await?;
        Ok(Vec::new())
    })
    .await
}

/// Brings the tables to this version. Where they are, nothing is tried that only their owner may.
pub(super) async fn migrate(database: &Database) -> anyhow::Result<()> {
    let faults = db::migration::faults(&database.pool).await;
    if faults.is_ok_and(|faults| faults.is_empty()) {
        return Ok(());
    }
    db::migration::run(&database.pool).await.context("cannot migrate the database")
}

/// Listens, starts the database, lets `prepare` bring it up to date, serves, and stops it all.
///
/// `prepare` answers with lines to print under the address.
pub(super) async fn on_database(
    config: &ServeConfig,
    prepare: impl AsyncFnOnce(&Database) -> anyhow::Result<Vec<String>>,
) -> anyhow::Result<()> {
    // First, since a port in use is the likeliest mistake and the quickest to find.
    let listener = TcpListener::bind(config.listen)
        .await
        .with_context(|| format!("cannot listen on {}", config.listen))?;
    let mut database = Database::serve(&config.database).await?;
    let outcome = async {
        let stop = Stop::listen()?;
        let lines = prepare(&database).await?;
        database.confine(&config.database).await?;
        serve(config, &database, listener, lines, stop).await
    }
    .await;
    database.close().await;
    outcome
}

async fn serve(
    config: &ServeConfig,
    database: &Database,
    listener: TcpListener,
    lines: Vec<String>,
    stop: Stop,
) -> anyhow::Result<()> {
    // The port that we were given, where any was asked for: links name it.
    let config = Arc::new(ServeConfig { listen: listener.local_addr()?, ..config.clone() });
    let travel = config.travel();
    let mailer = Mailer::new(&config.mail).context("mail cannot be sent")?;
    let post = jobs::Post { mailer, bounces: config.mail.bounces.clone() };
    let state = AppState { pool: database.pool.clone(), clock: Clock::system(), config, travel };
    announce(&state, &lines).await?;
    let jobs = jobs::spawn(state.nobody(), state.config.session_limit(), post);
    let pages = web::app(state);
    let pages = pages.into_make_service_with_connect_info::<SocketAddr>();
    let server = axum::serve(listener, pages).with_graceful_shutdown(stop.clone().signals(1));
    tokio::select! {
        ended = async { server.await } => ended?,
        () = too_late(stop) => tracing::warn!("stopping although requests still run"),
    }
    drop(jobs);
    tracing::info!("stopped serving");
    Ok(())
}

/// Waits for the first signal, and then for the second or until the time is over.
async fn too_late(stop: Stop) {
    stop.clone().signals(1).await;
    tracing::info!("told to stop; finishing the requests that run");
    tokio::select! {
        () = stop.signals(2) => {}
        () = tokio::time::sleep(TO_FINISH) => {}
    }
}

async fn announce(state: &AppState, lines: &[String]) -> anyhow::Result<()> {
    let address = state.config.base_url();
    let mut text = format!("Plantward is at {address}\n");
    for line in lines {
        writeln!(text, "{line}")?;
    }
    if let Some(path) = links::set_up(&state.pool, &state.clock).await? {
        writeln!(
            text,
            "Nobody has been entered yet. Set the company up with this link, once:\n  {address}{path}"
        )?;
    }
    // Whoever read our output may have gone; that is no reason not to serve.
    let mut out = std::io::stdout();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    Ok(())
}
