//! Repeats of a request are recognised by the id its caller made, and get the answer that was given.

use super::error::{AppError, AppResult, Fault};
use crate::clock::now_micros;
use crate::store::{self, Connection, StoreError};
use serde::Serialize;
use serde::de::DeserializeOwned;
use uuid::Uuid;

/// Longest request id, bytes.
const LONGEST: usize = 64;

/// A request that may be a repeat.
#[derive(Clone, Debug, Default)]
pub struct RequestId {
    /// Whose request; an account, or nil for callers without one.
    pub scope: Uuid,
    /// Method, as on the wire.
    pub method: &'static str,
    /// Made by the caller; empty: never a repeat.
    pub id: String,
    /// SHA-256 of what was asked, without the id.
    pub digest: Vec<u8>,
}

impl RequestId {
    /// Faults of the id itself.
    pub fn faults(&self) -> Vec<Fault> {
        super::names::text_faults("request_id", &self.id, LONGEST, false)
    }

    /// The answer that was given to this request.
    ///
    /// # Errors
    /// [`AppError::Invalid`] where the id was used for something else.
    pub async fn find<T: DeserializeOwned, C: Connection>(&self, conn: &C) -> AppResult<Option<T>> {
        if self.id.is_empty() {
            return Ok(None);
        }
        let Some(kept) = store::requests::find(conn, self.scope, &self.id).await? else { return Ok(None) };
        if kept.method != self.method || kept.digest != self.digest {
            return Err(AppError::invalid("request_id", "this request id was used for another request"));
        }
        serde_json::from_slice(&kept.answer).map(Some).map_err(AppError::internal)
    }

    /// Keeps an answer within the transaction that did what was asked.
    ///
    /// # Errors
    /// [`StoreError::Taken`] when the same request is being answered elsewhere at this moment; see [`is_repeat`].
    pub async fn keep<T: Serialize, C: Connection>(&self, conn: &C, answer: &T) -> AppResult<()> {
        if self.id.is_empty() {
            return Ok(());
        }
        let row = store::requests::Request {
            scope: self.scope,
            request_id: self.id.clone(),
            method: self.method.to_owned(),
            digest: self.digest.clone(),
            answer: serde_json::to_vec(answer).map_err(AppError::internal)?,
            created_at: now_micros(),
        };
        Ok(store::requests::insert(conn, row).await?)
    }
}

/// True when a transaction failed because the same request was answered meanwhile: done again, it finds that answer.
pub fn is_repeat(error: &AppError) -> bool {
    matches!(error, AppError::Store(StoreError::Taken { constraint }) if constraint.contains("requests"))
}
