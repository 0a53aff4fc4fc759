//! Getting back in without the password: the ten recovery codes of an account, and the reset code of the host.

use super::Tokens;
use super::sign_in::LONGEST_NAME;
use crate::app::{App, AppError, AppResult, error::Fault};
use crate::auth::{Caller, codes, password_rules};
use crate::clock::now_micros;
use crate::store::{self, WriteTx};
use std::net::IpAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};
use uuid::Uuid;

/// Recovery codes of an account.
pub const RECOVERY_CODES: usize = 10;
/// Longest code that is looked up, bytes; longer ones are wrong.
const LONGEST_CODE: usize = 100;
/// The one answer to an unknown name and to a wrong, used or ended code.
const WRONG: AppError = AppError::Unauthenticated { reason: "name or code is wrong" };

/// What somebody asks who has lost the password.
#[derive(Clone, Debug)]
pub struct Recovery {
    /// Name of the account.
    pub name: String,
    /// A recovery code or a reset code.
    pub code: String,
    /// The password wanted.
    pub new_password: String,
    /// What the program says of itself.
    pub program: String,
    /// Where the call comes from.
    pub address: IpAddr,
}

/// Ten fresh codes of an account in place of those it has; they are known here and nowhere else.
pub(super) async fn fresh_codes(tx: &WriteTx, account_id: Uuid, now: i64) -> AppResult<Vec<String>> {
    let fresh = (0..RECOVERY_CODES).map(|_| codes::one_time_code()).collect::<Result<Vec<_>, _>>()?;
    store::recovery::remove_lasting(tx, account_id).await?;
    let hashes = fresh.iter().map(|code| codes::code_hash(code)).collect();
    store::recovery::insert(tx, account_id, hashes, None, now).await?;
    Ok(fresh)
}

impl App {
    /// Makes ten fresh recovery codes in place of those the caller has.
    ///
    /// # Errors
    /// A wrong password, too many tries.
    pub async fn renew_recovery_codes(
        self: &Arc<Self>,
        caller: &Caller,
        password: String,
        address: IpAddr,
    ) -> AppResult<Vec<String>> {
        let account_id = self.verify_password(&caller.account, password, address).await?;
        self.write_fresh_codes(account_id).await
    }

    /// Ten fresh codes of an account in a transaction of their own.
    pub(super) async fn write_fresh_codes(self: &Arc<Self>, account_id: Uuid) -> AppResult<Vec<String>> {
        let app = Arc::clone(self);
        let work = async move {
            let tx = app.store.write_tx().await?;
            let fresh = fresh_codes(&tx, account_id, now_micros()).await?;
            app.store.commit(tx).await?;
            Ok(fresh)
        };
        self.finish(work).await
    }

    /// How many recovery codes an account has left.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn recovery_codes_left(&self, account_id: Uuid) -> AppResult<u64> {
        Ok(store::recovery::count_left(self.store.read(), account_id).await?)
    }

    /// Sets a new password with a code, ends all sessions and opens a new one; gives its tokens and how many codes are
    /// left.
    ///
    /// # Errors
    /// The same for an unknown name and a wrong code, after the same time; a bad new password; too many tries, counted
    /// together with those at signing in.
    pub async fn recover_account(self: &Arc<Self>, asked: Recovery) -> AppResult<(Tokens, u64)> {
        let Recovery { name, code, new_password, program, address } = asked;
        if let Err(fault) = password_rules::examine(&new_password, &name) {
            return Err(AppError::Invalid { faults: vec![Fault::of("new_password", fault.to_string())] });
        }
        if name.len() > LONGEST_NAME || name.contains('\0') || code.len() > LONGEST_CODE {
            return Err(WRONG);
        }
        let wait = self.throttle.wait(&name, address, Instant::now());
        if wait > Duration::ZERO {
            return Err(AppError::TooMany { what: "too many tries at getting back in", retry_after: wait });
        }
        // Before anything is looked up: the answer takes as long whatever there is to find.
        let hash = self.passwords.hash(new_password).await?;
        let Some(account_id) = self.account_of_code(&name, &code).await? else {
            self.throttle.failed(&name, address, Instant::now());
            tracing::info!(%address, "a code to get back in was wrong");
            return Err(WRONG);
        };
        let app = Arc::clone(self);
        let done = self.finish(async move { app.write_recovered(account_id, &code, hash, &program).await }).await?;
        self.throttle.succeeded(&name, address, Instant::now());
        Ok(done)
    }

    /// The account of a name, where it has this code and is not suspended.
    async fn account_of_code(&self, name: &str, code: &str) -> AppResult<Option<Uuid>> {
        let found = store::accounts::by_name(self.store.read(), name).await?;
        let account_id = found.filter(|(account, _)| account.suspended_at.is_none()).map(|(account, _)| account.id);
        // Where there is no account the same question is asked of none.
        let asked = account_id.unwrap_or_else(Uuid::nil);
        let good = store::recovery::is_good(self.store.read(), asked, &codes::code_hash(code), now_micros()).await?;
        Ok(account_id.filter(|_| good))
    }

    async fn write_recovered(
        &self,
        account_id: Uuid,
        code: &str,
        hash: String,
        program: &str,
    ) -> AppResult<(Tokens, u64)> {
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        if !store::recovery::take(&tx, account_id, &codes::code_hash(code), now).await? {
            return Err(WRONG);
        }
        store::accounts::put_hash(&tx, account_id, hash, now).await?;
        store::recovery::remove_resets(&tx, account_id).await?;
        store::sessions::end_all(&tx, account_id, now, "password set with a code").await?;
        let tokens = self.open_session(&tx, account_id, program, now).await?;
        let left = store::recovery::count_left(&tx, account_id).await?;
        self.store.commit(tx).await?;
        self.live.forget(account_id);
        Ok((tokens, left))
    }
}
