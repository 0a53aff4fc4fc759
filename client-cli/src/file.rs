//! The design file: which one is meant, reading it, and writing files without ever leaving half of one behind.

use crate::error::ClientError;
use crate::io::Io;
use crate::output::mistakes::mistakes;
use battenboard_designfile::read_frame;
use battenboard_engine::design::{Design, Frame};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Name of the file that `start` writes and every verb looks for first.
pub const USUAL_NAME: &str = "frame.toml";

/// A design file that was read without mistakes.
pub struct Loaded {
    /// Where it is.
    pub path: PathBuf,
    /// As it is named on screens.
    pub shown: String,
    /// Its text as written.
    pub text: String,
    /// What it says.
    pub design: Design,
    /// The validated frame.
    pub frame: Frame,
}

/// The design file that is meant: the named one, else `frame.toml`, else the only `.toml` here.
///
/// # Errors
/// [`ClientError::Usage`] where there is none or more than one.
pub fn find(io: &Io<'_>, named: Option<&Path>) -> Result<PathBuf, ClientError> {
    if let Some(named) = named {
        return Ok(io.current_dir.join(named));
    }
    let usual = io.current_dir.join(USUAL_NAME);
    if usual.is_file() {
        return Ok(usual);
    }
    let mut found = toml_files(&io.current_dir);
    match (found.pop(), found.len()) {
        (Some(only), 0) => Ok(only),
        (None, _) => Err(ClientError::usage("there is no design file in this folder", "batten start writes one")),
        (Some(_), others) => Err(ClientError::usage(
            format!("there are {} design files in this folder", others + 1),
            "say which one: --file FILE",
        )),
    }
}

fn toml_files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut found: Vec<PathBuf> = entries
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml") && path.is_file())
        .take(1000)
        .collect();
    found.sort();
    found
}

/// Reads and validates the file that is meant.
///
/// # Errors
/// [`ClientError::Mistakes`] with all mistakes laid out; [`ClientError::File`] where it can't be read.
pub fn load(io: &Io<'_>, named: Option<&Path>) -> Result<Loaded, ClientError> {
    load_path(io, find(io, named)?)
}

/// Reads and validates that file.
///
/// # Errors
/// As [`load`].
pub fn load_path(io: &Io<'_>, path: PathBuf) -> Result<Loaded, ClientError> {
    let shown = shown(io, &path);
    let text = read_text(&path)?;
    match read_frame(&text) {
        Ok((read, frame)) => Ok(Loaded { path, shown, text, design: read.design, frame }),
        Err(list) => Err(ClientError::Mistakes(mistakes(&shown, &text, &list, io.width))),
    }
}

/// A path as short as it can be said from here.
pub fn shown(io: &Io<'_>, path: &Path) -> String {
    path.strip_prefix(&io.current_dir).unwrap_or(path).display().to_string()
}

fn read_text(path: &Path) -> Result<String, ClientError> {
    let fault = |source| ClientError::File { path: path.to_owned(), doing: "read", source };
    let size = std::fs::metadata(path).map_err(fault)?.len();
    if size > battenboard_designfile::TEXT_LIMIT as u64 {
        return Err(ClientError::usage(
            format!(
                "`{}` has {size} bytes; a design file has at most {}",
                path.display(),
                battenboard_designfile::TEXT_LIMIT
            ),
            "rows are written once with count and step",
        ));
    }
    let bytes = std::fs::read(path).map_err(fault)?;
    String::from_utf8(bytes)
        .map_err(|_| fault(std::io::Error::new(std::io::ErrorKind::InvalidData, "it is no UTF-8 text")))
}

/// Writes a file through a neighbour that then takes its name, so that a kill leaves the old or the new one whole.
///
/// # Errors
/// [`ClientError::File`].
pub fn write_whole(path: &Path, text: &str) -> Result<(), ClientError> {
    replace(path, text, false)
}

/// As [`write_whole`], readable by its owner alone.
///
/// # Errors
/// [`ClientError::File`].
pub fn write_private(path: &Path, text: &str) -> Result<(), ClientError> {
    replace(path, text, true)
}

fn replace(path: &Path, text: &str, private: bool) -> Result<(), ClientError> {
    let fault = |source| ClientError::File { path: path.to_owned(), doing: "written", source };
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let neighbour = path.with_file_name(format!(".{name}.{}.new", std::process::id()));
    let written = (|| {
        let mut options = std::fs::OpenOptions::new();
        options.write(true).create(true).truncate(true);
        #[cfg(unix)]
        if private {
            std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        }
        let mut file = options.open(&neighbour)?;
        // An existing file keeps its permissions.
        if !private && let Ok(old) = std::fs::metadata(path) {
            file.set_permissions(old.permissions())?;
        }
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        std::fs::rename(&neighbour, path)?;
        sync_folder(path)
    })();
    if written.is_err() {
        let _ = std::fs::remove_file(&neighbour);
    }
    written.map_err(fault)
}

/// The new name is on disk too, so that a power cut does not bring the old one back.
#[cfg(unix)]
fn sync_folder(path: &Path) -> std::io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    std::fs::File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> std::io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn a_private_file_is_readable_by_its_owner_alone_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("accounts.json");
        write_private(&path, "one").unwrap();
        write_private(&path, "two").unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "two");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        }
    }
}
