//! Keys that sign access tokens.
//!
//! Each is a file `<key id>.key` (mode 0600) in the keys folder; the file `signing` names the one that signs. They are
//! files and not rows, so that whoever reads the database or a backup of it can forge nothing. Servers that share one
//! PostgreSQL are given the same folder. Running servers read the folder again every few seconds ([`READ_AGAIN`]), so a
//! key is rotated without a restart: add one, wait until all servers have read it, promote it, wait until the last token
//! of the former has ended, retire that. `battenboard-server keys` does each step and keeps the order.

use super::codes::{NoRandomness, hex, random_bytes, unhex};
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// How often a running server looks whether the keys have changed.
pub const READ_AGAIN: Duration = Duration::from_secs(2);
/// How long after its making a key may be promoted: all servers have read it by then, on a folder that is shared slowly
/// too.
pub const KNOWN_AFTER: Duration = Duration::from_secs(60);

/// Length of a key.
const KEY_BYTES: usize = 32;
/// Name of the file that says which key signs.
const SIGNING: &str = "signing";

/// The keys of a server.
#[derive(Clone, PartialEq, Eq)]
pub struct Keys {
    /// Id of the key that signs.
    pub signing: String,
    /// All keys whose tokens are taken, by id.
    pub by_id: BTreeMap<String, Vec<u8>>,
}

/// Why the keys cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum KeysError {
    /// A file could not be read or written.
    #[error("`{}`: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A file is no key.
    #[error("`{}` is not a key: 64 hexadecimal digits are wanted", path.display())]
    NotAKey {
        /// Which.
        path: PathBuf,
    },
    /// A key is readable by others.
    #[error("`{}` can be read by others: make it readable by the server's user alone (mode 0600)", path.display())]
    Exposed {
        /// Which.
        path: PathBuf,
    },
    /// The signing key is missing.
    #[error("`{}` names key `{id}`, which is not there", path.display())]
    Missing {
        /// The file that names it.
        path: PathBuf,
        /// Its id.
        id: String,
    },
    /// No random numbers.
    #[error(transparent)]
    NoRandomness(#[from] NoRandomness),
    /// There is no key of that id.
    #[error("there is no key `{id}`: `battenboard-server keys` lists them")]
    Unknown {
        /// As asked.
        id: String,
    },
    /// The key that signs cannot be retired.
    #[error("key `{id}` signs: promote another before you retire it")]
    Signs {
        /// Its id.
        id: String,
    },
    /// Some server may not know it yet, or some token may still need it.
    #[error("{what}: do it again in {} s, or say `--now`", .wait.as_secs().max(1))]
    TooEarly {
        /// What would go wrong.
        what: &'static str,
        /// How long to wait.
        wait: Duration,
    },
}

/// A key as its host sees it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyFacts {
    /// Its id.
    pub id: String,
    /// When its file was made, UTC microseconds.
    pub made_at: i64,
    /// Whether it signs; the others are only read.
    pub signs: bool,
}

impl Keys {
    /// Reads the keys of a folder; makes the folder and a first key where there is none.
    ///
    /// # Errors
    /// [`KeysError`].
    pub fn open(folder: &Path) -> Result<Self, KeysError> {
        let signing_file = folder.join(SIGNING);
        if !signing_file.exists() {
            make_first(folder, &signing_file)?;
        }
        let signing = read(&signing_file)?.trim().to_owned();
        let by_id = read_all(folder)?;
        if !by_id.contains_key(&signing) {
            return Err(KeysError::Missing { path: signing_file, id: signing });
        }
        Ok(Self { signing, by_id })
    }

    /// The keys of a folder with what the host wants to know of them, oldest first.
    ///
    /// # Errors
    /// [`KeysError`].
    pub fn list(folder: &Path) -> Result<Vec<KeyFacts>, KeysError> {
        let keys = Self::open(folder)?;
        let facts = |id: &String| {
            let since = age_base(&folder.join(format!("{id}.key")))?.duration_since(SystemTime::UNIX_EPOCH);
            let made_at = i64::try_from(since.unwrap_or_default().as_micros()).unwrap_or(i64::MAX);
            Ok(KeyFacts { id: id.clone(), made_at, signs: *id == keys.signing })
        };
        let mut listed = keys.by_id.keys().map(facts).collect::<Result<Vec<_>, KeysError>>()?;
        listed.sort_by(|a, b| (a.made_at, &a.id).cmp(&(b.made_at, &b.id)));
        Ok(listed)
    }

    /// Makes another key, which is read and does not sign yet; gives its id.
    ///
    /// # Errors
    /// [`KeysError`].
    pub fn add(folder: &Path) -> Result<String, KeysError> {
        Self::open(folder)?;
        make_key(folder)
    }

