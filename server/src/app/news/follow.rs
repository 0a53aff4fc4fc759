//! Following the streams that somebody on this server listens to: read once, given to all.

use super::kind::EventKind;
use super::read::READ_AT_ONCE;
use super::resolve::resolve;
use super::{ASKED_AT_ONCE, visible};
use crate::app::{App, AppResult};
use crate::store::{Grown, events, sessions};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::{Duration, Instant};
use uuid::Uuid;

/// How often it is asked whether listeners are still signed in and may still read what they hear. Nothing is given that
/// was read later than this after the last answer.
const LOOK_AFTER: Duration = Duration::from_millis(900);
/// How often the heads of all streams are looked at without being told; with the waking below every two seconds at most.
const LOOK: Duration = Duration::from_millis(1500);
/// How often it is seen whether one of these is due.
const WAKE: Duration = Duration::from_millis(400);
/// How long to wait before something that failed is tried again.
const AGAIN: Duration = Duration::from_secs(1);

/// When what was last done.
#[derive(Default)]
struct Done {
    looked_after: Option<Instant>,
    looked: Option<Instant>,
}

fn is_due(done: Option<Instant>, every: Duration) -> bool {
    done.is_none_or(|at| at.elapsed() >= every)
}

impl App {
    /// Follows streams until the server stops.
    pub async fn follow_news(self: Arc<Self>) {
        let mut done = Done::default();
        let mut left = Grown::default();
        let mut wait = WAKE;
        loop {
            tokio::select! {
                () = self.stopping.cancelled() => return,
                () = self.store.streams_grow() => {}
                () = tokio::time::sleep(wait) => {}
            }
            let Grown { streams, any } = self.store.take_grown();
            left.streams.extend(streams);
            left.any |= any || is_due(done.looked, LOOK);
            if self.news.is_empty() {
                left = Grown::default();
                continue;
            }
            match self.follow_on(&mut done, &left).await {
                Ok(()) => (left, wait) = (Grown::default(), WAKE),
                Err(error) => {
                    tracing::warn!(%error, "listeners cannot be served now; trying again");
                    wait = AGAIN;
                }
            }
        }
    }

    async fn follow_on(&self, done: &mut Done, grown: &Grown) -> AppResult<()> {
        if is_due(done.looked_after, LOOK_AFTER) {
            let begun = Instant::now();
            self.look_after_listeners().await?;
            done.looked_after = Some(begun);
        }
        let mut followed = self.news.followed(grown);
        if grown.any {
            let begun = Instant::now();
            let heads = events::heads(self.store.read(), followed.keys().copied().collect()).await?;
            followed.retain(|id, last| heads.get(id).is_some_and(|head| *head > *last));
            done.looked = Some(begun);
        }
        for (id, last) in followed {
            self.follow_one(id, last).await?;
        }
        Ok(())
    }

    async fn follow_one(&self, id: Uuid, mut last: i64) -> AppResult<()> {
        loop {
            let read = events::after(self.store.read(), id, last, READ_AT_ONCE).await?;
            let (Some(oldest), Some(newest)) = (read.first(), read.last()) else { return Ok(()) };
            if oldest.number != last + 1 {
                // Only where somebody changed the database by hand, or put an older one in its place.
                tracing::error!(stream = %id, last, next = oldest.number, "a stream of events has a hole");
                self.news.lose(id);
                return Ok(());
            }
            last = newest.number;
            let full = read.len() as u64 == READ_AT_ONCE;
            // Who was taken out hears nothing from the event on that says so.
            if read.iter().any(|event| EventKind::of_word(&event.kind).changes_readers()) {
                self.look_after_listeners().await?;
            }
            let views = resolve(self.store.read(), &read).await?;
            let given: Vec<_> = read.into_iter().zip(views.into_iter().map(Arc::new)).collect();
            self.news.give(id, &given);
            if !full {
                return Ok(());
            }
        }
    }

    /// Ends the listening of those who signed out or were taken out of a group; tells those who may hear more now.
    async fn look_after_listeners(&self) -> AppResult<()> {
        let roll = self.news.roll();
        let conn = self.store.read();
        let asked: Vec<Uuid> = roll.sessions.iter().copied().collect();
        let mut live = BTreeSet::new();
        for some in asked.chunks(ASKED_AT_ONCE) {
            live.extend(sessions::live_among(conn, some.to_vec()).await?);
        }
        let visible: BTreeMap<_, _> = visible(conn, &roll.accounts).await?;
        self.news.look_after(&roll, &live, &visible);
        Ok(())
    }
}
