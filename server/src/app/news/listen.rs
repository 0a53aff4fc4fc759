//! The way of one listener: what was missed from the table, then what the hub gives, until something ends it.

use super::cursor::{self, Places};
use super::hub::{End, Item, Seat, Word};
use super::read::{READ_AT_ONCE, Read};
use super::resolve::{EventView, resolve};
use super::{VisibleStream, visible_to};
use crate::app::{App, AppError, AppResult};
use crate::auth::Caller;
use crate::clock::now_micros;
use crate::store::{StoreError, events, groups};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::mpsc;

/// Messages that may lie unread before the hub's queue fills.
const UNREAD: usize = 4;
/// How often a listener to whom nothing happens is told that he still listens.
const STILL_HERE: Duration = Duration::from_secs(20);

/// One message to a listener.
#[derive(Clone, Debug)]
pub struct Heard {
    /// Oldest first.
    pub events: Vec<Arc<EventView>>,
    /// After the last of them.
    pub cursor: String,
    /// Whether all that was missed has been told.
    pub caught_up: bool,
}

/// Why a listener is served no more.
enum Over {
    /// He has gone.
    Gone,
    /// He is told why.
    Because(AppError),
}

impl From<AppError> for Over {
    fn from(error: AppError) -> Self {
        Self::Because(error)
    }
}

impl From<StoreError> for Over {
    fn from(error: StoreError) -> Self {
        Self::Because(error.into())
    }
}

struct Ear {
    app: Arc<App>,
    caller: Caller,
    seat: Seat,
    sender: mpsc::Sender<AppResult<Heard>>,
    streams: Vec<VisibleStream>,
    /// After the last message that was sent.
    places: Places,
}

impl App {
    /// Hears news live from a cursor on; without one, from now on.
    ///
    /// # Errors
    /// [`AppError::Invalid`] for a cursor that is none; [`AppError::TooMany`]. On the way: [`AppError::Unauthenticated`]
    /// when the token or the session ends, [`AppError::NotFound`] when a stream may be read no more,
    /// [`AppError::NoLongerKept`], [`AppError::Behind`], [`AppError::ShuttingDown`].
    pub async fn listen_news(
        self: &Arc<Self>,
        caller: &Caller,
        from: &str,
    ) -> AppResult<mpsc::Receiver<AppResult<Heard>>> {
        // Within its last second a token still passes the door.
        if now_micros() >= caller.token_ends_at {
            return Err(AppError::Unauthenticated { reason: "the access token has ended" });
        }
        let (account, conn) = (caller.account_id, self.store.read());
        let open = self.streams.open(account, self.limits.streams_of_account)?;
        let streams = visible_to(conn, account).await?;
        let places = match from {
            "" => events::heads(conn, streams.iter().map(|stream| stream.id).collect()).await?,
            cursor => self.places_of(account, &streams, "cursor", cursor).await?,
        };
        let seat = self.news.enter(account, caller.session_id, &streams, self.limits.listeners)?;
        let (sender, receiver) = mpsc::channel(UNREAD);
        let mut ear = Ear { app: Arc::clone(self), caller: caller.clone(), seat, sender, streams, places };
        tokio::spawn(async move {
            let _open = open;
            if let Err(Over::Because(error)) = ear.listen().await {
                ear.say_last(error).await;
            }
        });
        Ok(receiver)
    }
}

impl Ear {
    async fn listen(&mut self) -> Result<(), Over> {
        loop {
            // Mostly from the table before the hub begins to fill the queue, the little that came since after it.
            self.catch_up().await?;
            let ids = self.streams.iter().map(|stream| stream.id).collect();
            let heads = events::heads(self.app.store.read(), ids).await?;
            let queue = self.seat.tune_in(&heads);
            self.catch_up().await?;
            self.send(Vec::new(), self.places.clone(), true).await?;
            self.hear(queue).await?;
            self.streams = visible_to(self.app.store.read(), self.caller.account_id).await?;
            self.places = self.app.places_in(&self.streams, &self.places).await?;
            self.seat.change(&self.streams);
        }
    }

