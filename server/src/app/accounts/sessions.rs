//! Sessions: opening, refreshing, listing, ending.

use super::Tokens;
use crate::app::{App, AppError, AppResult};
use crate::auth::{Caller, codes};
use crate::clock::{SECOND, new_id, now_micros};
use crate::store::{self, StoreError, WriteTx, sessions};
use std::sync::Arc;
use uuid::Uuid;

/// Longest text a program may say of itself, bytes.
const PROGRAM_BYTES: usize = 100;
/// Live sessions of one account; the oldest ends when there are more.
const SESSIONS: u64 = 100;
/// Siblings that a used token may still get while it is young.
const SIBLINGS: i64 = 1;

/// The one answer to an unknown, expired or used refresh token.
const NOT_GOOD: AppError = AppError::Unauthenticated { reason: "the refresh token is not good: sign in again" };

/// A session as its owner sees it.
#[derive(Clone, Debug)]
pub struct SessionView {
    /// Its id.
    pub id: Uuid,
    /// What the program said of itself.
    pub program: String,
    /// When it was opened.
    pub created_at: i64,
    /// When it was last refreshed.
    pub refreshed_at: i64,
    /// When it ends if it is not refreshed.
    pub ends_at: i64,
}

/// A page of sessions.
#[derive(Clone, Debug)]
pub struct SessionPage {
    /// Newest first.
    pub sessions: Vec<SessionView>,
    /// Token of the next page.
    pub next: String,
}

impl App {
    /// Opens a session of an account in a transaction of its own.
    pub(super) async fn start_session(self: &Arc<Self>, account_id: Uuid, program: String) -> AppResult<Tokens> {
        let app = Arc::clone(self);
        let work = async move {
            let tx = app.store.write_tx().await?;
            let tokens = app.open_session(&tx, account_id, &program, now_micros()).await?;
            app.store.commit(tx).await?;
            Ok(tokens)
        };
        self.finish(work).await
    }

    /// Opens a session of an account within a transaction.
    pub(super) async fn open_session(
        &self,
        tx: &WriteTx,
        account_id: Uuid,
        program: &str,
        now: i64,
    ) -> AppResult<Tokens> {
        let label: String = program.chars().filter(|c| !c.is_control()).take(PROGRAM_BYTES / 4).collect();
        let session = sessions::Session {
            id: new_id(),
            account_id,
            label,
            created_at: now,
            refreshed_at: now,
            ended_at: None,
            end_reason: None,
        };
        let (tokens, row) = self.new_tokens(account_id, session.id, now)?;
        sessions::insert(tx, session, row).await?;
        sessions::end_beyond(tx, account_id, SESSIONS, now).await?;
        Ok(tokens)
    }

    fn new_tokens(&self, account_id: Uuid, session_id: Uuid, now: i64) -> AppResult<(Tokens, sessions::RefreshToken)> {
        let refresh = codes::refresh_token()?;
        let refresh_ends_at = now + self.lifetimes.refresh_s * SECOND;
        let row = sessions::RefreshToken {
            hash: codes::hash(&refresh),
            session_id,
            issued_at: now,
            expires_at: refresh_ends_at,
            used_at: None,
            siblings: 0,
        };
        let (access, access_ends_at) = self.tokens.sign(account_id, session_id, now, self.lifetimes.access_s)?;
        Ok((Tokens { access, access_ends_at, refresh, refresh_ends_at }, row))
    }

    /// New tokens for a refresh token, which is then used up.
    ///
    /// A used token is taken once more while it is young (its answer was lost, or two shells were quick); any other
    /// use of a used token means that somebody has a copy, and ends the session.
    ///
    /// # Errors
    /// [`AppError::Unauthenticated`].
    pub async fn refresh_session(self: &Arc<Self>, token: String) -> AppResult<Tokens> {
        let app = Arc::clone(self);
        self.finish(async move { app.rotate(&token).await }).await
    }

