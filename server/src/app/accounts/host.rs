//! What the host does with accounts, at the machine and beside running servers: these see it within two seconds.

use crate::app::{AppError, AppResult};
use crate::auth::codes;
use crate::clock::{SECOND, now_micros};
use crate::store::{self, Store, accounts, sessions};
use std::collections::BTreeMap;

/// How long a reset code is good.
const RESET_S: i64 = 15 * 60;
/// Accounts read at a time.
const PAGE: u64 = 200;

/// An account as the host sees it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HostView {
    /// Its name.
    pub name: String,
    /// When it was made.
    pub created_at: i64,
    /// Since when it is suspended.
    pub suspended_at: Option<i64>,
    /// Open sessions.
    pub sessions: u64,
}

/// The accounts after a name, in the order of their names; fewer than asked for at the end.
///
/// # Errors
/// Those of the store.
pub async fn page(store: &Store, after: Option<&str>) -> AppResult<Vec<HostView>> {
    let rows = accounts::page(store.read(), after, PAGE).await?;
    let open: BTreeMap<_, _> = sessions::open_counts(store.read(), rows.iter().map(|row| row.id).collect()).await?;
    let view = |row: accounts::Account| HostView {
        sessions: open.get(&row.id).and_then(|count| u64::try_from(*count).ok()).unwrap_or_default(),
        name: row.name,
        created_at: row.created_at,
        suspended_at: row.suspended_at,
    };
    Ok(rows.into_iter().map(view).collect())
}

/// Suspends an account and ends its sessions, or lifts that again; false where it was so already.
///
/// # Errors
/// [`AppError::NotFound`].
pub async fn suspend(store: &Store, name: &str, suspended: bool) -> AppResult<bool> {
    let now = now_micros();
    let tx = store.write_tx().await?;
    let (account, _) = accounts::by_name(&tx, name).await?.ok_or_else(|| AppError::not_found("account", name))?;
    if account.suspended_at.is_some() == suspended {
        return Ok(false);
    }
    accounts::put_suspended(&tx, account.id, suspended.then_some(now)).await?;
    if suspended {
        sessions::end_all(&tx, account.id, now, "suspended by the host").await?;
    }
    store.commit(tx).await?;
    Ok(true)
}

/// Makes a code that sets a new password, good once and for 15 minutes, in place of one made before; gives it and when
/// it ends.
///
/// # Errors
/// [`AppError::NotFound`]; [`AppError::WrongState`] for a suspended account, which the code would not let in.
pub async fn make_reset_code(store: &Store, name: &str) -> AppResult<(String, i64)> {
    let now = now_micros();
    let (code, ends_at) = (codes::one_time_code()?, now + RESET_S * SECOND);
    let tx = store.write_tx().await?;
    let (account, _) = accounts::by_name(&tx, name).await?.ok_or_else(|| AppError::not_found("account", name))?;
    if account.suspended_at.is_some() {
        let what = format!("`{name}` is suspended: `battenboard-server suspend {name} --lift` comes first");
        return Err(AppError::WrongState { what, reason: "SUSPENDED" });
    }
    store::recovery::remove_resets(&tx, account.id).await?;
    store::recovery::insert(&tx, account.id, vec![codes::code_hash(&code)], Some(ends_at), now).await?;
    store.commit(tx).await?;
    Ok((code, ends_at))
}