    /// Lets another key sign from now on. The one before is still read.
    ///
    /// # Errors
    /// [`KeysError::Unknown`]; [`KeysError::TooEarly`] where some server may not have read it yet, unless `now` is said.
    pub fn promote(folder: &Path, id: &str, now: bool) -> Result<(), KeysError> {
        let keys = Self::open(folder)?;
        if !keys.by_id.contains_key(id) {
            return Err(KeysError::Unknown { id: id.to_owned() });
        }
        let what = "some server may not have read this key yet and would refuse its tokens";
        wait_for(&folder.join(format!("{id}.key")), KNOWN_AFTER, what, now)?;
        if keys.signing == id {
            return Ok(());
        }
        write_private(&folder.join(SIGNING), id)
    }

    /// Takes a key out: its tokens are refused from then on. `lifetime` is that of access tokens.
    ///
    /// # Errors
    /// [`KeysError::Unknown`]; [`KeysError::Signs`]; [`KeysError::TooEarly`] where a token of it may still be good,
    /// unless `now` is said.
    pub fn retire(folder: &Path, id: &str, lifetime: Duration, now: bool) -> Result<(), KeysError> {
        let keys = Self::open(folder)?;
        if keys.signing == id {
            return Err(KeysError::Signs { id: id.to_owned() });
        }
        if !keys.by_id.contains_key(id) {
            return Err(KeysError::Unknown { id: id.to_owned() });
        }
        // The last token of a former key was signed when the next was promoted, or a little later by a slow server.
        let what = "a token of this key may still be good and whoever holds it would have to refresh";
        wait_for(&folder.join(SIGNING), lifetime + KNOWN_AFTER, what, now)?;
        let path = folder.join(format!("{id}.key"));
        fs::remove_file(&path).map_err(|source| KeysError::File { path, source })
    }
}

/// When a file was written.
fn age_base(path: &Path) -> Result<SystemTime, KeysError> {
    let written = fs::metadata(path).and_then(|facts| facts.modified());
    written.map_err(|source| KeysError::File { path: path.to_owned(), source })
}

/// Refuses what needs a file to be older than it is.
fn wait_for(path: &Path, least: Duration, what: &'static str, now: bool) -> Result<(), KeysError> {
    let age = age_base(path)?.elapsed().unwrap_or_default();
    match least.checked_sub(age).filter(|wait| !wait.is_zero() && !now) {
        Some(wait) => Err(KeysError::TooEarly { what, wait }),
        None => Ok(()),
    }
}

fn make_first(folder: &Path, signing_file: &Path) -> Result<(), KeysError> {
    make_private_folder(folder)?;
    write_private(signing_file, &make_key(folder)?)
}

fn make_key(folder: &Path) -> Result<String, KeysError> {
    let id = crate::clock::new_id().simple().to_string();
    write_private(&folder.join(format!("{id}.key")), &hex(&random_bytes::<KEY_BYTES>()?))?;
    Ok(id)
}

fn read_all(folder: &Path) -> Result<BTreeMap<String, Vec<u8>>, KeysError> {
    let entries = fs::read_dir(folder).map_err(|source| KeysError::File { path: folder.to_owned(), source })?;
    let mut by_id = BTreeMap::new();
    for entry in entries {
        let path = entry.map_err(|source| KeysError::File { path: folder.to_owned(), source })?.path();
        if path.extension().is_none_or(|extension| extension != "key") {
            continue;
        }
        refuse_exposed(&path)?;
        let Some(id) = path.file_stem().and_then(|stem| stem.to_str()) else { continue };
        let key = unhex(read(&path)?.trim()).filter(|key| key.len() == KEY_BYTES);
        by_id.insert(id.to_owned(), key.ok_or_else(|| KeysError::NotAKey { path: path.clone() })?);
    }
    Ok(by_id)
}

fn read(path: &Path) -> Result<String, KeysError> {
    fs::read_to_string(path).map_err(|source| KeysError::File { path: path.to_owned(), source })
}

/// Makes a folder that only the server's user can enter.
///
/// # Errors
/// [`KeysError::File`].
pub fn make_private_folder(folder: &Path) -> Result<(), KeysError> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(|source| KeysError::File { path: folder.to_owned(), source })
}

/// Writes a file that only the server's user can read, whole or not at all: a server may read it at any moment.
///
/// # Errors
/// [`KeysError::File`].
pub fn write_private(path: &Path, text: &str) -> Result<(), KeysError> {
    let beside = path.with_extension("new");
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let written = || {
        // What an earlier, interrupted run left.
        match fs::remove_file(&beside) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
        let mut file = options.open(&beside)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        fs::rename(&beside, path)?;
        sync_folder(path)
    };
    written().map_err(|source| KeysError::File { path: path.to_owned(), source })
}

/// Makes the folder's entry of a file durable; where folders cannot be opened the system does so by itself.
fn sync_folder(path: &Path) -> io::Result<()> {
    match path.parent() {
        Some(folder) if cfg!(unix) => fs::File::open(folder)?.sync_all(),
        _ => Ok(()),
    }
}