    async fn rotate(&self, token: &str) -> AppResult<Tokens> {
        let (now, hash) = (now_micros(), codes::hash(token));
        let tx = self.store.write_tx().await?;
        let Some(known) = sessions::token_for_update(&tx, &hash).await? else { return Err(NOT_GOOD) };
        let Some((session, _)) = sessions::live(&tx, known.session_id).await? else { return Err(NOT_GOOD) };
        if known.expires_at <= now {
            return Err(NOT_GOOD);
        }
        let grace = self.lifetimes.predecessor_grace_s * SECOND;
        let siblings = match known.used_at {
            None => 0,
            Some(used_at) if now - used_at <= grace && known.siblings < SIBLINGS => known.siblings + 1,
            Some(_) => {
                sessions::end(&tx, session.account_id, session.id, now, "refresh token used again").await?;
                self.store.commit(tx).await?;
                self.live.forget(session.account_id);
                tracing::warn!(session = %session.id, "a used refresh token came again: its session was ended");
                return Err(NOT_GOOD);
            }
        };
        let (tokens, row) = self.new_tokens(session.account_id, session.id, now)?;
        sessions::mark_used(&tx, &hash, known.used_at.unwrap_or(now), siblings).await?;
        sessions::insert_token(&tx, row).await?;
        sessions::touch(&tx, session.id, now).await?;
        self.store.commit(tx).await?;
        Ok(tokens)
    }

    /// Ends the calling session.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn sign_out(self: &Arc<Self>, caller: &Caller) -> AppResult<()> {
        self.end_one(caller.account_id, caller.session_id, "signed out").await.map(|_| ())
    }

    /// Ends one of the caller's sessions.
    ///
    /// # Errors
    /// [`AppError::NotFound`] for one that has ended or is another's.
    pub async fn end_session(self: &Arc<Self>, caller: &Caller, session_id: &str) -> AppResult<()> {
        let unknown = || AppError::not_found("session", session_id.chars().take(40).collect::<String>());
        let id = Uuid::try_parse(session_id).map_err(|_| unknown())?;
        let ended = self.end_one(caller.account_id, id, "ended by its owner").await?;
        if ended { Ok(()) } else { Err(unknown()) }
    }

    async fn end_one(self: &Arc<Self>, account_id: Uuid, id: Uuid, reason: &'static str) -> AppResult<bool> {
        let app = Arc::clone(self);
        let work = async move {
            let tx = app.store.write_tx().await?;
            let ended = sessions::end(&tx, account_id, id, now_micros(), reason).await?;
            app.store.commit(tx).await?;
            app.live.forget(account_id);
            Ok(ended)
        };
        self.finish(work).await
    }

    /// The caller's live sessions, newest first.
    ///
    /// # Errors
    /// [`AppError::Invalid`] for a page token of another list.
    pub async fn list_sessions(&self, caller: &Caller, size: i32, token: &str) -> AppResult<SessionPage> {
        let page = self.pages.read(format!("sessions of {}", caller.account_id), size, token)?;
        let before = page.after.as_deref().and_then(|after| Uuid::try_parse(after).ok());
        let mut rows = sessions::page(self.store.read(), caller.account_id, before, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |row| row.id.to_string());
        let ends = sessions::expiries(self.store.read(), rows.iter().map(|row| row.id).collect()).await?;
        let now = now_micros();
        let view = |row: sessions::Session| {
            let ends_at = ends.get(&row.id).copied().unwrap_or(row.refreshed_at);
            SessionView {
                id: row.id,
                program: row.label,
                created_at: row.created_at,
                refreshed_at: row.refreshed_at,
                ends_at,
            }
        };
        let sessions = rows.into_iter().map(view).filter(|session| session.ends_at > now).collect();
        Ok(SessionPage { sessions, next })
    }

    /// When an account was made.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn account_made_at(&self, account_id: Uuid) -> AppResult<i64> {
        let account = store::accounts::by_id(self.store.read(), account_id).await?;
        let gone = StoreError::Unreadable { what: "account", cause: "a signed-in account has no row".into() };
        Ok(account.ok_or(gone)?.created_at)
    }
}
