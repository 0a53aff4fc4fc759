//! Making accounts.

use super::{Tokens, recovery};
use crate::app::names::name_faults;
use crate::app::requests::{RequestId, is_repeat};
use crate::app::{App, AppError, AppResult, error::Fault};
use crate::auth::passwords::Verified;
use crate::auth::{codes, password_rules};
use crate::clock::{new_id, now_micros};
use crate::config::SignUp;
use crate::store::{self, StoreError, WriteTx, events};
use serde::{Deserialize, Serialize};
use std::net::IpAddr;
use std::sync::{Arc, PoisonError};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// What entitles to an account.
#[derive(Clone, Debug, Default)]
pub enum Entitlement {
    /// Nothing.
    #[default]
    None,
    /// Code of an invitation.
    Invitation(String),
    /// Code that the server printed.
    FirstAccount(String),
}

/// An account wanted.
#[derive(Clone, Debug)]
pub struct NewAccount {
    /// Its name.
    pub name: String,
    /// Its password.
    pub password: String,
    /// What entitles to it.
    pub entitlement: Entitlement,
    /// What the program says of itself.
    pub program: String,
    /// Where the call comes from.
    pub address: IpAddr,
}

/// An account made.
#[derive(Clone, Debug)]
pub struct Created {
    /// Its name.
    pub name: String,
    /// When it was made.
    pub created_at: i64,
    /// Tokens of its first session.
    pub tokens: Tokens,
    /// Name of the group that the invitation entered; empty without one.
    pub group: String,
    /// Its recovery codes, shown this once.
    pub recovery_codes: Vec<String>,
}

/// How one gets an account.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SignUpMode {
    /// By an invitation's code.
    Invitation,
    /// By anybody.
    Open,
    /// The first, by the printed code.
    FirstCode,
    /// The first, directly.
    FirstDirect,
}

/// What is kept of an answer.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Kept {
    account_id: Uuid,
    group: String,
}

impl App {
    /// How one gets an account now.
    pub async fn sign_up_mode(&self) -> AppResult<SignUpMode> {
        if store::accounts::any(self.store.read()).await? {
            return Ok(if self.sign_up == SignUp::Open { SignUpMode::Open } else { SignUpMode::Invitation });
        }
        Ok(if self.on_loopback { SignUpMode::FirstDirect } else { SignUpMode::FirstCode })
    }

    /// Makes an account and signs it in.
    ///
    /// # Errors
    /// Invalid name or password; taken name; missing or wrong code; too many wrong codes.
    pub async fn create_account(self: &Arc<Self>, new: NewAccount, request: RequestId) -> AppResult<Created> {
        let mut faults = name_faults("name", &new.name, 2);
        faults.extend(request.faults());
        if let Err(fault) = password_rules::examine(&new.password, &new.name) {
            faults.push(Fault::of("password", fault.to_string()));
        }
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        if let Some(kept) = request.find::<Kept, _>(self.store.read()).await? {
            return self.created_before(new, kept).await;
        }
        let wait = self.throttle.wait("", new.address, Instant::now());
        if wait > Duration::ZERO {
            return Err(AppError::TooMany { what: "too many codes were tried", retry_after: wait });
        }
        // Before the costly hash; asked again within the transaction.
        self.refuse_without_entitlement(&new).await?;
        let hash = self.passwords.hash(new.password.clone()).await?;
        let (app, again, repeat) = (Arc::clone(self), new.clone(), request.clone());
        let done = self.finish(async move { app.write_account(&new, hash, &request).await }).await;
        match done {
            Err(error) if is_repeat(&error) => match repeat.find::<Kept, _>(self.store.read()).await? {
                Some(kept) => self.created_before(again, kept).await,
                None => Err(error),
            },
            other => other,
        }
    }

    async fn refuse_without_entitlement(&self, new: &NewAccount) -> AppResult<()> {
        let refused = match (self.sign_up_mode().await?, &new.entitlement) {
            (SignUpMode::FirstDirect | SignUpMode::Open, _) => return Ok(()),
            (SignUpMode::FirstCode, Entitlement::FirstAccount(code)) if self.is_first_code(code) => return Ok(()),
            (SignUpMode::FirstCode, _) => "the first account needs the code that the server printed at its start",
            (SignUpMode::Invitation, Entitlement::Invitation(code)) => {
                let hash = codes::code_hash(code);
                if store::invitations::is_open(self.store.read(), &hash, now_micros()).await? {
                    return Ok(());
                }
                "this invitation's code is not good (any more)"
            }
            (SignUpMode::Invitation, _) => "an account here needs the code of an invitation: ask a keeper for one",
        };
        if !matches!(new.entitlement, Entitlement::None) {
            self.throttle.failed("", new.address, Instant::now());
        }
        Err(AppError::NotAllowed { what: refused.into() })
    }

