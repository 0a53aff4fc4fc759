//! News as the command shows and writes them, free of the wire's types, and how far one has read them.

use crate::error::ClientError;
use crate::file::write_private;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each says in `output::news_screen` what it means")]
pub enum EventKind {
    /// A later release's.
    Unknown,
    GroupFounded,
    CrewChanged,
    RevisionSubmitted,
    Checked,
    RemarkMade,
    RemarkAnswered,
    RemarkCleared,
    RemarkRaisedAgain,
    RemarkSetAside,
    RemarkCarried,
    ProofLoadRan,
    LookedAt,
    Concluded,
    IssuedForCutting,
    StampTakenBack,
    ConcessionGiven,
    AsBuiltRecorded,
    VisibilityChanged,
    NoticeHung,
    NoticeTakenUp,
    NoticeHandedBack,
    NoticeEnded,
    TakingUpEnded,
    FallsShortNow,
    SurveyRecorded,
}

/// Something that happened. Texts are empty and numbers 0 where there is nothing to name.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Event {
    /// Number within the group's events, or the noticeboard's.
    pub number: i64,
    /// Whether it is the noticeboard's.
    pub on_noticeboard: bool,
    /// What happened.
    pub kind: EventKind,
    /// Build group.
    pub group: String,
    /// Design.
    pub design: String,
    /// Letter of the revision.
    pub letter: String,
    /// Who did it.
    pub actor: String,
    /// Whom it is about.
    pub account: String,
    /// Number of the remark within the design.
    pub remark_number: i64,
    /// When, microseconds of Unix time.
    pub at_us: i64,
    /// Vehicle.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub vehicle: String,
    /// Number of its survey.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub survey_number: i64,
}

/// Numbers of few kinds of events are left out where they name nothing.
#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks so")]
fn is_zero(number: &i64) -> bool {
    *number == 0
}

/// How far somebody has read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadSoFar {
    /// The server's own note of it.
    pub cursor: String,
    /// When one last looked, microseconds of Unix time.
    pub looked_us: i64,
}

/// By server, then by account.
type Kept = BTreeMap<String, BTreeMap<String, ReadSoFar>>;

/// The file that remembers how far one has read, beside that of the accounts.
#[derive(Clone, Debug)]
pub struct NewsFile {
    path: PathBuf,
}

impl NewsFile {
    /// In that folder.
    pub fn of(config_dir: &Path) -> Self {
        Self { path: config_dir.join("news.json") }
    }

    fn kept(&self) -> Result<Kept, ClientError> {
        match std::fs::read_to_string(&self.path) {
            // A file that cannot be understood is no loss worth stopping for: the last news are shown again.
            Ok(text) => Ok(serde_json::from_str(&text).unwrap_or_default()),
            Err(source) if source.kind() == std::io::ErrorKind::NotFound => Ok(Kept::default()),
            Err(source) => Err(ClientError::File { path: self.path.clone(), doing: "read", source }),
        }
    }

    /// How far this account has read at this server.
    ///
    /// # Errors
    /// [`ClientError::File`]; so for the one below.
    pub fn read(&self, server: &str, account: &str) -> Result<Option<ReadSoFar>, ClientError> {
        Ok(self.kept()?.remove(server).and_then(|mut accounts| accounts.remove(account)))
    }

    /// Remembers it.
    pub fn keep(&self, server: &str, account: &str, read: ReadSoFar) -> Result<(), ClientError> {
        let mut kept = self.kept()?;
        kept.entry(server.to_owned()).or_default().insert(account.to_owned(), read);
        let text =
            serde_json::to_string_pretty(&kept).map_err(|cause| ClientError::Shape { cause: cause.to_string() })?;
        write_private(&self.path, &format!("{text}\n"))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn how_far_one_has_read_is_kept_by_server_and_account() {
        let folder = tempfile::tempdir().unwrap();
        let file = NewsFile::of(folder.path());
        let read = |cursor: &str| ReadSoFar { cursor: cursor.into(), looked_us: 1 };
        assert_eq!(file.read("http://a", "okoro").unwrap(), None);
        file.keep("http://a", "okoro", read("1")).unwrap();
        file.keep("http://b", "okoro", read("2")).unwrap();
        file.keep("http://a", "ines", read("3")).unwrap();
        file.keep("http://a", "okoro", read("4")).unwrap();
        assert_eq!(file.read("http://a", "okoro").unwrap(), Some(read("4")));
        assert_eq!(file.read("http://b", "okoro").unwrap(), Some(read("2")));
        assert_eq!(file.read("http://b", "ines").unwrap(), None);
        std::fs::write(folder.path().join("news.json"), "{").unwrap();
        assert_eq!(file.read("http://a", "okoro").unwrap(), None, "begun anew");
    }
}
