//! Following a check as it goes, until its findings are there.

use super::access::Access;
use super::designs::{CheckState, find};
use super::findings::{Standing, standing};
use super::{App, AppError, AppResult};
use crate::auth::Caller;
use crate::clock::now_micros;
use crate::store::revisions;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::sync::mpsc;
use uuid::Uuid;

/// How often the database is asked: the check may run on another server.
const LOOK: Duration = Duration::from_millis(500);
/// Steps that may lie unread; a caller who reads more slowly holds the stream up, nothing else.
const UNREAD: usize = 4;

/// One step of a check.
#[derive(Clone, Debug)]
pub struct Step {
    /// The revision.
    pub ordinal: i64,
    /// Where its check stands.
    pub standing: Standing,
}

/// Streams open, by account.
#[derive(Clone, Debug, Default)]
pub struct Streams(Arc<Mutex<BTreeMap<Uuid, usize>>>);

/// A place among an account's streams, given back however the stream ends.
pub(super) struct Open {
    streams: Streams,
    account: Uuid,
}

impl Streams {
    /// Takes a place.
    ///
    /// # Errors
    /// [`AppError::TooMany`].
    pub(super) fn open(&self, account: Uuid, most: usize) -> AppResult<Open> {
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let count = open.entry(account).or_default();
        if *count >= most {
            return Err(AppError::TooMany {
                what: "too many streams of this account are open",
                retry_after: Duration::from_secs(5),
            });
        }
        *count += 1;
        Ok(Open { streams: self.clone(), account })
    }
}

impl Drop for Open {
    fn drop(&mut self) {
        let mut open = self.streams.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = open.get_mut(&self.account) {
            *count -= 1;
            if *count == 0 {
                open.remove(&self.account);
            }
        }
    }
}

impl App {
    /// Follows the check of a revision; the last step carries its findings.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::TooMany`] streams. On the way: [`AppError::Unauthenticated`] when the token
    /// ends or the session is ended, [`AppError::ShuttingDown`].
    pub async fn watch_check(
        self: &Arc<Self>,
        caller: &Caller,
        group: &str,
        design: &str,
        letter: &str,
    ) -> AppResult<mpsc::Receiver<AppResult<Step>>> {
        let place = find(self.store.read(), caller, group, design).await?;
        let heading = place.heading(self.store.read(), place.ordinal(letter)?).await?;
        let open = self.streams.open(caller.account_id, self.limits.streams_of_account)?;
        let (sender, receiver) = mpsc::channel(UNREAD);
        let (app, caller) = (Arc::clone(self), caller.clone());
        let (group, design) = (group.to_owned(), design.to_owned());
        tokio::spawn(async move {
            let _open = open;
            let watched = Watched { app, caller, group, design, heading, access: place.access };
            if let Err(error) = watched.send_steps(&sender).await {
                // A caller who has gone needs no reason.
                let _ = sender.send(Err(error)).await;
            }
        });
        Ok(receiver)
    }
}

struct Watched {
    app: Arc<App>,
    caller: Caller,
    group: String,
    design: String,
    heading: revisions::Heading,
    access: Access,
}

impl Watched {
    async fn send_steps(&self, sender: &mpsc::Sender<AppResult<Step>>) -> AppResult<()> {
        let mut changed = self.app.checks_changed.subscribe();
        let mut last = None;
        loop {
            let standing = standing(self.app.store.read(), &self.heading).await?.seen_by(&self.access);
            let state = (standing.state, standing.ahead);
            let over = matches!(standing.state, CheckState::Done | CheckState::Failed);
            let step = Step { ordinal: self.heading.ordinal, standing };
            if last != Some(state) && sender.send(Ok(step)).await.is_err() {
                return Ok(());
            }
            if over {
                return Ok(());
            }
            last = Some(state);
            tokio::select! {
                () = self.app.stopping.cancelled() => return Err(AppError::ShuttingDown),
                () = sender.closed() => return Ok(()),
                () = tokio::time::sleep(LOOK) => {}
                _ = changed.changed() => {}
            }
            self.refuse_ended().await?;
        }
    }

    /// The caller must still be signed in and still be of the crew.
    async fn refuse_ended(&self) -> AppResult<()> {
        if now_micros() >= self.caller.token_ends_at {
            return Err(AppError::Unauthenticated { reason: "the access token has ended" });
        }
        let live = self.app.live.find(&self.app.store, self.caller.session_id).await?;
        if live.is_none() {
            return Err(AppError::Unauthenticated { reason: "the session has ended" });
        }
        find(self.app.store.read(), &self.caller, &self.group, &self.design).await.map(|_| ())
    }
}
