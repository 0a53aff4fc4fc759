//! News: what happened in the streams an account may see, read in pages or heard live.
//!
//! [`read`] reads the table from a cursor on; [`hub`] follows each stream once for all who listen on this server and
//! gives them what is new; [`listen`] is the way of one listener: first the table, then the hub.

mod cursor;
mod follow;
mod hub;
mod kind;
mod listen;
mod read;
mod resolve;
#[cfg(test)]
mod tests;

pub use hub::Hub;
pub use kind::EventKind;
pub use listen::Heard;
pub use read::NewsAsked;
pub use resolve::EventView;

use super::AppResult;
use crate::store::events::{Event, NOTICEBOARD};
use crate::store::{Connection, groups};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Most streams of one account: more make cursors too long. The oldest groups come first.
pub const MOST_STREAMS: usize = 500;
/// Accounts or sessions asked for in one statement.
const ASKED_AT_ONCE: usize = 500;

/// A stream that an account may read; there is one entry a stream, the widest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VisibleStream {
    /// Its id: that of a group, or [`NOTICEBOARD`].
    pub id: Uuid,
    /// Since when it may be read, for cursors that do not know it yet; `None`: from where it stands now.
    pub since: Option<i64>,
    /// What of it may be read; `None`: everything.
    pub only: Option<Vec<Only>>,
}

/// The part of a group's stream that somebody outside the group may read: one design from one revision on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Only {
    /// Events of this design.
    pub design_id: Uuid,
    /// From this revision on.
    pub from_ordinal: i64,
}

impl VisibleStream {
    /// Whether an event of this stream may be read.
    pub fn shows(&self, event: &Event) -> bool {
        let Some(parts) = &self.only else { return true };
        parts.iter().any(|part| {
            event.design_id == Some(part.design_id) && event.ordinal.is_some_and(|ordinal| ordinal >= part.from_ordinal)
        })
    }
}

/// Which streams accounts may read: their groups', and the noticeboard's. The one place that decides it, for pages and
/// for listeners alike; for many accounts at once, since a server asks it of all its listeners every second. Each
/// account that is asked for has an entry.
///
/// # Errors
/// Those of the store.
pub async fn visible<C: Connection>(
    conn: &C,
    accounts: &BTreeSet<Uuid>,
) -> AppResult<BTreeMap<Uuid, Vec<VisibleStream>>> {
    let noticeboard = VisibleStream { id: NOTICEBOARD, since: None, only: None };
    let mut streams: BTreeMap<Uuid, Vec<VisibleStream>> =
        accounts.iter().map(|account| (*account, vec![noticeboard.clone()])).collect();
    let accounts: Vec<Uuid> = accounts.iter().copied().collect();
    for some in accounts.chunks(ASKED_AT_ONCE) {
        for entry in groups::entries_of(conn, some.to_vec()).await? {
            let Some(of_account) = streams.get_mut(&entry.account_id) else { continue };
            if of_account.len() < MOST_STREAMS {
                of_account.push(VisibleStream { id: entry.group_id, since: Some(entry.joined_at), only: None });
            }
        }
    }
    Ok(streams)
}

/// [`visible`] for one account.
///
/// # Errors
/// Those of the store.
pub async fn visible_to<C: Connection>(conn: &C, account: Uuid) -> AppResult<Vec<VisibleStream>> {
    Ok(visible(conn, &BTreeSet::from([account])).await?.remove(&account).unwrap_or_default())
}
