//! The one clock of the server, and the ids that are made from it.

use std::time::{SystemTime, UNIX_EPOCH};
use uuid::Uuid;

/// Microseconds in a second.
pub const SECOND: i64 = 1_000_000;

/// UTC microseconds since 1970.
pub fn now_micros() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_micros()).unwrap_or(i64::MAX)
}

/// A new id, ordered by the time of its making.
pub fn new_id() -> Uuid {
    Uuid::now_v7()
}
