//! Being told to stop: SIGTERM from a service manager, Ctrl-C from a person.

use tokio::{
    signal::unix::{SignalKind, signal},
    sync::watch,
};

/// Counts the signals: at one we finish our work, at two we stop waiting for it.
#[derive(Debug, Clone)]
pub(super) struct Stop(watch::Receiver<u8>);

impl Stop {
    /// Listens from now on; before, a signal ends the process at once.
    pub(super) fn listen() -> std::io::Result<Self> {
        let (mut terminate, mut interrupt) =
            (signal(SignalKind::terminate())?, signal(SignalKind::interrupt())?);
        let (sender, receiver) = watch::channel(0_u8);
        tokio::spawn(async move {
            loop {
                tokio::select! { _ = terminate.recv() => {}, _ = interrupt.recv() => {} }
                sender.send_modify(|count| *count = count.saturating_add(1));
            }
        });
        Ok(Self(receiver))
    }

    /// Waits until so many signals have come.
    pub(super) async fn signals(mut self, count: u8) {
        if self.0.wait_for(|seen| *seen >= count).await.is_err() {
            // The runtime is ending, and everybody who waits with it.
            std::future::pending().await
        }
    }
}
