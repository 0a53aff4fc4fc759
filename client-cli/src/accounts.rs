//! Who is signed in where: one file in the command's own folder, readable by its owner alone.

use crate::error::ClientError;
use crate::file::write_private;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Accounts and tokens of all servers.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Accounts {
    /// Address of the server last signed in to.
    #[serde(default)]
    pub current: Option<String>,
    /// By address.
    #[serde(default)]
    pub servers: BTreeMap<String, SignedIn>,
    /// Fingerprints of the certificates by which servers are known, by address; kept through signing out.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub certificates: BTreeMap<String, String>,
}

/// One account on one server.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignedIn {
    /// Account name.
    pub account: String,
    /// Sent with each call.
    pub access_token: String,
    /// When it ends, microseconds of Unix time.
    pub access_expires_us: i64,
    /// For one refresh.
    pub refresh_token: String,
}

impl std::fmt::Debug for SignedIn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Tokens never reach a screen or a log.
        f.debug_struct("SignedIn").field("account", &self.account).finish_non_exhaustive()
    }
}

/// The file of accounts.
#[derive(Clone, Debug)]
pub struct AccountsFile {
    folder: PathBuf,
}

impl AccountsFile {
    /// In that folder, which is made when something is first written.
    pub fn of(config_dir: &Path) -> Self {
        Self { folder: config_dir.to_owned() }
    }

    fn path(&self) -> PathBuf {
        self.folder.join("accounts.json")
    }

    /// Everything kept; nothing where there is no file yet.
    ///
    /// # Errors
    /// [`ClientError::File`], [`ClientError::Shape`].
    pub fn read(&self) -> Result<Accounts, ClientError> {
        let path = self.path();
        match std::fs::read_to_string(&path) {
            Ok(text) => serde_json::from_str(&text)
                .map_err(|cause| ClientError::Shape { cause: format!("`{}`: {cause}", path.display()) }),
            Err(source) if source.kind() == std::io::ErrorKind::NotFound => Ok(Accounts::default()),
            Err(source) => Err(ClientError::File { path, doing: "read", source }),
        }
    }

    /// Reads, changes and writes under a lock, so that two shells never undo each other.
    ///
    /// # Errors
    /// [`ClientError::File`], [`ClientError::Shape`].
    pub fn change(&self, change: impl FnOnce(&mut Accounts)) -> Result<(), ClientError> {
        let _lock = self.lock()?;
        self.change_locked(change)
    }

    /// As [`Self::change`], by who holds the lock already.
    ///
    /// # Errors
    /// As [`Self::change`].
    pub fn change_locked(&self, change: impl FnOnce(&mut Accounts)) -> Result<(), ClientError> {
        let mut accounts = self.read()?;
        change(&mut accounts);
        let text =
            serde_json::to_string_pretty(&accounts).map_err(|cause| ClientError::Shape { cause: cause.to_string() })?;
        write_private(&self.path(), &format!("{text}\n"))
    }

    /// Holds the lock until it is dropped; waits for another run of the command that holds it.
    ///
    /// # Errors
    /// [`ClientError::File`].
    pub fn lock(&self) -> Result<std::fs::File, ClientError> {
        let path = self.folder.join("accounts.lock");
        let fault = |source| ClientError::File { path: path.clone(), doing: "written", source };
        make_private_folder(&self.folder).map_err(fault)?;
        let file = std::fs::OpenOptions::new().create(true).truncate(false).write(true).open(&path).map_err(fault)?;
        file.lock().map_err(fault)?;
        Ok(file)
    }
}

fn make_private_folder(folder: &Path) -> std::io::Result<()> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn what_is_kept_comes_back_and_tokens_are_not_shown() {
        let folder = tempfile::tempdir().unwrap();
        let file = AccountsFile::of(&folder.path().join("deep/config"));
        assert_eq!(file.read().unwrap(), Accounts::default());
        let signed_in = SignedIn {
            account: "ines".into(),
            access_token: "very-secret".into(),
            access_expires_us: 1,
            refresh_token: "more-secret".into(),
        };
        assert!(!format!("{signed_in:?}").contains("secret"));
        file.change(|accounts| {
            accounts.current = Some("http://localhost:1".into());
            accounts.servers.insert("http://localhost:1".into(), signed_in.clone());
        })
        .unwrap();
        assert_eq!(file.read().unwrap().servers["http://localhost:1"], signed_in);
    }
}