    async fn catch_up(&mut self) -> Result<(), Over> {
        loop {
            let mut places = self.places.clone();
            let account = self.caller.account_id;
            let Read { events, more } = self.app.read_on(account, &self.streams, &mut places, READ_AT_ONCE).await?;
            if !events.is_empty() {
                let views = resolve(self.app.store.read(), &events).await?;
                self.send(views.into_iter().map(Arc::new).collect(), places, false).await?;
            } else {
                self.places = places;
            }
            if !more {
                return Ok(());
            }
        }
    }

    /// Passes on what the hub gives, until other streams may be read.
    async fn hear(&mut self, mut queue: mpsc::Receiver<Item>) -> Result<(), Over> {
        let most = usize::try_from(READ_AT_ONCE).unwrap_or(usize::MAX);
        let mut items = Vec::new();
        loop {
            tokio::select! {
                biased;
                over = self.ended() => return Err(over),
                word = self.seat.told() => match word {
                    Word::Widened => return Ok(()),
                    Word::GoOn | Word::Over(_) => return Err(self.ended().await),
                },
                count = queue.recv_many(&mut items, most) => if count == 0 {
                    // The hub closed the queue, and its word is on the way.
                    return Err(self.ended().await);
                },
                () = tokio::time::sleep(STILL_HERE) => {}
            }
            let mut places = self.places.clone();
            let mut told = Vec::new();
            for Item { stream_id, number, event } in items.drain(..) {
                let place = places.entry(stream_id).or_default();
                // What was read from the table meanwhile comes once more.
                if number > *place {
                    *place = number;
                    told.extend(event);
                }
            }
            self.send(told, places, true).await?;
        }
    }

    /// Sends a message, however long its reader takes, unless something ends the stream meanwhile.
    async fn send(&mut self, events: Vec<Arc<EventView>>, places: Places, caught_up: bool) -> Result<(), Over> {
        let cursor = cursor::seal(&self.app.pages, self.caller.account_id, &places);
        let heard = Heard { events, cursor, caught_up };
        tokio::select! {
            biased;
            over = self.ended() => return Err(over),
            sent = self.sender.send(Ok(heard)) => sent.map_err(|_| Over::Gone)?,
        }
        self.places = places;
        Ok(())
    }

    /// Waits until something ends the stream.
    async fn ended(&self) -> Over {
        let left = self.caller.token_ends_at.saturating_sub(now_micros());
        let left = Duration::from_micros(u64::try_from(left).unwrap_or_default());
        tokio::select! {
            end = self.seat.over() => self.because(end).await,
            () = self.sender.closed() => Over::Gone,
            () = self.app.stopping.cancelled() => AppError::ShuttingDown.into(),
            () = tokio::time::sleep(left) => AppError::Unauthenticated { reason: "the access token has ended" }.into(),
        }
    }

    async fn because(&self, end: End) -> Over {
        match end {
            End::SignedOut => AppError::Unauthenticated { reason: "the session has ended" }.into(),
            End::Closed(stream) => match groups::names(self.app.store.read(), vec![stream]).await {
                Ok(mut names) => AppError::not_found("group", names.remove(&stream).unwrap_or_default()).into(),
                Err(error) => error.into(),
            },
            End::Lost => {
                let cause = "a followed stream has a hole".to_owned();
                AppError::Store(StoreError::Unavailable { cause }).into()
            }
            End::Behind => {
                let cursor = cursor::seal(&self.app.pages, self.caller.account_id, &self.places);
                AppError::Behind { cursor }.into()
            }
        }
    }

    /// Says why it is over; a reader who does not read gets until his token ends.
    async fn say_last(&self, error: AppError) {
        let left = self.caller.token_ends_at.saturating_sub(now_micros());
        let left = Duration::from_micros(u64::try_from(left).unwrap_or_default()).max(STILL_HERE);
        tokio::select! {
            // First: a server that stops says so to all who read.
            biased;
            _ = self.sender.send(Err(error)) => {}
            () = self.app.stopping.cancelled() => {}
            () = tokio::time::sleep(left) => {}
        }
    }
}
