//! Telling the readers of events that a stream has grown: within this server at once, to the other servers on the same
//! PostgreSQL by NOTIFY.
//!
//! A signal is a hint and nothing more. NOTIFY goes after the commit, on a connection of its own and merged per stream
//! (inside the transaction it would make all commits of the database wait for each other); a server killed in between
//! never sends it. So readers read the table, and look at it every now and then without being told.

use super::{Database, Store, StoreError, StoreResult};
use sea_orm::ConnectionTrait;
use sea_orm::sqlx::postgres::{PgConnectOptions, PgListener, PgPoolOptions};
use std::collections::BTreeSet;
use std::str::FromStr;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;
use tokio::sync::Notify;
use uuid::Uuid;

/// The channel on PostgreSQL, which keeps channels of different databases apart.
const CHANNEL: &str = "battenboard_events";
/// Streams named in one notification: PostgreSQL takes less than 8000 bytes, an id is 33.
const STREAMS_OF_NOTIFICATION: usize = 200;
/// How long to wait before a lost connection is tried again.
const AGAIN: Duration = Duration::from_millis(500);

/// Streams that may have grown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Grown {
    /// These.
    pub streams: BTreeSet<Uuid>,
    /// Any: word of some may have been lost.
    pub any: bool,
}

/// Gathers streams that have grown until its one hearer takes them.
#[derive(Debug, Default)]
struct Bell {
    grown: Mutex<Grown>,
    rung: Notify,
}

impl Bell {
    fn ring(&self, more: Grown) {
        let mut grown = self.grown.lock().unwrap_or_else(PoisonError::into_inner);
        grown.any |= more.any;
        grown.streams.extend(more.streams);
        drop(grown);
        self.rung.notify_one();
    }

    fn take(&self) -> Grown {
        std::mem::take(&mut *self.grown.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// The bells of a store.
#[derive(Debug)]
pub struct Bells {
    here: Bell,
    abroad: Bell,
    /// Says of a notification that it is this store's own.
    sender: Uuid,
}

impl Default for Bells {
    fn default() -> Self {
        Self { here: Bell::default(), abroad: Bell::default(), sender: crate::clock::new_id() }
    }
}

impl Store {
    /// Tells the readers here and on other servers that these streams have grown.
    pub(super) fn tell_grown(&self, streams: BTreeSet<Uuid>) {
        if streams.is_empty() {
            return;
        }
        let grown = Grown { streams, any: false };
        if self.is_postgres() {
            self.bells().abroad.ring(grown.clone());
        }
        self.bells().here.ring(grown);
    }

    /// Waits until streams may have grown. There is one hearer a store.
    pub async fn streams_grow(&self) {
        self.bells().here.rung.notified().await;
    }

    /// The streams that may have grown since this was last asked.
    pub fn take_grown(&self) -> Grown {
        self.bells().here.take()
    }

    /// Passes word of grown streams on to other servers, for ever. Nothing to do on SQLite: it has one server.
    pub async fn pass_on_grown(self) {
        let abroad = &self.bells().abroad;
        loop {
            abroad.rung.notified().await;
            let grown = abroad.take();
            if let Err(error) = self.notify(&grown.streams).await {
                tracing::warn!(%error, "other servers could not be told of events; they look by themselves");
                tokio::time::sleep(AGAIN).await;
            }
        }
    }

    async fn notify(&self, streams: &BTreeSet<Uuid>) -> StoreResult<()> {
        let streams: Vec<String> = streams.iter().map(|id| id.simple().to_string()).collect();
        for some in streams.chunks(STREAMS_OF_NOTIFICATION) {
            // Hex digits and commas only.
            let payload = format!("{}:{}", self.bells().sender.simple(), some.join(","));
            self.read().execute_unprepared(&format!("NOTIFY {CHANNEL}, '{payload}'")).await?;
        }
        Ok(())
    }

    /// Hears from other servers of grown streams, for ever, on a connection of its own that is made again when it is
    /// lost. Nothing to do on SQLite.
    pub async fn hear_of_grown(self) {
        let Database::Postgres(address) = self.database() else { return std::future::pending().await };
        loop {
            if let Err(error) = self.hear(address).await {
                tracing::warn!(%error, "no word of other servers' events; looking every two seconds");
            }
            tokio::time::sleep(AGAIN).await;
        }
    }

    async fn hear(&self, address: &str) -> StoreResult<()> {
        let options = PgConnectOptions::from_str(address)?.application_name("battenboard-server listening");
        let pool = PgPoolOptions::new().max_connections(1).max_lifetime(None).idle_timeout(None);
        let pool = pool.connect_with(options).await?;
        let mut listener = PgListener::connect_with(&pool).await?;
        listener.listen(CHANNEL).await?;
        // What was told before the ears were open.
        self.bells().here.ring(Grown { any: true, ..Grown::default() });
        loop {
            match listener.try_recv().await? {
                Some(told) => {
                    if let Some(grown) = grown_of(told.payload(), self.bells().sender) {
                        self.bells().here.ring(grown);
                    }
                }
                None => return Err(StoreError::Unavailable { cause: "the listening connection was lost".into() }),
            }
        }
    }
}

/// What a notification says; `None` for our own. One that cannot be read may have been of any stream.
fn grown_of(payload: &str, own: Uuid) -> Option<Grown> {
    let any = || Grown { any: true, ..Grown::default() };
    let Some((sender, streams)) = payload.split_once(':') else { return Some(any()) };
    if Uuid::try_parse(sender).is_ok_and(|sender| sender == own) {
        return None;
    }
    let streams: Result<BTreeSet<Uuid>, _> = streams.split(',').map(Uuid::try_parse).collect();
    Some(streams.map_or_else(|_| any(), |streams| Grown { streams, any: false }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_notification_is_read_and_our_own_is_left_alone() {
        let (own, other, one, two) = (Uuid::from_u128(9), Uuid::from_u128(8), Uuid::from_u128(1), Uuid::from_u128(2));
        let payload = format!("{}:{},{}", other.simple(), one.simple(), two.simple());
        let grown = Grown { streams: BTreeSet::from([one, two]), any: false };
        assert_eq!(grown_of(&payload, own), Some(grown));
        assert_eq!(grown_of(&payload, other), None);
        for odd in ["", "x", "x:y", &format!("{}:", other.simple())] {
            assert_eq!(grown_of(odd, own), Some(Grown { any: true, ..Grown::default() }), "{odd}");
        }
    }

    #[test]
    fn a_bell_gathers_until_it_is_heard() {
        let bell = Bell::default();
        bell.ring(Grown { streams: BTreeSet::from([Uuid::from_u128(1)]), any: false });
        bell.ring(Grown { streams: BTreeSet::from([Uuid::from_u128(2)]), any: true });
        assert_eq!(bell.take(), Grown { streams: [1, 2].map(Uuid::from_u128).into(), any: true });
        assert_eq!(bell.take(), Grown::default());
    }
}
