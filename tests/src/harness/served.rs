//! The server library, running in this very process on a thread and runtime of its own.

use super::Database;
use anyhow::Context;
use battenboard_server::Config;
use battenboard_server::config::Database as Kept;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::mpsc;
use std::thread::JoinHandle;
use std::time::Duration;
use tokio::sync::oneshot;
use tonic::transport::{Channel, Endpoint};

/// How a server is to be run.
#[derive(Clone, Debug)]
pub struct ServedOptions {
    /// Everything the server is told.
    pub config: Config,
}

impl ServedOptions {
    /// The defaults with the data in one folder, on a free port of this machine.
    pub fn in_folder(folder: &Path) -> Self {
        let mut config = Config::new(folder);
        config.listen = SocketAddr::from(([127, 0, 0, 1], 0));
        Self { config }
    }

    /// On a test's database; calls are not slowed, since tests call faster than people.
    pub fn on(database: &Database) -> Self {
        let mut options = Self::in_folder(database.folder());
        options.config.database = database.url().map(Kept::Postgres);
        options.config.limits.calls_per_second = 1_000_000;
        options
    }

    /// The same at the address where a server was before.
    #[must_use]
    pub fn at(mut self, address: SocketAddr) -> Self {
        self.config.listen = address;
        self
    }
}

/// A running server; stopped when dropped.
pub struct Served {
    address: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Served {
    /// Starts one and waits until its port is open.
    ///
    /// # Errors
    /// Why it did not start.
    pub fn start(options: &ServedOptions) -> anyhow::Result<Self> {
        let config = options.config.clone();
        let (stop, stopped) = oneshot::channel();
        let (tell, told) = mpsc::channel();
        let thread = std::thread::Builder::new().name("server".into()).spawn(move || serve(config, stopped, &tell))?;
        let address = told.recv().context("the server's thread ended early")??;
        Ok(Self { address, stop: Some(stop), thread: Some(thread) })
    }

    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// With `http://` before it.
    pub fn address_with_scheme(&self) -> String {
        format!("http://{}", self.address)
    }

    /// A way to it.
    ///
    /// # Errors
    /// Where it can't be reached.
    pub async fn channel(&self) -> anyhow::Result<Channel> {
        let endpoint = Endpoint::from_shared(self.address_with_scheme())?;
        Ok(endpoint.connect_timeout(Duration::from_secs(10)).connect().await?)
    }

    /// Stops it: requests finish, data are on disk.
    ///
    /// # Errors
    /// Where it ended early.
    pub fn stop(mut self) -> anyhow::Result<()> {
        self.end().map_err(|()| anyhow::anyhow!("the server's thread ended early"))
    }

    fn end(&mut self) -> Result<(), ()> {
        if let Some(stop) = self.stop.take() {
            let _ = stop.send(());
        }
        self.thread.take().map_or(Ok(()), |thread| thread.join().map_err(|_| ()))
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.end();
    }
}

fn serve(config: Config, stopped: oneshot::Receiver<()>, tell: &mpsc::Sender<anyhow::Result<SocketAddr>>) {
    let runtime =
        match tokio::runtime::Builder::new_multi_thread().worker_threads(config.workers.threads).enable_all().build() {
            Ok(runtime) => runtime,
            Err(error) => {
                let _ = tell.send(Err(error.into()));
                return;
            }
        };
    runtime.block_on(async {
        match battenboard_server::start(config).await {
            Ok(running) => {
                let _ = tell.send(Ok(running.address()));
                let _ = stopped.await;
                running.stop().await;
            }
            Err(error) => {
                let _ = tell.send(Err(error.into()));
            }
        }
    });
}
