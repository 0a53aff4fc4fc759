//! Reading news from the table: a page from a cursor on.

use super::cursor::{self, Places};
use super::resolve::{EventView, resolve};
use super::{VisibleStream, visible_to};
use crate::app::pages::MOST;
use crate::app::{App, AppError, AppResult, pages};
use crate::auth::Caller;
use crate::store::Connection;
use crate::store::events::{self, Event};
use std::collections::{BTreeMap, VecDeque};
use uuid::Uuid;

/// What news a caller wants.
#[derive(Clone, Debug, Default)]
pub struct NewsAsked {
    /// From here on; empty: the last ones.
    pub cursor: String,
    /// Without a cursor: from the oldest that is kept.
    pub from_oldest: bool,
    /// Most events; 0: the usual.
    pub page_size: i32,
    /// In place of the cursor: from the page before.
    pub page_token: String,
}

/// A page of news.
#[derive(Clone, Debug, Default)]
pub struct NewsPage {
    /// Oldest first.
    pub events: Vec<EventView>,
    /// For the next page; empty: this was the last.
    pub next: String,
    /// After the last event of this page.
    pub cursor: String,
}

/// Events from the table.
pub(super) struct Read {
    /// Oldest first; what may not be seen is left out.
    pub events: Vec<Event>,
    /// Whether there is more after them.
    pub more: bool,
}

impl App {
    /// A page of news of all streams the caller may see.
    ///
    /// # Errors
    /// [`AppError::Invalid`]; [`AppError::NoLongerKept`] for a cursor that is too old.
    pub async fn list_news(&self, caller: &Caller, asked: NewsAsked) -> AppResult<NewsPage> {
        let NewsAsked { cursor, from_oldest, page_size, page_token } = asked;
        let size = pages::size(page_size)?;
        if from_oldest && !cursor.is_empty() {
            return Err(AppError::invalid("from_oldest", "a cursor says where to begin: leave one of the two out"));
        }
        let (account, conn) = (caller.account_id, self.store.read());
        let streams = visible_to(conn, account).await?;
        let mut places = match (cursor.as_str(), page_token.as_str()) {
            ("", "") if from_oldest => from_the_oldest(conn, &streams).await?,
            ("", "") => return self.last_news(caller, &streams, size).await,
            (cursor, "") => self.places_of(account, &streams, "cursor", cursor).await?,
            (_, token) => self.places_of(account, &streams, "page_token", token).await?,
        };
        let Read { events, more } = self.read_on(account, &streams, &mut places, size).await?;
        let cursor = cursor::seal(&self.pages, account, &places);
        let next = if more { cursor.clone() } else { String::new() };
        Ok(NewsPage { events: resolve(conn, &events).await?, next, cursor })
    }

    /// The last events of all streams together, and the cursor of now.
    async fn last_news(&self, caller: &Caller, streams: &[VisibleStream], size: u64) -> AppResult<NewsPage> {
        let conn = self.store.read();
        let places = events::heads(conn, streams.iter().map(|stream| stream.id).collect()).await?;
        let mut newest_first: Vec<VecDeque<Event>> = Vec::new();
        for stream in streams {
            let head = places.get(&stream.id).copied().unwrap_or_default();
            if head > 0 {
                let latest = events::latest(conn, stream.id, head, size).await?;
                newest_first.push(latest.into_iter().filter(|event| stream.shows(event)).collect());
            }
        }
        let latest_front = |queues: &[VecDeque<Event>]| {
            let fronts = queues.iter().enumerate().filter_map(|(at, queue)| Some((queue.front()?, at)));
            fronts.max_by_key(|(event, at)| (event.created_at, *at)).map(|(_, at)| at)
        };
        let mut events = VecDeque::new();
        while (events.len() as u64) < size
            && let Some(at) = latest_front(&newest_first)
        {
            events.extend(newest_first[at].pop_front());
        }
        let events: Vec<Event> = events.into_iter().rev().collect();
        let cursor = cursor::seal(&self.pages, caller.account_id, &places);
        Ok(NewsPage { events: resolve(conn, &events).await?, next: String::new(), cursor })
    }

