//! From a configuration to a server that answers.

use crate::app::pages::PageTokens;
use crate::app::runner::{CheckPool, PoolLimits};
use crate::app::{App, AppError};
use crate::auth::certificate::{CertificateError, OwnCertificate};
use crate::auth::codes::{self, NoRandomness};
use crate::auth::keys::{self, Keys, KeysError};
use crate::auth::passwords::{PasswordError, Passwords};
use crate::auth::tokens::{AccessTokens, SigningError};
use crate::clock::{new_id, now_micros};
use crate::config::{Config, ConfigError, Database, Guard, TlsFiles};
use crate::reach;
use crate::service::{self, DoorLayer};
use crate::shutdown::{Joining, Parts, Running};
use crate::store::{self, Store, StoreError};
use std::io;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
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
/// How long a caller may take to agree on TLS.
const HANDSHAKE: Duration = Duration::from_secs(10);
/// How often an idle connection is asked whether it is still there, and how long it may take to answer.
const KEEPALIVE: (Duration, Duration) = (Duration::from_secs(60), Duration::from_secs(20));
/// How long answers to repeated requests, ended tokens and unused sessions are kept.
const KEPT_S: i64 = 7 * 24 * 3600;
/// How often it is looked whether a notice has run out.
const NOTICES: Duration = Duration::from_secs(20);
/// How long events are kept.
const EVENTS_KEPT_S: i64 = 90 * 24 * 3600;
/// Transactions of one round of pruning events; the rest waits for the next round.
const PRUNINGS: usize = 100;
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
    /// The server's own certificate.
    #[error(transparent)]
    Certificate(#[from] CertificateError),
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
    let (server, joining) = guarded(plain_server(&config), &config, address)?;
    let server = server.layer(DoorLayer::new(Arc::clone(&app)));
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
    let news = tokio::spawn(Arc::clone(&app).follow_news());
    let teller = tokio::spawn(app.store.clone().pass_on_grown());
    let hearer = tokio::spawn(app.store.clone().hear_of_grown());
    let key_reader = tokio::spawn(read_keys_again(Arc::clone(&app), config.keys_folder()));
    tracing::info!(%address, data = %config.data_folder.display(), "the server answers");
    let grace = Duration::from_secs(config.grace_s);
    let parts = Parts {
        address,
        first_code,
        joining,
        app,
        health,
        stop_listening,
        serving,
        runner,
        prover,
        helpers: vec![tidier, key_reader, news, teller, hearer],
        grace,
    };
    Ok(Running::new(parts))
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
        pages: PageTokens::new(&keys),
        checks: CheckPool::new(pool),
        first_code: Mutex::new(first_code.map(codes::code_hash)),
        readers: Arc::new(Semaphore::new(config.workers.checks.max(1) + 1)),
        submits: Arc::new(Semaphore::new(limits.submits)),
        server_id: new_id(),
        tasks: TaskTracker::new(),
        stopping: CancellationToken::new(),
        checks_changed: watch::Sender::new(0),
        streams: Default::default(),
        news: Default::default(),
    })
}

fn plain_server(config: &Config) -> Server {
    Server::builder()
        .concurrency_limit_per_connection(config.limits.calls_of_connection)
        .max_concurrent_streams(STREAMS_OF_CONNECTION)
        .http2_max_pending_accept_reset_streams(Some(RESET_STREAMS))
        .http2_max_header_list_size(HEADER_BYTES)
        .http2_keepalive_interval(Some(KEEPALIVE.0))
        .http2_keepalive_timeout(Some(KEEPALIVE.1))
        .tcp_nodelay(true)
}

