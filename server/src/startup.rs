//! From a configuration to a server that answers.

use crate::app::pages::PageTokens;
use crate::app::runner::{CheckPool, PoolLimits};
use crate::app::{App, AppError};
use crate::auth::codes::{self, NoRandomness};
use crate::auth::keys::{self, Keys, KeysError};
use crate::auth::passwords::{PasswordError, Passwords};
use crate::auth::tokens::{AccessTokens, SigningError};
use crate::clock::{new_id, now_micros};
use crate::config::{Config, ConfigError, Database, TlsFiles};
use crate::service::{self, DoorLayer};
use crate::shutdown::{Parts, Running};
use crate::store::{self, Store, StoreError};
use std::io;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::{Semaphore, watch};
use tokio_util::sync::CancellationToken;
use tokio_util::task::TaskTracker;
use tonic::service::Routes;
use tonic::transport::server::TcpIncoming;
use tonic::transport::{Identity, Server, ServerTlsConfig};
use tonic_health::server::HealthReporter;

/// Streams that one connection may have open.
const STREAMS_OF_CONNECTION: u32 = 128;
/// Streams that a caller may open and drop at once before the connection is taken for an attack.
const RESET_STREAMS: usize = 64;
/// Longest headers of a call, bytes.
const HEADER_BYTES: u32 = 32 * 1024;
/// How often an idle connection is asked whether it is still there, and how long it may take to answer.
const KEEPALIVE: (Duration, Duration) = (Duration::from_secs(60), Duration::from_secs(20));
/// How long answers to repeated requests, ended tokens and unused sessions are kept.
const KEPT_S: i64 = 7 * 24 * 3600;
/// How often what has had its time is taken out.
const TIDY: Duration = Duration::from_secs(3600);

