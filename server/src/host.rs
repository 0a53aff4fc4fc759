//! What the host does at the machine, beside running servers: opens the same data, does one thing, closes them.

use crate::app::AppError;
use crate::app::accounts::host::{self, HostView};
use crate::config::{Config, Database};
use crate::store::{Store, StoreError};
use std::path::PathBuf;

/// Why something was not done.
#[derive(Debug, thiserror::Error)]
pub enum HostError {
    /// There are no data.
    #[error("there is no database at `{}`: say `--data-folder`, or start the server once", path.display())]
    NoData {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// The data are of another release.
    #[error("{0}: start this release of the server once, or run `battenboard-server migrate`")]
    OtherRelease(StoreError),
    /// The database.
    #[error("the database: {0}")]
    Store(#[from] StoreError),
    /// What was asked for cannot be done.
    #[error("{0}")]
    App(#[from] AppError),
}

/// Opens the data of a server that was started before.
async fn open(config: &Config) -> Result<Store, HostError> {
    let database = config.database();
    if let Database::Embedded(path) = &database
        && !path.exists()
    {
        return Err(HostError::NoData { path: path.clone() });
    }
    let store = Store::open(database, 1).await?;
    store.refuse_other_release().await.map_err(|error| match error {
        error @ StoreError::NotMigrated { .. } => HostError::OtherRelease(error),
        error => HostError::Store(error),
    })?;
    Ok(store)
}

/// Calls `each` with all accounts in the order of their names, page by page.
///
/// # Errors
/// [`HostError`].
pub async fn accounts(config: &Config, mut each: impl FnMut(&HostView)) -> Result<(), HostError> {
    let store = open(config).await?;
    let mut after: Option<String> = None;
    loop {
        let page = host::page(&store, after.as_deref()).await?;
        page.iter().for_each(&mut each);
        match page.last() {
            Some(last) => after = Some(last.name.clone()),
            None => break,
        }
    }
    store.close().await;
    Ok(())
}

/// Suspends an account or lifts that again; false where it was so already.
///
/// # Errors
/// [`HostError`].
pub async fn suspend(config: &Config, name: &str, suspended: bool) -> Result<bool, HostError> {
    let store = open(config).await?;
    let done = host::suspend(&store, name, suspended).await;
    store.close().await;
    Ok(done?)
}

/// Makes a code that sets a new password of an account; gives it and when it ends.
///
/// # Errors
/// [`HostError`].
pub async fn reset(config: &Config, name: &str) -> Result<(String, i64), HostError> {
    let store = open(config).await?;
    let made = host::make_reset_code(&store, name).await;
    store.close().await;
    Ok(made?)
}
