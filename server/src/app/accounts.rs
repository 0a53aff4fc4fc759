//! Accounts and their sessions.

mod create;
pub mod host;
mod recovery;
mod sessions;
mod sign_in;

pub use create::{Entitlement, NewAccount, SignUpMode};
pub use recovery::Recovery;
pub use sessions::SessionView;

/// Tokens of a session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tokens {
    /// Access token.
    pub access: String,
    /// When it ends, UTC microseconds.
    pub access_ends_at: i64,
    /// Refresh token.
    pub refresh: String,
    /// When it ends, UTC microseconds.
    pub refresh_ends_at: i64,
}