    /// Where a cursor stands in the streams that are visible now.
    pub(super) async fn places_of(
        &self,
        account: Uuid,
        streams: &[VisibleStream],
        field: &str,
        cursor: &str,
    ) -> AppResult<Places> {
        let known = cursor::open(&self.pages, account, field, cursor)?;
        self.places_in(streams, &known).await
    }

    /// Places in the streams that are visible now: kept where they are known, begun for a stream that became visible
    /// since, left out for one that is visible no more.
    pub(super) async fn places_in(&self, streams: &[VisibleStream], known: &Places) -> AppResult<Places> {
        let conn = self.store.read();
        let new: Vec<Uuid> = streams.iter().map(|stream| stream.id).filter(|id| !known.contains_key(id)).collect();
        let heads = events::heads(conn, new).await?;
        let mut places = Places::new();
        for stream in streams {
            let place = match known.get(&stream.id) {
                Some(number) => *number,
                None => {
                    let head = heads.get(&stream.id).copied().unwrap_or_default();
                    let first = match stream.since {
                        Some(since) => events::first_since(conn, stream.id, since).await?,
                        None => None,
                    };
                    first.map_or(head, |first| first - 1)
                }
            };
            places.insert(stream.id, place);
        }
        Ok(places)
    }

    /// Reads at most so many events on from some places, which move along.
    ///
    /// Streams are merged by time, but never out of the order of their numbers: a place must not jump over an event.
    ///
    /// # Errors
    /// [`AppError::NoLongerKept`].
    pub(super) async fn read_on(
        &self,
        account: Uuid,
        streams: &[VisibleStream],
        places: &mut Places,
        limit: u64,
    ) -> AppResult<Read> {
        let conn = self.store.read();
        let heads = events::heads(conn, streams.iter().map(|stream| stream.id).collect()).await?;
        let mut queues: Vec<(&VisibleStream, VecDeque<Event>)> = Vec::new();
        for stream in streams {
            let head = heads.get(&stream.id).copied().unwrap_or_default();
            let place = places.get(&stream.id).copied().unwrap_or(head);
            if head == place {
                continue;
            }
            let rows = if head > place { events::after(conn, stream.id, place, limit).await? } else { Vec::new() };
            if rows.first().is_none_or(|first| first.number != place + 1) {
                return Err(self.no_longer_kept(conn, account, stream, heads).await?);
            }
            queues.push((stream, rows.into()));
        }
        let mut events = Vec::new();
        for _ in 0..limit {
            let fronts = queues.iter().enumerate().filter_map(|(at, (_, queue))| Some((queue.front()?, at)));
            let oldest = fronts.min_by_key(|(event, at)| (event.created_at, *at)).map(|(_, at)| at);
            let Some((stream, queue)) = oldest.and_then(|at| queues.get_mut(at)) else { break };
            let Some(event) = queue.pop_front() else { break };
            places.insert(event.stream_id, event.number);
            if stream.shows(&event) {
                events.push(event);
            }
        }
        let more = heads.iter().any(|(id, head)| places.get(id).is_some_and(|place| place < head));
        Ok(Read { events, more })
    }

    async fn no_longer_kept<C: Connection>(
        &self,
        conn: &C,
        account: Uuid,
        stream: &VisibleStream,
        heads: BTreeMap<Uuid, i64>,
    ) -> AppResult<AppError> {
        let name = crate::store::groups::names(conn, vec![stream.id]).await?.remove(&stream.id);
        Ok(AppError::NoLongerKept {
            of: name.map_or_else(|| "the noticeboard".into(), |name| format!("`{name}`")),
            number: heads.get(&stream.id).copied().unwrap_or_default(),
            cursor: cursor::seal(&self.pages, account, &heads),
        })
    }
}

/// Before the oldest kept event of each stream.
async fn from_the_oldest<C: Connection>(conn: &C, streams: &[VisibleStream]) -> AppResult<Places> {
    let ids: Vec<Uuid> = streams.iter().map(|stream| stream.id).collect();
    let mut places = events::heads(conn, ids.clone()).await?;
    // Read after the heads: what is pruned in between is then missed by neither.
    for (id, first) in events::first_kept(conn, ids).await? {
        places.insert(id, first - 1);
    }
    Ok(places)
}

/// Most events of one reading for a listener.
pub(super) const READ_AT_ONCE: u64 = MOST;
