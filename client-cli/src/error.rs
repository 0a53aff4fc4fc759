//! Why a run of the command ended early, in the user's words; each failure knows its exit code.

use crate::exit::Exit;
use crate::output::sheet::Sheet;
use std::path::PathBuf;

/// A failure, with its facts. It is printed once, in [`crate::run_with`].
#[derive(Debug, thiserror::Error)]
pub enum ClientError {
    /// What was typed can't be done so.
    #[error("{message}")]
    Usage {
        /// What is wrong.
        message: String,
        /// What to type instead.
        hint: Option<String>,
    },
    /// A folder or stream of the process is missing.
    #[error("the {what} folder or stream can't be used: {source}")]
    Folder {
        /// Which.
        what: &'static str,
        /// Why.
        source: std::io::Error,
    },
    /// A file can't be read or written.
    #[error("`{path}` can't be {doing}: {source}", path = .path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// `read` or `written`.
        doing: &'static str,
        /// Why.
        source: std::io::Error,
    },
    /// Mistakes of a design file, already laid out with line, column and underlining.
    #[error("{}", .0.to_string().trim_end())]
    Mistakes(Sheet),
    /// The design has no item of that tag.
    #[error("there is no `{tag}` in this design")]
    UnknownTag {
        /// What was typed.
        tag: String,
        /// What was probably meant.
        nearest: Option<String>,
    },
    /// The engine gave no findings.
    #[error("this frame was not checked: {0}")]
    Check(#[from] battenboard_engine::CheckError),
    /// Nobody is signed in.
    #[error("you are not signed in{}", .server.as_ref().map(|server| format!(" to `{server}`")).unwrap_or_default())]
    NotSignedIn {
        /// At which server, where that is known.
        server: Option<String>,
    },
    /// The server can't be reached.
    #[error("`{server}` can't be reached: {cause}")]
    Unreachable {
        /// Its address.
        server: String,
        /// Why, in short.
        cause: String,
    },
    /// The server's certificate is not the one it must have.
    #[error("{message}")]
    Certificate {
        /// What is wrong with it.
        message: String,
        /// What to do.
        hint: String,
    },
    /// The server said no.
    #[error("{message}")]
    Refused {
        /// Exit code of that refusal.
        exit: Exit,
        /// What the server said, with every violation on a line of its own.
        message: String,
        /// What to do.
        hint: Option<String>,
    },
    /// Someone else submitted first.
    #[error("{author} submitted revision {latest} meanwhile; yours was worked from {worked_from}")]
    SomeoneElse {
        /// Letter of the latest revision.
        latest: String,
        /// Who made it.
        author: String,
        /// Letter this one was worked from.
        worked_from: String,
        /// The command to go on with.
        next: String,
    },
    /// Something is not of the shape this version knows (an answer, a kept file).
    #[error("an answer or kept file is not of a shape this version knows: {cause}")]
    Shape {
        /// What was met.
        cause: String,
    },
    /// The reader of stdout has gone: a quiet end.
    #[error("the reader has gone")]
    PipeClosed,
}

impl ClientError {
    /// A usage failure with a hint.
    pub fn usage(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Usage { message: message.into(), hint: Some(hint.into()) }
    }

    /// A failure to write to stdout: a closed pipe is quiet.
    pub fn output(source: std::io::Error) -> Self {
        if source.kind() == std::io::ErrorKind::BrokenPipe {
            Self::PipeClosed
        } else {
            Self::Folder { what: "output", source }
        }
    }

    /// The exit code.
    pub fn exit(&self) -> Exit {
        match self {
            Self::Usage { .. }
            | Self::Folder { .. }
            | Self::File { .. }
            | Self::Mistakes(_)
            | Self::UnknownTag { .. } => Exit::Usage,
            Self::Check(_) => Exit::NotChecked,
            Self::NotSignedIn { .. } => Exit::NotAllowed,
            Self::Unreachable { .. } | Self::Certificate { .. } | Self::Shape { .. } => Exit::Server,
            Self::Refused { exit, .. } => *exit,
            Self::SomeoneElse { .. } => Exit::SomeoneElse,
            Self::PipeClosed => Exit::Holds,
        }
    }

    /// What to do about it, where that is known.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Usage { hint, .. } | Self::Refused { hint, .. } => hint.clone(),
            Self::UnknownTag { nearest: Some(nearest), .. } => Some(format!("did you mean `{nearest}`?")),
            Self::UnknownTag { nearest: None, .. } => Some("`batten check --table` lists every tag".into()),
            Self::NotSignedIn { .. } => Some("batten sign-in NAME, or batten sign-up NAME for a new account".into()),
            Self::Unreachable { .. } => Some("is the server running, and is the address right? (--server)".into()),
            Self::Certificate { hint, .. } => Some(hint.clone()),
            Self::SomeoneElse { next, .. } => Some(next.clone()),
            Self::Check(_) => Some("a smaller design, or fewer people and loads, needs less".into()),
            Self::Shape { .. } => Some("the server may be newer than this command".into()),
            Self::Folder { .. } | Self::File { .. } | Self::Mistakes(_) | Self::PipeClosed => None,
        }
    }
}
