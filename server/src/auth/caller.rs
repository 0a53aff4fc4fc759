//! The caller of a method, after the door.

use super::rights::{Need, Right};
use uuid::Uuid;

/// A signed-in account on one session, with what the called method needs.
#[derive(Clone, Debug)]
pub struct Caller {
    /// Its account.
    pub account_id: Uuid,
    /// Name of its account.
    pub account: String,
    /// The session of the token.
    pub session_id: Uuid,
    /// When the access token ends, UTC microseconds.
    pub token_ends_at: i64,
    /// What the called method needs; the row of [`rights`](super::rights).
    pub need: Need,
}

impl Caller {
    /// Somebody without an account; only where a method is open to him, and sees only what is open to all.
    pub fn visitor(need: Need) -> Self {
        Self { account_id: Uuid::nil(), account: String::new(), session_id: Uuid::nil(), token_ends_at: i64::MAX, need }
    }

    /// True for somebody without an account.
    pub fn is_visitor(&self) -> bool {
        self.account_id.is_nil()
    }

    /// Whether a right within a group is enough for the called method.
    pub fn may(&self, right: Right) -> bool {
        match self.need {
            Need::Nobody => false,
            Need::Anyone | Need::Account => true,
            Need::Crew(least) | Need::Design(least) => right >= least,
            Need::Read => true,
        }
    }
}
