//! Running the engine without letting it run away: bounded in number, memory, time and queue, fair between accounts,
//! and not taken down by a panic.
//!
//! [`pool`] is the queue and the blocking work; [`stored`] keeps the checks of stored revisions going across kills,
//! [`proving`] their proof loads.

pub mod pool;
pub mod proving;
mod round;
pub mod stored;

pub use pool::{CheckPool, Job, PoolLimits, ProofTicket, Ticket};

use battenboard_engine::findings::Findings;
use battenboard_engine::proof::ProofResult;
use std::sync::Arc;

/// Why there are no findings.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Failure {
    /// Whoever asked has gone, or the server is shutting down.
    #[error("the check was stopped")]
    Stopped,
    /// It ran into its deadline.
    #[error("the check took longer than allowed")]
    TooLong,
    /// The frame is more than the engine or the server takes.
    #[error("{0}")]
    TooLarge(String),
    /// The stored body cannot be read or is not sound any more.
    #[error("the stored design cannot be checked: {0}")]
    Unreadable(String),
    /// The engine panicked.
    #[error("the engine failed: {0}")]
    Crashed(String),
}

/// How a check ended.
pub type Outcome = Arc<Result<Findings, Failure>>;

/// How a run of proof loads ended.
pub type ProofRun = Arc<Result<Vec<ProofResult>, Failure>>;
