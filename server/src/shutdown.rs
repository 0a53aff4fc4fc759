//! A running server, and how it goes down: readiness off first, streams ended, calls and writes finished, stored checks
//! finished or put back in the queue, the database closed last.

use crate::app::App;
use crate::service;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;
use tonic_health::ServingStatus;
use tonic_health::server::HealthReporter;

/// How long callers that watch readiness have to see it go before connections are asked to close.
const SEEN: Duration = Duration::from_millis(50);
/// How long checks that were told to stop have to put themselves back in the queue.
const PUT_BACK: Duration = Duration::from_secs(3);

/// A running server. Dropped without [`Running::stop`] it goes on until its runtime ends.
pub struct Running {
    parts: Parts,
}

/// What others need to join a server with a certificate of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Joining {
    /// Host and port.
    pub reached_at: String,
    /// SHA-256 of the certificate, lower-case hex.
    pub fingerprint: String,
}

impl Joining {
    /// The line that `batten join` takes; with a code it also makes an account.
    pub fn line(&self, code: Option<&str>) -> String {
        let code = code.map(|code| format!("/{code}")).unwrap_or_default();
        format!("{}/{}{code}", self.reached_at, self.fingerprint)
    }
}

/// What a running server is made of.
pub(crate) struct Parts {
    pub address: SocketAddr,
    pub first_code: Option<String>,
    pub joining: Option<Joining>,
    pub app: Arc<App>,
    pub health: HealthReporter,
    pub stop_listening: CancellationToken,
    pub serving: JoinHandle<Result<(), tonic::transport::Error>>,
    pub runner: JoinHandle<()>,
    pub prover: JoinHandle<()>,
    pub helpers: Vec<JoinHandle<()>>,
    pub grace: Duration,
}

impl Running {
    pub(crate) fn new(parts: Parts) -> Self {
        Self { parts }
    }

    /// The address it listens on; with port 0 configured, the port that was free.
    pub fn address(&self) -> SocketAddr {
        self.parts.address
    }

    /// The one-time code for the first account, where one is needed.
    pub fn first_account_code(&self) -> Option<&str> {
        self.parts.first_code.as_deref()
    }

    /// What others need to join, where the server's certificate is its own.
    pub fn joining(&self) -> Option<&Joining> {
        self.parts.joining.as_ref()
    }

    /// Waits until the server can serve no longer; gives why.
    pub async fn failed(&mut self) -> String {
        match (&mut self.parts.serving).await {
            Ok(Ok(())) => "it stopped listening".into(),
            Ok(Err(error)) => error.to_string(),
            Err(error) => error.to_string(),
        }
    }

    /// Goes down in order; takes at most the grace and a few seconds.
    pub async fn stop(self) {
        let Parts { app, health, stop_listening, mut serving, runner, prover, helpers, grace, .. } = self.parts;
        tracing::info!("shutting down");
        for name in service::NAMES.into_iter().chain([""]) {
            health.set_service_status(name, ServingStatus::NotServing).await;
        }
        tokio::time::sleep(SEEN).await;
        app.stopping.cancel();
        stop_listening.cancel();
        if !serving.is_finished() && tokio::time::timeout(grace, &mut serving).await.is_err() {
            // Somebody's stream of readiness or an idle connection: it is cut.
            tracing::info!("connections that did not close in time are cut");
            serving.abort();
        }
        let _ = runner.await;
        let _ = prover.await;
        app.tasks.close();
        if tokio::time::timeout(grace, app.tasks.wait()).await.is_err() {
            app.checks.stop();
            if tokio::time::timeout(PUT_BACK, app.tasks.wait()).await.is_err() {
                tracing::warn!("some checks did not stop in time; they are taken up again when their lease runs out");
            }
        }
        // Last: the end of the last check is still told to other servers.
        helpers.iter().for_each(JoinHandle::abort);
        app.store.close().await;
        tracing::info!("the server is down");
    }
}

/// Waits until the machine or somebody at the keyboard wants the server to stop.
pub(crate) async fn asked_to_stop() {
    let by_keyboard = async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    tokio::select! {
        () = by_keyboard => {}
        () = terminated() => {}
    }
}

#[cfg(unix)]
async fn terminated() {
    use tokio::signal::unix::{SignalKind, signal};
    match signal(SignalKind::terminate()) {
        Ok(mut terminate) => {
            terminate.recv().await;
        }
        Err(_) => std::future::pending().await,
    }
}

#[cfg(not(unix))]
async fn terminated() {
    std::future::pending().await
}
