//! Who listens on this server, and what of each stream they have been given: one reading of the table for all.
//!
//! Each listener has a queue of so many events. One who lets it fill up is cut off; nobody waits for him.

use super::VisibleStream;
use super::resolve::EventView;
use crate::app::{AppError, AppResult};
use crate::store::Grown;
use crate::store::events::Event;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use uuid::Uuid;

/// Events a listener may be behind.
pub const MOST_BEHIND: usize = 1000;

/// An event on its way to a listener.
#[derive(Clone, Debug)]
pub struct Item {
    /// Its stream.
    pub stream_id: Uuid,
    /// Its number there.
    pub number: i64,
    /// What is told of it; `None` where this listener may not see it, and only moves on.
    pub event: Option<Arc<EventView>>,
}

/// What a listener is told beside events.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Word {
    /// Nothing yet.
    GoOn,
    /// More streams may be read than before, or other parts of them.
    Widened,
    /// It is over.
    Over(End),
}

/// Why listening is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The session was ended.
    SignedOut,
    /// This stream may be read no more.
    Closed(Uuid),
    /// The reader was too slow.
    Behind,
    /// A stream does not go on from where it was.
    Lost,
}

struct Listener {
    account: Uuid,
    session: Uuid,
    streams: BTreeMap<Uuid, VisibleStream>,
    /// Changes with `streams`: an answer about the streams of before does not count.
    epoch: u64,
    queue: Option<mpsc::Sender<Item>>,
    word: watch::Sender<Word>,
}

struct Followed {
    /// Number of the last event that was given.
    last: i64,
    listeners: BTreeSet<u64>,
}

#[derive(Default)]
struct Inner {
    next_id: u64,
    epoch: u64,
    listeners: BTreeMap<u64, Listener>,
    streams: BTreeMap<Uuid, Followed>,
}

/// All listeners of a server.
#[derive(Default)]
pub struct Hub(Mutex<Inner>);

/// A listener's place in the hub, given back when dropped.
pub struct Seat {
    hub: Arc<Hub>,
    id: u64,
    word: watch::Receiver<Word>,
}

/// Who listens, as of a moment.
#[derive(Clone, Debug, Default)]
pub struct Roll {
    /// Epoch of each listener.
    pub epochs: BTreeMap<u64, u64>,
    /// Their sessions.
    pub sessions: BTreeSet<Uuid>,
    /// Their accounts.
    pub accounts: BTreeSet<Uuid>,
}

fn by_id(streams: &[VisibleStream]) -> BTreeMap<Uuid, VisibleStream> {
    streams.iter().map(|stream| (stream.id, stream.clone())).collect()
}

impl Hub {
    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes a seat for a listener, who is looked after from now on and given events once he has tuned in.
    ///
    /// # Errors
    /// [`AppError::TooMany`].
    pub fn enter(
        self: &Arc<Self>,
        account: Uuid,
        session: Uuid,
        streams: &[VisibleStream],
        most: usize,
    ) -> AppResult<Seat> {
        let mut inner = self.inner();
        if inner.listeners.len() >= most {
            let (what, retry_after) = ("too many listen on this server", Duration::from_secs(5));
            return Err(AppError::TooMany { what, retry_after });
        }
        let id = inner.next_id;
        inner.next_id += 1;
        inner.epoch += 1;
        let (sender, word) = watch::channel(Word::GoOn);
        let (streams, epoch) = (by_id(streams), inner.epoch);
        inner.listeners.insert(id, Listener { account, session, streams, epoch, queue: None, word: sender });
        Ok(Seat { hub: Arc::clone(self), id, word })
    }

    /// True when nobody listens.
    pub fn is_empty(&self) -> bool {
        self.inner().listeners.is_empty()
    }

    /// Who listens.
    pub fn roll(&self) -> Roll {
        let mut roll = Roll::default();
        for (id, listener) in &self.inner().listeners {
            roll.epochs.insert(*id, listener.epoch);
            roll.sessions.insert(listener.session);
            roll.accounts.insert(listener.account);
        }
        roll
    }

    /// Ends or widens listening by what was found of those on a roll.
    pub fn look_after(&self, roll: &Roll, live: &BTreeSet<Uuid>, visible: &BTreeMap<Uuid, Vec<VisibleStream>>) {
        let mut inner = self.inner();
        let mut over = Vec::new();
        for (id, listener) in &inner.listeners {
            if roll.epochs.get(id) != Some(&listener.epoch) {
                continue;
            }
            let now = visible.get(&listener.account).map(|streams| by_id(streams)).unwrap_or_default();
            let closed = listener.streams.keys().find(|stream| !now.contains_key(*stream));
            if !live.contains(&listener.session) {
                over.push((*id, End::SignedOut));
            } else if let Some(stream) = closed {
                over.push((*id, End::Closed(*stream)));
            } else if now != listener.streams {
                listener.word.send_if_modified(|word| word.turn(Word::Widened));
            }
        }
        for (id, end) in over {
            inner.end(id, end);
        }
    }

