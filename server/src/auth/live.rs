//! Which sessions are live, remembered for at most two seconds so that not every call asks the database.

use crate::store::{Store, StoreResult, sessions};
use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// How long an answer is believed; a session that was ended on another server is refused within this time.
const BELIEVED: Duration = Duration::from_secs(2);
/// Most answers kept.
const MOST: usize = 4096;

/// A session and its account, live as of a moment ago.
#[derive(Clone, Debug)]
pub struct LiveSession {
    /// Its account.
    pub account_id: Uuid,
    /// Name of the account.
    pub account: String,
}

/// Answers of late.
#[derive(Debug, Default)]
pub struct LiveSessions {
    answers: Mutex<BTreeMap<Uuid, (Instant, Option<LiveSession>)>>,
}

impl LiveSessions {
    /// The account of a session, or `None` if it has ended or never was.
    ///
    /// # Errors
    /// What the database says.
    pub async fn find(&self, store: &Store, session_id: Uuid) -> StoreResult<Option<LiveSession>> {
        if let Some(answer) = self.believed(session_id) {
            return Ok(answer);
        }
        // The time is taken before the question: an answer is never believed longer than two seconds after it was true.
        let asked_at = Instant::now();
        let found = sessions::live(store.read(), session_id).await?;
        let answer = found.map(|(session, account)| LiveSession { account_id: session.account_id, account });
        let mut answers = self.answers.lock().unwrap_or_else(PoisonError::into_inner);
        if answers.len() >= MOST {
            answers.retain(|_, (at, _)| at.elapsed() < BELIEVED);
        }
        if answers.len() < MOST {
            answers.insert(session_id, (asked_at, answer.clone()));
        }
        Ok(answer)
    }

    fn believed(&self, session_id: Uuid) -> Option<Option<LiveSession>> {
        let answers = self.answers.lock().unwrap_or_else(PoisonError::into_inner);
        answers.get(&session_id).filter(|(at, _)| at.elapsed() < BELIEVED).map(|(_, answer)| answer.clone())
    }

    /// Forgets every answer about an account; called when its sessions were ended here.
    pub fn forget(&self, account_id: Uuid) {
        let mut answers = self.answers.lock().unwrap_or_else(PoisonError::into_inner);
        answers.retain(|_, (_, answer)| answer.as_ref().is_some_and(|live| live.account_id != account_id));
    }
}