/// Refuses a secret file that others can read.
///
/// # Errors
/// [`KeysError::Exposed`], [`KeysError::File`].
#[cfg(unix)]
pub fn refuse_exposed(path: &Path) -> Result<(), KeysError> {
    use std::os::unix::fs::PermissionsExt;
    let facts = fs::metadata(path).map_err(|source| KeysError::File { path: path.to_owned(), source })?;
    if facts.permissions().mode() & 0o077 == 0 { Ok(()) } else { Err(KeysError::Exposed { path: path.to_owned() }) }
}

/// Elsewhere than on Unix the folder's own protection has to do.
///
/// # Errors
/// None.
#[cfg(not(unix))]
pub fn refuse_exposed(_: &Path) -> Result<(), KeysError> {
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    const LIFETIME: Duration = Duration::from_secs(600);

    fn fresh(name: &str) -> PathBuf {
        std::env::temp_dir().join(format!("battenboard-keys-{name}-{}", crate::clock::new_id().simple()))
    }

    /// Makes a file look so much older.
    fn age(path: &Path, by: Duration) {
        let file = fs::OpenOptions::new().write(true).open(path).unwrap();
        file.set_modified(SystemTime::now() - by).unwrap();
    }

    #[test]
    fn a_key_is_added_then_promoted_then_the_former_is_retired() {
        let folder = fresh("rotated");
        let first = Keys::open(&folder).unwrap().signing;
        let second = Keys::add(&folder).unwrap();
        let added = Keys::open(&folder).unwrap();
        assert_eq!((added.signing.as_str(), added.by_id.len()), (first.as_str(), 2), "an added key signs nothing");
        assert!(matches!(Keys::promote(&folder, &second, false), Err(KeysError::TooEarly { .. })));
        age(&folder.join(format!("{second}.key")), KNOWN_AFTER);
        Keys::promote(&folder, &second, false).unwrap();
        let promoted = Keys::open(&folder).unwrap();
        assert_eq!((promoted.signing.as_str(), promoted.by_id.len()), (second.as_str(), 2), "the former is still read");
        assert!(matches!(Keys::retire(&folder, &second, LIFETIME, true), Err(KeysError::Signs { .. })));
        assert!(matches!(Keys::retire(&folder, &first, LIFETIME, false), Err(KeysError::TooEarly { .. })));
        age(&folder.join(SIGNING), LIFETIME + KNOWN_AFTER);
        Keys::retire(&folder, &first, LIFETIME, false).unwrap();
        let listed = Keys::list(&folder).unwrap();
        assert_eq!(
            listed.iter().map(|key| (key.id.as_str(), key.signs)).collect::<Vec<_>>(),
            [(second.as_str(), true)]
        );
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn who_knows_better_need_not_wait_and_unknown_keys_are_told() {
        let folder = fresh("now");
        let first = Keys::open(&folder).unwrap().signing;
        let second = Keys::add(&folder).unwrap();
        Keys::promote(&folder, &second, true).unwrap();
        Keys::retire(&folder, &first, LIFETIME, true).unwrap();
        for unknown in [first.as_str(), "", "../signing", "signing"] {
            assert!(matches!(Keys::promote(&folder, unknown, true), Err(KeysError::Unknown { .. })), "{unknown}");
            assert!(matches!(Keys::retire(&folder, unknown, LIFETIME, true), Err(KeysError::Unknown { .. })));
        }
        assert_eq!(Keys::open(&folder).unwrap().signing, second);
        fs::remove_dir_all(folder).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn keys_are_the_servers_alone_and_refused_when_they_are_not() {
        use std::os::unix::fs::PermissionsExt;
        let folder = fresh("mode");
        let id = Keys::open(&folder).unwrap().signing;
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let key = folder.join(format!("{id}.key"));
        assert_eq!((mode(&folder), mode(&key), mode(&folder.join(SIGNING))), (0o700, 0o600, 0o600));
        fs::set_permissions(&key, fs::Permissions::from_mode(0o640)).unwrap();
        assert!(matches!(Keys::open(&folder), Err(KeysError::Exposed { .. })));
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_folder_that_names_a_missing_key_or_holds_no_key_is_refused() {
        let folder = fresh("faults");
        let id = Keys::open(&folder).unwrap().signing;
        write_private(&folder.join("odd.key"), "no key").unwrap();
        assert!(matches!(Keys::open(&folder), Err(KeysError::NotAKey { .. })));
        fs::remove_file(folder.join("odd.key")).unwrap();
        fs::remove_file(folder.join(format!("{id}.key"))).unwrap();
        assert!(matches!(Keys::open(&folder), Err(KeysError::Missing { .. })));
        fs::remove_dir_all(folder).unwrap();
    }
}