    fn is_first_code(&self, code: &str) -> bool {
        let wanted = self.first_code.lock().unwrap_or_else(PoisonError::into_inner);
        wanted.as_ref().is_some_and(|wanted| *wanted == codes::code_hash(code))
    }

    async fn write_account(&self, new: &NewAccount, hash: String, request: &RequestId) -> AppResult<Created> {
        let now = now_micros();
        let tx = self.store.write_tx().await?;
        let is_first = !store::accounts::any(&tx).await?;
        let account =
            store::accounts::Account { id: new_id(), name: new.name.clone(), created_at: now, suspended_at: None };
        let account_id = account.id;
        store::accounts::insert(&tx, account, hash).await.map_err(|error| match error {
            StoreError::Taken { .. } => AppError::AlreadyThere { what: "account", name: new.name.clone() },
            other => other.into(),
        })?;
        let entered = match &new.entitlement {
            Entitlement::Invitation(code) => Some(self.use_invitation(&tx, code, account_id, now).await?),
            Entitlement::FirstAccount(code) if is_first && (self.on_loopback || self.is_first_code(code)) => None,
            Entitlement::None if is_first && self.on_loopback => None,
            _ if self.sign_up == SignUp::Open && !is_first => None,
            _ => {
                let what = "an account here needs the code of an invitation: ask a keeper for one";
                return Err(AppError::NotAllowed { what: what.into() });
            }
        };
        let tokens = self.open_session(&tx, account_id, &new.program, now).await?;
        let recovery_codes = recovery::fresh_codes(&tx, account_id, now).await?;
        let group = entered.flatten();
        let name_of_group = group.as_ref().map(|group| group.name.clone()).unwrap_or_default();
        request.keep(&tx, &Kept { account_id, group: name_of_group.clone() }).await?;
        if let Some(group) = group {
            let news = events::News { kind: "crew", actor_id: Some(account_id), ..events::News::default() };
            events::append(&tx, group.id, events::News { subject_id: Some(account_id), ..news }, now).await?;
        }
        self.store.commit(tx).await?;
        self.first_code.lock().unwrap_or_else(PoisonError::into_inner).take();
        Ok(Created { name: new.name.clone(), created_at: now, tokens, group: name_of_group, recovery_codes })
    }

    /// Uses up an invitation for an account; gives the group it entered, if it was for one.
    async fn use_invitation(
        &self,
        tx: &WriteTx,
        code: &str,
        account_id: Uuid,
        now: i64,
    ) -> AppResult<Option<store::groups::Group>> {
        let found = store::invitations::open_for_update(tx, &codes::code_hash(code), now).await?;
        let Some(invitation) = found else {
            return Err(AppError::NotAllowed { what: "this invitation's code is not good (any more)".into() });
        };
        store::invitations::mark_used(tx, invitation.id, account_id, now).await?;
        let (Some(group_id), Some(role)) = (invitation.group_id, invitation.role) else { return Ok(None) };
        let entry = store::groups::Crew { group_id, account_id, role, joined_at: now };
        store::groups::insert_crew(tx, entry).await?;
        Ok(store::groups::by_id(tx, group_id).await?)
    }

    /// The answer to a repeat, for whoever knows the password: the account again, with tokens of a new session and fresh
    /// codes, since nobody need have seen the former.
    async fn created_before(self: &Arc<Self>, new: NewAccount, kept: Kept) -> AppResult<Created> {
        let account = store::accounts::by_id(self.store.read(), kept.account_id).await?;
        let account = account.filter(|account| account.name == new.name);
        let hash = match &account {
            Some(account) => store::accounts::hash_of(self.store.read(), account.id).await?,
            None => None,
        };
        let verified = self.passwords.verify(new.password, hash).await?;
        let Some(account) = account.filter(|_| verified != Verified::Wrong) else {
            return Err(AppError::invalid("request_id", "this request id was used for another request"));
        };
        let tokens = self.start_session(account.id, new.program).await?;
        let recovery_codes = self.write_fresh_codes(account.id).await?;
        Ok(Created { name: account.name, created_at: account.created_at, tokens, group: kept.group, recovery_codes })
    }
}
