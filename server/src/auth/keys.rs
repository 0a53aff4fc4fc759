//! Keys that sign access tokens.
//!
//! Each is a file `<key id>.key` (mode 0600) in the keys folder; the file `signing` names the one that signs. They are
//! files and not rows, so that whoever reads the database or a backup of it can forge nothing. Servers that share one
//! PostgreSQL are given the same folder. To rotate: put in the new file everywhere, then name it in `signing`, then take
//! the old file out once its last token has ended.

use super::codes::{NoRandomness, hex, random_bytes, unhex};
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Length of a key.
const KEY_BYTES: usize = 32;
/// Name of the file that says which key signs.
const SIGNING: &str = "signing";

/// The keys of a server.
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
}

fn make_first(folder: &Path, signing_file: &Path) -> Result<(), KeysError> {
    make_private_folder(folder)?;
    let id = crate::clock::new_id().simple().to_string();
    write_private(&folder.join(format!("{id}.key")), &hex(&random_bytes::<KEY_BYTES>()?))?;
    write_private(signing_file, &id)
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

fn write_private(path: &Path, text: &str) -> Result<(), KeysError> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let written = options.open(path).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.sync_all()
    });
    written.map_err(|source| KeysError::File { path: path.to_owned(), source })
}

#[cfg(unix)]
fn refuse_exposed(path: &Path) -> Result<(), KeysError> {
    use std::os::unix::fs::PermissionsExt;
    let facts = fs::metadata(path).map_err(|source| KeysError::File { path: path.to_owned(), source })?;
    if facts.permissions().mode() & 0o077 == 0 { Ok(()) } else { Err(KeysError::Exposed { path: path.to_owned() }) }
}

#[cfg(not(unix))]
fn refuse_exposed(_: &Path) -> Result<(), KeysError> {
    Ok(())
}