/// Puts a server behind what guards the way to it; gives what others need to join, where the certificate is its own.
fn guarded(server: Server, config: &Config, address: SocketAddr) -> Result<(Server, Option<Joining>), StartError> {
    let with = |identity: Identity| {
        let tls = ServerTlsConfig::new().identity(identity).timeout(HANDSHAKE);
        server.clone().tls_config(tls).map_err(|error| StartError::Tls { cause: told_whole(&error) })
    };
    match config.guard() {
        Guard::None => Ok((server, None)),
        Guard::Files(TlsFiles { certificate, key }) => {
            let read = |path: PathBuf| std::fs::read(&path).map_err(|source| StartError::TlsFile { path, source });
            Ok((with(Identity::from_pem(read(certificate)?, read(key)?))?, None))
        }
        Guard::Own => {
            let (addresses, name, said) = (reach::addresses(), reach::host_name(), config.reached_at.as_deref());
            let names = ["localhost", "127.0.0.1", "::1"].map(str::to_owned).into_iter();
            let mut names: Vec<String> = names.chain(addresses.iter().map(ToString::to_string)).collect();
            names.extend(name.clone());
            names.extend(said.map(reach::host_of));
            let own = OwnCertificate::open(&config.certificate_folder(), &names)?;
            let reached_at = reach::reached_at(address, said, &addresses, name.as_deref());
            let server = with(Identity::from_pem(own.certificate, own.key))?;
            Ok((server, Some(Joining { reached_at, fingerprint: own.fingerprint })))
        }
    }
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

/// Looks every few seconds whether the signing keys have changed, so that they are rotated without a restart.
async fn read_keys_again(app: Arc<App>, folder: PathBuf) {
    let mut known = None;
    loop {
        tokio::select! {
            () = app.stopping.cancelled() => return,
            () = tokio::time::sleep(keys::READ_AGAIN) => {}
        }
        match Keys::open(&folder) {
            Ok(read) if known.as_ref() != Some(&read) => {
                app.tokens.replace(&read);
                app.pages.replace(&read);
                known = Some(read);
            }
            Ok(_) => {}
            Err(error) => tracing::warn!(%error, "the signing keys could not be read again; those known stay"),
        }
    }
}

/// Looks, at the start, at revisions issued for cutting with this engine; writes down which notices have run out; and takes
/// out, at the start and now and then, what has had its time: answers to repeats, refresh tokens that ended long ago, old
/// events.
async fn tidy(app: Arc<App>) {
    if let Err(error) = app.recheck_issued().await {
        tracing::warn!(%error, "revisions issued for cutting could not be put up for this engine");
    }
    let mut swept: Option<Instant> = None;
    loop {
        if let Err(error) = app.end_notices_run_out().await {
            tracing::warn!(%error, "notices that ran out could not be written down; trying again later");
        }
        if swept.is_none_or(|swept| swept.elapsed() >= TIDY) {
            swept = Some(Instant::now());
            if let Err(error) = sweep(&app.store).await {
                tracing::warn!(%error, "old rows could not be taken out; trying again later");
            }
        }
        tokio::select! {
            () = app.stopping.cancelled() => return,
            () = tokio::time::sleep(NOTICES) => {}
        }
    }
}

async fn sweep(store: &Store) -> Result<(), StoreError> {
    let long_ago = now_micros() - KEPT_S * crate::clock::SECOND;
    let tx = store.write_tx().await?;
    store::requests::prune(&tx, long_ago).await?;
    store::sessions::prune_tokens(&tx, long_ago).await?;
    store::sessions::prune(&tx, long_ago).await?;
    store::recovery::prune(&tx, long_ago).await?;
    store.commit(tx).await?;
    prune_events(store).await
}

async fn prune_events(store: &Store) -> Result<(), StoreError> {
    let before = now_micros() - EVENTS_KEPT_S * crate::clock::SECOND;
    for _ in 0..PRUNINGS {
        // Short transactions: writers wait for each.
        let tx = store.write_tx().await?;
        let pruned = store::events::prune(&tx, before).await?;
        store.commit(tx).await?;
        if pruned == 0 {
            break;
        }
    }
    Ok(())
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
