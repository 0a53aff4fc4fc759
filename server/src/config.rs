//! What a server is told: defaults, then a file, then the environment, then flags; the later wins.

mod layers;

pub use crate::store::Database;
pub use layers::{ConfigError, Flags, data_folder, load};

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

/// How one gets an account once there is a first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum SignUp {
    /// By the code of an invitation.
    #[default]
    Invitation,
    /// Anybody.
    Open,
}

/// Certificate and key of the server, PEM.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TlsFiles {
    /// Certificate chain.
    pub certificate: PathBuf,
    /// Private key.
    pub key: PathBuf,
}

/// What guards the way between callers and server.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Guard {
    /// Nothing: only this machine is on the way, or the host said so in so many words.
    None,
    /// Certificate and key that the host was given.
    Files(TlsFiles),
    /// A certificate that the server makes for itself; callers know it by its fingerprint.
    Own,
}

/// How long tokens last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TokenLifetimes {
    /// Access token, seconds.
    pub access_s: i64,
    /// Refresh token, seconds; starts anew at each use.
    pub refresh_s: i64,
    /// How long a used refresh token is taken once more, seconds.
    pub predecessor_grace_s: i64,
}

impl Default for TokenLifetimes {
    fn default() -> Self {
        Self { access_s: 600, refresh_s: 30 * 24 * 3600, predecessor_grace_s: 30 }
    }
}

/// How many do what at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Workers {
    /// Threads that answer calls.
    pub threads: usize,
    /// Checks at a time.
    pub checks: usize,
    /// Password hashes at a time, each with 19 MiB.
    pub password_hashes: usize,
    /// Connections for reading from the embedded database.
    pub readers: u32,
}

impl Default for Workers {
    fn default() -> Self {
        Self { threads: 2, checks: 2, password_hashes: 2, readers: 4 }
    }
}

/// Sizes and rates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Members of a design.
    pub members: usize,
    /// Bytes of a design file's text.
    pub text_bytes: usize,
    /// Bytes of a message that a caller sends.
    pub message_bytes: usize,
    /// Bytes of an answer; findings of the largest designs take most of it.
    pub answer_bytes: usize,
    /// Predicted bytes of all checks at a time.
    pub check_memory_bytes: u64,
    /// Checks waiting in memory, all accounts together: trials, and submits that wait for their findings.
    pub checks_waiting: usize,
    /// Checks waiting in memory, one account.
    pub checks_waiting_of_account: usize,
    /// Checks of stored revisions that are not done yet, one account.
    pub checks_stored_of_account: usize,
    /// Longest check of a stored revision, seconds.
    pub check_s: u64,
    /// Longest trial check, seconds.
    pub trial_check_s: u64,
    /// How long a submit waits for the findings to come with it, milliseconds.
    pub submit_wait_ms: u64,
    /// Calls in progress, all accounts together.
    pub calls: usize,
    /// Submits in progress; each is finished even if its caller goes away.
    pub submits: usize,
    /// Calls in progress on one connection.
    pub calls_of_connection: usize,
    /// Calls a second of one account or, without one, of one address; ten seconds' worth may come at once.
    pub calls_per_second: u32,
    /// Longest call, seconds.
    pub call_s: u64,
    /// Streams open, one account.
    pub streams_of_account: usize,
    /// Listeners to news, all accounts together.
    pub listeners: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            members: 2000,
            text_bytes: 256 * 1024,
            message_bytes: 4 * 1024 * 1024,
            answer_bytes: 32 * 1024 * 1024,
            check_memory_bytes: 512_000_000,
            checks_waiting: 256,
            checks_waiting_of_account: 64,
            checks_stored_of_account: 2000,
            check_s: 120,
            trial_check_s: 30,
            submit_wait_ms: 200,
            calls: 256,
            submits: 64,
            calls_of_connection: 64,
            calls_per_second: 200,
            call_s: 60,
            streams_of_account: 16,
            listeners: 4000,
        }
    }
}

/// Everything a server is told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Config {
    /// Where to listen; port 0 takes a free one.
    pub listen: SocketAddr,
    /// Folder of the embedded database and the keys.
    pub data_folder: PathBuf,
    /// Where the data are; `None`: embedded, in the data folder.
    pub database: Option<Database>,
    /// Folder of the signing keys; `None`: `keys` in the data folder.
    pub keys_folder: Option<PathBuf>,
    /// How one gets an account.
    pub sign_up: SignUp,
    /// Certificate and key; `None`: no TLS.
    pub tls: Option<TlsFiles>,
    /// Listen on other than loopback without TLS, said in so many words.
    pub plain_public: bool,
    /// Name or address, with or without a port, by which others reach the server; `None`: as the machine knows itself.
    pub reached_at: Option<String>,
    /// How long tokens last.
    pub lifetimes: TokenLifetimes,
    /// How many do what at a time.
    pub workers: Workers,
    /// Sizes and rates.
    pub limits: Limits,
    /// How long requests may finish at shutdown, seconds.
    pub grace_s: u64,
}

/// Where a server listens when it is told nothing.
pub const LISTEN: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 7313);

impl Config {
    /// The defaults, with the data in this folder.
    pub fn new(data_folder: impl Into<PathBuf>) -> Self {
        Self {
            listen: LISTEN,
            data_folder: data_folder.into(),
            database: None,
            keys_folder: None,
            sign_up: SignUp::default(),
            tls: None,
            plain_public: false,
            reached_at: None,
            lifetimes: TokenLifetimes::default(),
            workers: Workers::default(),
            limits: Limits::default(),
            grace_s: 10,
        }
    }

    /// Where the data are.
    pub fn database(&self) -> Database {
        let embedded = || Database::Embedded(self.data_folder.join("battenboard.db"));
        self.database.clone().unwrap_or_else(embedded)
    }

    /// Where the signing keys are.
    pub fn keys_folder(&self) -> PathBuf {
        self.keys_folder.clone().unwrap_or_else(|| self.data_folder.join("keys"))
    }

    /// Folder of the server's own certificate.
    pub fn certificate_folder(&self) -> PathBuf {
        self.data_folder.join("certificate")
    }

    /// What guards the way to the server. Anything but loopback counts as public, and is never without TLS unless that
    /// was said in so many words.
    pub fn guard(&self) -> Guard {
        match &self.tls {
            Some(files) => Guard::Files(files.clone()),
            None if self.plain_public || self.listen.ip().is_loopback() => Guard::None,
            None => Guard::Own,
        }
    }
}
