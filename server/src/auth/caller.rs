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
    /// Whether a right within a group is enough for the called method.
    pub fn may(&self, right: Right) -> bool {
        match self.need {
            Need::Nobody => false,
            Need::Anyone | Need::Account => true,
            Need::Crew(least) => right >= least,
        }
    }
}
