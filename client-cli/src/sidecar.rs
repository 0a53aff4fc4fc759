//! What a folder remembers beside its design file, in `.batten`: where the design lives, the letter one worked from, the
//! last findings and remarks with their age, and a submission that could not be sent. Readable without network.

use crate::error::ClientError;
use crate::file::write_whole;
use crate::remark::Remark;
use battenboard_engine::findings::Findings;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// Where a design lives.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Home {
    /// Address of the server.
    pub server: String,
    /// Build group.
    pub group: String,
    /// Design.
    pub design: String,
    /// Letter of the revision the file was worked from; empty before the first.
    pub letter: String,
}

/// The revision of another design that a design was started from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Source {
    /// Address of the server.
    pub server: String,
    /// Its build group.
    pub group: String,
    /// Its design.
    pub design: String,
    /// Its letter.
    pub letter: String,
}

/// The last findings the server gave.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KeptFindings {
    /// When, microseconds of Unix time.
    pub kept_us: i64,
    /// Of which revision.
    pub letter: String,
    /// What they say.
    pub findings: Findings,
}

/// The last remarks the server gave.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KeptRemarks {
    /// When, microseconds of Unix time.
    pub kept_us: i64,
    /// All remarks of the design, newest first.
    pub remarks: Vec<Remark>,
}

/// A submission that could not be sent.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unsent {
    /// When it was kept, microseconds of Unix time.
    pub kept_us: i64,
    /// To which server.
    pub server: String,
    /// Into which group.
    pub group: String,
    /// As which design.
    pub design: String,
    /// The file's text.
    pub text: String,
    /// What the builder says of it.
    pub note: String,
    /// Letter it was worked from.
    pub worked_from: String,
    /// What it was drawn after; of a first revision only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawn_after: Option<Source>,
    /// Recognised by the server if it came through after all.
    pub request_id: String,
    /// Letter that someone else submitted first, once the server has said so.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub behind: String,
    /// True where a later submission took its place: it is not sent any more, and kept until it is dropped.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub gave_way: bool,
}

impl Unsent {
    /// True where it is still to be sent.
    pub fn waits(&self) -> bool {
        !self.gave_way
    }
}

/// The folder's memory of one design file.
#[derive(Clone, Debug)]
pub struct Sidecar {
    folder: PathBuf,
    stem: String,
}

impl Sidecar {
    /// Beside that design file.
    pub fn of(design_file: &Path) -> Self {
        let stem = design_file.file_stem().map_or_else(|| "frame".into(), |stem| stem.to_string_lossy().into_owned());
        let folder = design_file.parent().unwrap_or(Path::new(".")).join(".batten");
        Self { folder, stem }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.join(&self.stem).join(name)
    }

    fn unsent_path(&self) -> PathBuf {
        self.folder.join("unsent").join(format!("{}.json", self.stem))
    }

    /// Where the design lives, if it was ever submitted or fetched.
    ///
    /// # Errors
    /// [`ClientError::File`], [`ClientError::Shape`]; so for all below.
    pub fn home(&self) -> Result<Option<Home>, ClientError> {
        read(&self.path("home.json"))
    }

    /// What the design was drawn after, until its first revision has told it.
    pub fn drawn_after(&self) -> Result<Option<Source>, ClientError> {
        read(&self.path("drawn-after.json"))
    }

    /// Remembers that, or that there is nothing to tell any more.
    pub fn keep_drawn_after(&self, source: Option<&Source>) -> Result<(), ClientError> {
        let path = self.path("drawn-after.json");
        source.map_or_else(|| remove(&path), |source| write_json(&path, source))
    }

    /// Remembers it, with the text of the revision one works from.
    pub fn keep_home(&self, home: &Home, text: &str) -> Result<(), ClientError> {
        self.keep_drawn_after(None)?;
        write(&self.path("worked-from.toml"), text)?;
        write_json(&self.path("home.json"), home)
    }

    /// Text of the revision the file was worked from.
    pub fn worked_from_text(&self) -> Result<Option<String>, ClientError> {
        read_text(&self.path("worked-from.toml"))
    }

    /// The last findings.
    pub fn findings(&self) -> Result<Option<KeptFindings>, ClientError> {
        read(&self.path("findings.json"))
    }

    /// Keeps findings.
    pub fn keep_findings(&self, kept: &KeptFindings) -> Result<(), ClientError> {
        write_json(&self.path("findings.json"), kept)
    }

    /// True where its reader makes sums of his own on it, so that figures are kept from him.
    pub fn withheld(&self) -> bool {
        self.path("own-sums").exists()
    }

    /// Remembers that, or that it is over. Figures that were kept go: they would be shown.
    pub fn keep_withheld(&self, withheld: bool) -> Result<(), ClientError> {
        if withheld {
            remove(&self.path("findings.json"))?;
            return write(&self.path("own-sums"), "figures are kept from whoever makes sums of his own\n");
        }
        remove(&self.path("own-sums"))
    }

