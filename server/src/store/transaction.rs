//! A writing transaction. It remembers the streams it wrote events to, so that the commit can tell their readers without
//! any caller having to think of it.

use sea_orm::prelude::async_trait::async_trait;
use sea_orm::{ConnectionTrait, DatabaseTransaction, DbBackend, DbErr, ExecResult, QueryResult, Statement};
use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};
use uuid::Uuid;

/// A writing transaction; dropped without [`Store::commit`](super::Store::commit) it is rolled back.
#[derive(Debug)]
pub struct WriteTx {
    inner: DatabaseTransaction,
    streams: Mutex<BTreeSet<Uuid>>,
}

impl WriteTx {
    pub(super) fn new(inner: DatabaseTransaction) -> Self {
        Self { inner, streams: Mutex::default() }
    }

    /// Notes that an event was appended to a stream.
    pub(super) fn note_stream(&self, id: Uuid) {
        let mut streams = self.streams.lock().unwrap_or_else(PoisonError::into_inner);
        // Two transactions that lock two streams each in their own order would wait for each other.
        debug_assert!(streams.last().is_none_or(|last| *last <= id), "streams are locked in the order of their ids");
        streams.insert(id);
    }

    /// Commits; gives the streams that were written to, whatever became of the commit.
    pub(super) async fn commit(self) -> (BTreeSet<Uuid>, Result<(), DbErr>) {
        let streams = self.streams.into_inner().unwrap_or_else(PoisonError::into_inner);
        (streams, self.inner.commit().await)
    }
}

#[async_trait]
impl ConnectionTrait for WriteTx {
    fn get_database_backend(&self) -> DbBackend {
        self.inner.get_database_backend()
    }

    async fn execute_raw(&self, statement: Statement) -> Result<ExecResult, DbErr> {
        self.inner.execute_raw(statement).await
    }

    async fn execute_unprepared(&self, sql: &str) -> Result<ExecResult, DbErr> {
        self.inner.execute_unprepared(sql).await
    }

    async fn query_one_raw(&self, statement: Statement) -> Result<Option<QueryResult>, DbErr> {
        self.inner.query_one_raw(statement).await
    }

    async fn query_all_raw(&self, statement: Statement) -> Result<Vec<QueryResult>, DbErr> {
        self.inner.query_all_raw(statement).await
    }
}