/// Why a server does not start.
#[derive(Debug, thiserror::Error)]
pub enum StartError {
    /// The configuration.
    #[error(transparent)]
    Config(#[from] ConfigError),
    /// The address.
    #[error("cannot listen on {address}: {source}")]
    Listen {
        /// Which.
        address: SocketAddr,
        /// Why.
        source: io::Error,
    },
    /// A file of the certificate.
    #[error("`{}`: {source}", path.display())]
    TlsFile {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The certificate.
    #[error("certificate and key cannot be used: {cause}")]
    Tls {
        /// Why.
        cause: String,
    },
    /// The signing keys.
    #[error(transparent)]
    Keys(#[from] KeysError),
    /// Signing.
    #[error(transparent)]
    Signing(#[from] SigningError),
    /// Hashing.
    #[error(transparent)]
    Passwords(#[from] PasswordError),
    /// Random numbers.
    #[error(transparent)]
    NoRandomness(#[from] NoRandomness),
    /// The database.
    #[error("the database: {0}")]
    Store(String),
    /// Reflection.
    #[error("the description of the service cannot be served: {cause}")]
    Reflection {
        /// Why.
        cause: String,
    },
}

impl From<AppError> for StartError {
    fn from(error: AppError) -> Self {
        Self::Store(error.to_string())
    }
}

impl From<StoreError> for StartError {
    fn from(error: StoreError) -> Self {
        Self::Store(error.to_string())
    }
}

/// Starts a server: listens first, so that callers may come while the rest is made ready, then answers them.
///
/// # Errors
/// [`StartError`].
pub async fn start(config: Config) -> Result<Running, StartError> {
    config.refuse_unsafe()?;
    let listener = listen(config.listen).await?;
    let address = listener.local_addr().map_err(|source| StartError::Listen { address: config.listen, source })?;
    keys::make_private_folder(&config.data_folder)?;
    let store = Store::open(config.database(), config.workers.readers).await?;
    store.make_ready().await?;
    let first_code = first_code(&store, address.ip().is_loopback()).await?;
    let app = Arc::new(build(&config, store, address, first_code.as_deref())?);

    let alone = matches!(config.database(), Database::Embedded(_));
    app.put_back_left_checks(alone).await?;
    app.put_back_left_proofs(alone).await?;

    let health = HealthReporter::new();
    let server = server(&config)?.layer(DoorLayer::new(Arc::clone(&app)));
    let routes = routes(&app, &health).await?;
    let stop_listening = CancellationToken::new();
    let listening = stop_listening.clone();
    let incoming = TcpIncoming::from(listener).with_nodelay(Some(true));
    let serving = tokio::spawn(async move {
        let until = listening.cancelled_owned();
        server.serve_with_incoming_shutdown(routes.prepare(), incoming, until).await
    });
    let runner = tokio::spawn(Arc::clone(&app).run_stored_checks());
    let prover = tokio::spawn(Arc::clone(&app).run_stored_proofs());
    let tidier = tokio::spawn(tidy(Arc::clone(&app)));
    tracing::info!(%address, data = %config.data_folder.display(), "the server answers");
    let grace = Duration::from_secs(config.grace_s);
    Ok(Running::new(Parts { address, first_code, app, health, stop_listening, serving, runner, prover, tidier, grace }))
}

async fn listen(address: SocketAddr) -> Result<TcpListener, StartError> {
    TcpListener::bind(address).await.map_err(|source| StartError::Listen { address, source })
}

/// A code for the first account, where there is none yet and other machines can reach the server.
async fn first_code(store: &Store, on_loopback: bool) -> Result<Option<String>, StartError> {
    if on_loopback || store::accounts::any(store.read()).await? {
        return Ok(None);
    }
    Ok(Some(codes::one_time_code()?))
}

pub(crate) fn build(
    config: &Config,
    store: Store,
    address: SocketAddr,
    first_code: Option<&str>,
) -> Result<App, StartError> {
    let keys = Keys::open(&config.keys_folder())?;
    let limits = config.limits;
    let pool = PoolLimits {
        places: config.workers.checks.max(1),
        memory_bytes: limits.check_memory_bytes,
        waiting: limits.checks_waiting,
        waiting_of_account: limits.checks_waiting_of_account,
        longest: Duration::from_secs(limits.check_s),
    };
    Ok(App {
        store,
        limits,
        sign_up: config.sign_up,
        on_loopback: address.ip().is_loopback(),
        lifetimes: config.lifetimes,
        passwords: Passwords::new(config.workers.password_hashes)?,
        throttle: Default::default(),
        tokens: AccessTokens::new(&keys, now_micros())?,
        live: Default::default(),
        pages: PageTokens::new(keys.by_id.get(&keys.signing).map(Vec::as_slice).unwrap_or_default()),
        checks: CheckPool::new(pool),
        first_code: Mutex::new(first_code.map(codes::code_hash)),
        readers: Arc::new(Semaphore::new(config.workers.checks.max(1) + 1)),
        submits: Arc::new(Semaphore::new(limits.submits)),
        server_id: new_id(),
        tasks: TaskTracker::new(),
        stopping: CancellationToken::new(),
        checks_changed: watch::Sender::new(0),
        streams: Default::default(),
    })
}

fn server(config: &Config) -> Result<Server, StartError> {
    let server = Server::builder()
        .concurrency_limit_per_connection(config.limits.calls_of_connection)
        .max_concurrent_streams(STREAMS_OF_CONNECTION)
        .http2_max_pending_accept_reset_streams(Some(RESET_STREAMS))
        .http2_max_header_list_size(HEADER_BYTES)
        .http2_keepalive_interval(Some(KEEPALIVE.0))
        .http2_keepalive_timeout(Some(KEEPALIVE.1))
        .tcp_nodelay(true);
    let Some(TlsFiles { certificate, key }) = &config.tls else { return Ok(server) };
    let read =
        |path: &PathBuf| std::fs::read(path).map_err(|source| StartError::TlsFile { path: path.clone(), source });
    let identity = Identity::from_pem(read(certificate)?, read(key)?);
    let tls = ServerTlsConfig::new().identity(identity);
    server.tls_config(tls).map_err(|error| StartError::Tls { cause: told_whole(&error) })
}

/// An error with what lies under it.
fn told_whole(error: &dyn std::error::Error) -> String {
    std::iter::successors(Some(error), |error| error.source()).map(ToString::to_string).collect::<Vec<_>>().join(": ")
}

async fn routes(app: &Arc<App>, health: &HealthReporter) -> Result<Routes, StartError> {
    for name in service::NAMES.into_iter().chain([""]) {
        health.set_service_status(name, tonic_health::ServingStatus::Serving).await;
    }
    let described = || {
        tonic_reflection::server::Builder::configure()
            .register_encoded_file_descriptor_set(battenboard_proto::FILE_DESCRIPTOR_SET)
            .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
    };
    let undescribed = |error: tonic_reflection::server::Error| StartError::Reflection { cause: error.to_string() };
    let health = tonic_health::server::HealthService::from_health_reporter(health.clone());
    Ok(service::routes(app)
        .add_service(tonic_health::pb::health_server::HealthServer::new(health))
        .add_service(described().build_v1().map_err(undescribed)?)
        .add_service(described().build_v1alpha().map_err(undescribed)?))
}

/// Takes out, now and then, what has had its time: answers to repeats, and refresh tokens that ended long ago.
async fn tidy(app: Arc<App>) {
    loop {
        tokio::select! {
            () = app.stopping.cancelled() => return,
            () = tokio::time::sleep(TIDY) => {}
        }
        let now = now_micros();
        let swept = async {
            let tx = app.store.write_tx().await?;
            let long_ago = now - KEPT_S * crate::clock::SECOND;
            store::requests::prune(&tx, long_ago).await?;
            store::sessions::prune_tokens(&tx, long_ago).await?;
            store::sessions::prune(&tx, long_ago).await?;
            app.store.commit(tx).await
        };
        if let Err(error) = swept.await {
            tracing::warn!(%error, "old rows could not be taken out; trying again later");
        }
    }
}

/// Brings a database to this release; gives the migrations that were run.
///
/// # Errors
/// [`StartError`].
pub async fn migrate(config: &Config) -> Result<Vec<String>, StartError> {
    if let Database::Embedded(_) = config.database() {
        keys::make_private_folder(&config.data_folder)?;
    }
    let store = Store::open(config.database(), 1).await?;
    let run = store.migrate().await;
    store.close().await;
    Ok(run?)
}