    /// The last remarks.
    pub fn remarks(&self) -> Result<Option<KeptRemarks>, ClientError> {
        read(&self.path("remarks.json"))
    }

    /// Keeps remarks.
    pub fn keep_remarks(&self, kept: &KeptRemarks) -> Result<(), ClientError> {
        write_json(&self.path("remarks.json"), kept)
    }

    /// The submissions that wait to be sent, oldest first.
    pub fn unsent(&self) -> Result<Vec<Unsent>, ClientError> {
        Ok(read(&self.unsent_path())?.unwrap_or_default())
    }

    /// Keeps these submissions in the place of those kept before.
    pub fn keep_unsent(&self, unsent: &[Unsent]) -> Result<(), ClientError> {
        let path = self.unsent_path();
        if !unsent.is_empty() {
            return write_json(&path, unsent);
        }
        match std::fs::remove_file(&path) {
            Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
                Err(ClientError::File { path, doing: "written", source })
            }
            _ => Ok(()),
        }
    }
}

fn remove(path: &Path) -> Result<(), ClientError> {
    match std::fs::remove_file(path) {
        Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
            Err(ClientError::File { path: path.to_owned(), doing: "written", source })
        }
        _ => Ok(()),
    }
}

fn read<T: DeserializeOwned>(path: &Path) -> Result<Option<T>, ClientError> {
    let Some(text) = read_text(path)? else { return Ok(None) };
    let value = serde_json::from_str(&text)
        .map_err(|cause| ClientError::Shape { cause: format!("`{}`: {cause}", path.display()) })?;
    Ok(Some(value))
}

fn read_text(path: &Path) -> Result<Option<String>, ClientError> {
    match std::fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(source) if source.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(source) => Err(ClientError::File { path: path.to_owned(), doing: "read", source }),
    }
}

fn write_json<T: Serialize + ?Sized>(path: &Path, value: &T) -> Result<(), ClientError> {
    let text = serde_json::to_string_pretty(value).map_err(|cause| ClientError::Shape { cause: cause.to_string() })?;
    write(path, &format!("{text}\n"))
}

fn write(path: &Path, text: &str) -> Result<(), ClientError> {
    if let Some(folder) = path.parent() {
        let fault = |source| ClientError::File { path: folder.to_owned(), doing: "written", source };
        std::fs::create_dir_all(folder).map_err(fault)?;
    }
    write_whole(path, text)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn two_design_files_of_one_folder_remember_apart() {
        let folder = tempfile::tempdir().unwrap();
        let (a, b) = (Sidecar::of(&folder.path().join("a.toml")), Sidecar::of(&folder.path().join("b.toml")));
        let home = Home {
            server: "http://localhost:1".into(),
            group: "saltmarsh".into(),
            design: "curlew-platform".into(),
            letter: "C".into(),
        };
        a.keep_home(&home, "format = 1\n").unwrap();
        assert_eq!(a.home().unwrap(), Some(home));
        assert_eq!(a.worked_from_text().unwrap().as_deref(), Some("format = 1\n"));
        assert_eq!(b.home().unwrap(), None);
        let source = Source {
            server: "http://localhost:1".into(),
            group: "saltmarsh".into(),
            design: "curlew-platform".into(),
            letter: "C".into(),
        };
        b.keep_drawn_after(Some(&source)).unwrap();
        assert_eq!((a.drawn_after().unwrap(), b.drawn_after().unwrap()), (None, Some(source)));
        b.keep_home(&a.home().unwrap().unwrap(), "format = 1\n").unwrap();
        assert_eq!(b.drawn_after().unwrap(), None, "its first revision has told it");
        b.keep_unsent(&[]).unwrap();
        assert!(b.unsent().unwrap().is_empty());
    }

    /// What a kill leaves in the middle of writing: a part of the new text under a name of its own.
    #[test]
    fn half_of_a_new_file_does_not_touch_the_old_one() {
        let folder = tempfile::tempdir().unwrap();
        let sidecar = Sidecar::of(&folder.path().join("frame.toml"));
        let kept = Unsent {
            kept_us: 1,
            server: "http://localhost:1".into(),
            group: "saltmarsh".into(),
            design: "curlew-platform".into(),
            text: "format = 1\n".into(),
            note: String::new(),
            worked_from: "A".into(),
            drawn_after: None,
            request_id: "1".into(),
            behind: String::new(),
            gave_way: false,
        };
        sidecar.keep_unsent(std::slice::from_ref(&kept)).unwrap();
        let path = folder.path().join(".batten/unsent/frame.json");
        let whole = std::fs::read_to_string(&path).unwrap();
        std::fs::write(path.with_file_name(".frame.json.4711.new"), &whole[..whole.len() / 2]).unwrap();
        assert_eq!(sidecar.unsent().unwrap(), std::slice::from_ref(&kept));
        sidecar.keep_unsent(&[kept.clone(), Unsent { request_id: "2".into(), ..kept }]).unwrap();
        assert_eq!(sidecar.unsent().unwrap().len(), 2);
    }
}