    /// The followed streams that may have grown, with the last number given of each.
    pub fn followed(&self, grown: &Grown) -> BTreeMap<Uuid, i64> {
        let inner = self.inner();
        let wanted = inner.streams.iter().filter(|(id, _)| grown.any || grown.streams.contains(*id));
        wanted.map(|(id, followed)| (*id, followed.last)).collect()
    }

    /// Ends all who listen to a stream that does not go on from where it was; from their cursors they learn more.
    pub fn lose(&self, stream_id: Uuid) {
        let mut inner = self.inner();
        let listeners = inner.streams.get(&stream_id).map(|followed| followed.listeners.clone()).unwrap_or_default();
        listeners.into_iter().for_each(|id| inner.end(id, End::Lost));
    }

    /// Gives the events of one stream that were read after the last to all who listen to it. Events must be dense.
    pub fn give(&self, stream_id: Uuid, events: &[(Event, Arc<EventView>)]) {
        let mut inner = self.inner();
        let Inner { listeners, streams, .. } = &mut *inner;
        let Some(followed) = streams.get_mut(&stream_id) else { return };
        let mut behind = Vec::new();
        for (event, view) in events {
            // While this was read the stream may have been left by all and followed anew from another number.
            if event.number != followed.last + 1 {
                continue;
            }
            followed.last = event.number;
            for id in &followed.listeners {
                let Some(listener) = listeners.get(id) else { continue };
                let (Some(queue), Some(stream)) = (&listener.queue, listener.streams.get(&stream_id)) else { continue };
                let event = stream.shows(event).then(|| Arc::clone(view));
                let item = Item { stream_id, number: view.number, event };
                if let Err(mpsc::error::TrySendError::Full(_)) = queue.try_send(item) {
                    behind.push(*id);
                }
            }
        }
        for id in behind {
            inner.end(id, End::Behind);
        }
    }
}

impl Word {
    /// Goes over to another word; what is over stays over.
    fn turn(&mut self, to: Self) -> bool {
        let changes = !matches!(self, Self::Over(_)) && *self != to;
        if changes {
            *self = to;
        }
        changes
    }
}

impl Inner {
    fn end(&mut self, id: u64, end: End) {
        self.tune_out(id);
        if let Some(listener) = self.listeners.get(&id) {
            listener.word.send_if_modified(|word| word.turn(Word::Over(end)));
        }
    }

    fn tune_out(&mut self, id: u64) {
        let Some(listener) = self.listeners.get_mut(&id) else { return };
        listener.queue = None;
        for stream in listener.streams.keys() {
            if let Some(followed) = self.streams.get_mut(stream) {
                followed.listeners.remove(&id);
                if followed.listeners.is_empty() {
                    self.streams.remove(stream);
                }
            }
        }
    }
}

impl Seat {
    /// From now on this listener is given what comes after the heads, which were just read, in all his streams. Where a
    /// stream is followed already it comes from a number of its own, which may be a little before or behind.
    pub fn tune_in(&self, heads: &BTreeMap<Uuid, i64>) -> mpsc::Receiver<Item> {
        let (sender, receiver) = mpsc::channel(MOST_BEHIND);
        let mut inner = self.hub.inner();
        let Inner { listeners, streams, .. } = &mut *inner;
        if let Some(listener) = listeners.get_mut(&self.id) {
            if matches!(*listener.word.borrow(), Word::Over(_)) {
                return receiver;
            }
            listener.queue = Some(sender);
            for stream in listener.streams.keys() {
                let last = heads.get(stream).copied().unwrap_or_default();
                let new = || Followed { last, listeners: BTreeSet::new() };
                streams.entry(*stream).or_insert_with(new).listeners.insert(self.id);
            }
        }
        receiver
    }

    /// Stops being given events, and listens to other streams from the next tuning in.
    pub fn change(&mut self, streams: &[VisibleStream]) {
        let mut inner = self.hub.inner();
        inner.tune_out(self.id);
        inner.epoch += 1;
        let epoch = inner.epoch;
        if let Some(listener) = inner.listeners.get_mut(&self.id) {
            listener.streams = by_id(streams);
            listener.epoch = epoch;
            listener.word.send_if_modified(|word| word.turn(Word::GoOn));
        }
    }

    /// Waits until there is another word than to go on.
    pub async fn told(&self) -> Word {
        self.wait(|word| *word != Word::GoOn).await
    }

    /// Waits until it is over.
    pub async fn over(&self) -> End {
        match self.wait(|word| matches!(word, Word::Over(_))).await {
            Word::Over(end) => end,
            Word::GoOn | Word::Widened => std::future::pending().await,
        }
    }

    async fn wait(&self, until: impl FnMut(&Word) -> bool) -> Word {
        let mut word = self.word.clone();
        match word.wait_for(until).await.map(|word| *word) {
            Ok(word) => word,
            // Its listener stays for as long as this seat is taken.
            Err(_) => std::future::pending().await,
        }
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        let mut inner = self.hub.inner();
        inner.tune_out(self.id);
        inner.listeners.remove(&self.id);
    }
}
