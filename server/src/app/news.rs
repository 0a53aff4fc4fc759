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
use crate::store::{Connection, groups, take_ups};
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
        // What was built and what a keeper accepted is the crew's own.
        if ["as_built", "concession"].contains(&event.kind.as_str()) {
            return false;
        }
        parts.iter().any(|part| {
            event.design_id == Some(part.design_id) && event.ordinal.is_some_and(|ordinal| ordinal >= part.from_ordinal)
        })
    }
}

/// Which streams accounts may read: their groups', the noticeboard's, and of other groups' what belongs to the designs whose
/// notices they took up. The one place that decides it, for pages and
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
    for some in accounts.chunks(ASKED_AT_ONCE) {
        for (taken, group_id) in take_ups::open_of_accounts(conn, some.to_vec()).await? {
            let Some(of_account) = streams.get_mut(&taken.account_id) else { continue };
            let only = Only { design_id: taken.design_id, from_ordinal: taken.from_ordinal };
            add_part(of_account, group_id, taken.taken_at, only);
        }
    }
    Ok(streams)
}

/// Adds a part of a group's stream for somebody who took up a notice; one of its crew reads all of it anyhow.
fn add_part(streams: &mut Vec<VisibleStream>, group_id: Uuid, since: i64, only: Only) {
    let room = streams.len() < MOST_STREAMS;
    match streams.iter_mut().find(|stream| stream.id == group_id) {
        Some(VisibleStream { only: Some(parts), .. }) => parts.push(only),
        Some(_) => {}
        None if room => {
            streams.push(VisibleStream { id: group_id, since: Some(since), only: Some(vec![only]) });
        }
        None => {}
    }
}

/// [`visible`] for one account.
///
/// # Errors
/// Those of the store.
pub async fn visible_to<C: Connection>(conn: &C, account: Uuid) -> AppResult<Vec<VisibleStream>> {
    Ok(visible(conn, &BTreeSet::from([account])).await?.remove(&account).unwrap_or_default())
}
