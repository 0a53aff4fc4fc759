//! The rules: who may do what, in which order, in which transaction. Knows no wire; asks the store for rows and the
//! engine, through [`runner`], for findings.

pub mod access;
pub mod accounts;
pub mod comparison;
pub mod content;
pub mod cutting;
pub mod designs;
pub mod drawn_after;
pub mod engine;
pub mod error;
pub mod findings;
pub mod groups;
pub mod letters;
mod names;
pub mod news;
pub mod notices;
pub mod pages;
pub mod proofs;
pub mod remarks;
mod requests;
pub mod reviews;
pub mod runner;
pub mod submit;
mod tags;
#[cfg(test)]
mod tests;
pub mod vehicles;
pub mod watch;

pub use error::{AppError, AppResult};
pub use requests::RequestId;

use crate::auth::live::LiveSessions;
use crate::auth::passwords::Passwords;
use crate::auth::throttle::Throttle;
use crate::auth::tokens::AccessTokens;
use crate::config::{Limits, SignUp, TokenLifetimes};
use crate::store::Store;
use pages::PageTokens;
use runner::CheckPool;
use std::future::Future;
use std::sync::{Arc, Mutex};
use tokio::sync::{Semaphore, watch as watching};
use tokio_util::sync::CancellationToken;
use tokio_util::task::TaskTracker;
use tracing::Instrument;
use uuid::Uuid;

/// Longest note of a revision, bytes.
pub const NOTE_BYTES: usize = 2000;
/// Longest text of a remark or an entry, bytes.
pub const REMARK_BYTES: usize = 4000;
/// Longest title of a group, bytes.
pub const TITLE_BYTES: usize = 120;

/// Everything the rules need.
pub struct App {
    /// The database.
    pub store: Store,
    /// Sizes and rates.
    pub limits: Limits,
    /// How one gets an account.
    pub sign_up: SignUp,
    /// Whether only this machine can reach the server.
    pub on_loopback: bool,
    /// How long tokens last.
    pub lifetimes: TokenLifetimes,
    /// Hashing.
    pub passwords: Passwords,
    /// Guessing.
    pub throttle: Throttle,
    /// Access tokens.
    pub tokens: AccessTokens,
    /// Sessions that are live.
    pub live: LiveSessions,
    /// Page tokens.
    pub pages: PageTokens,
    /// The engine.
    pub checks: CheckPool,
    /// Hash of the code that the first account needs.
    pub first_code: Mutex<Option<Vec<u8>>>,
    /// Reading and validating designs on blocking threads, so many at a time.
    pub readers: Arc<Semaphore>,
    /// Submits in progress.
    pub submits: Arc<Semaphore>,
    /// This server among those on one database.
    pub server_id: Uuid,
    /// Writes and checks that finish whatever their caller does; awaited at shutdown.
    pub tasks: TaskTracker,
    /// Cancelled when the server goes down.
    pub stopping: CancellationToken,
    /// Counts up whenever a check has begun or ended on this server.
    pub checks_changed: watching::Sender<u64>,
    /// Streams open, by account.
    pub streams: watch::Streams,
    /// Who listens to news.
    pub news: Arc<news::Hub>,
}

impl App {
    /// Runs work to its end even if the caller goes away: a dropped call must not cut a transaction.
    ///
    /// # Errors
    /// Those of the work; [`AppError::Internal`] if it panicked.
    pub async fn finish<T: Send + 'static>(
        &self,
        work: impl Future<Output = AppResult<T>> + Send + 'static,
    ) -> AppResult<T> {
        self.tasks.spawn(work.in_current_span()).await.map_err(AppError::internal)?
    }

    /// Says that a check has begun or ended.
    pub fn tell_checks_changed(&self) {
        self.checks_changed.send_modify(|count| *count = count.wrapping_add(1));
    }
}
