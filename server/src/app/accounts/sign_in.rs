//! Signing in, and changing the password.

use super::Tokens;
use crate::app::{App, AppError, AppResult, error::Fault};
use crate::auth::passwords::Verified;
use crate::auth::{Caller, password_rules};
use crate::clock::now_micros;
use crate::store;
use std::net::IpAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};
use uuid::Uuid;

/// The one answer to an unknown name and to a wrong password.
const WRONG: AppError = AppError::Unauthenticated { reason: "name or password is wrong" };
/// Longest name that is looked up; longer ones are unknown.
pub(super) const LONGEST_NAME: usize = 64;

impl App {
    /// Opens a session with name and password.
    ///
    /// # Errors
    /// The same for an unknown name and a wrong password, after the same time; too many tries.
    pub async fn sign_in(
        self: &Arc<Self>,
        name: String,
        password: String,
        program: String,
        address: IpAddr,
    ) -> AppResult<Tokens> {
        let account_id = self.verify_password(&name, password, address).await?;
        self.start_session(account_id, program).await
    }

    /// Changes the password, ends all sessions and opens a new one.
    ///
    /// # Errors
    /// A wrong old password, a bad new one, too many tries.
    pub async fn change_password(
        self: &Arc<Self>,
        caller: &Caller,
        old: String,
        new: String,
        program: String,
        address: IpAddr,
    ) -> AppResult<Tokens> {
        if let Err(fault) = password_rules::examine(&new, &caller.account) {
            return Err(AppError::Invalid { faults: vec![Fault::of("new_password", fault.to_string())] });
        }
        let account_id = self.verify_password(&caller.account, old, address).await?;
        let hash = self.passwords.hash(new).await?;
        let app = Arc::clone(self);
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            store::accounts::put_hash(&tx, account_id, hash, now).await?;
            store::recovery::remove_resets(&tx, account_id).await?;
            store::sessions::end_all(&tx, account_id, now, "password changed").await?;
            let tokens = app.open_session(&tx, account_id, &program, now).await?;
            app.store.commit(tx).await?;
            app.live.forget(account_id);
            Ok(tokens)
        };
        self.finish(work).await
    }

    /// The account of a name and password. Takes as long for a name that is not there.
    pub(super) async fn verify_password(
        self: &Arc<Self>,
        name: &str,
        password: String,
        address: IpAddr,
    ) -> AppResult<Uuid> {
        if name.len() > LONGEST_NAME || password.len() > password_rules::MOST_BYTES || name.contains('\0') {
            return Err(WRONG);
        }
        let wait = self.throttle.wait(name, address, Instant::now());
        if wait > Duration::ZERO {
            return Err(AppError::TooMany { what: "too many tries at signing in", retry_after: wait });
        }
        let found = store::accounts::by_name(self.store.read(), name).await?;
        let found = found.filter(|(account, _)| account.suspended_at.is_none());
        let verified = self.passwords.verify(password.clone(), found.as_ref().map(|(_, hash)| hash.clone())).await?;
        let Some((account, _)) = found.filter(|_| verified != Verified::Wrong) else {
            self.throttle.failed(name, address, Instant::now());
            tracing::info!(%address, "a sign-in failed");
            return Err(WRONG);
        };
        self.throttle.succeeded(name, address, Instant::now());
        if verified == Verified::RightButOld {
            self.hash_again(account.id, password).await?;
        }
        Ok(account.id)
    }

    /// Stores a password under today's parameters.
    async fn hash_again(self: &Arc<Self>, account_id: Uuid, password: String) -> AppResult<()> {
        let hash = self.passwords.hash(password).await?;
        let app = Arc::clone(self);
        let work = async move {
            let tx = app.store.write_tx().await?;
            store::accounts::put_hash(&tx, account_id, hash, now_micros()).await?;
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await
    }
}
