//! What can go wrong with a request, in the words of its caller and free of any wire. The one place that turns these
//! into codes is `service::status`.

use super::cutting::Obstacle;
use crate::auth::codes::NoRandomness;
use crate::auth::passwords::PasswordError;
use crate::auth::tokens::SigningError;
pub use battenboard_engine::design::Violation;
use std::time::Duration;

pub use crate::store::StoreError;

/// What an app function gives.
pub type AppResult<T> = Result<T, AppError>;

/// One fault of a request, with its place in the sent text where there is one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where and what.
    pub violation: Violation,
    /// Line and column, from 1.
    pub place: Option<(usize, usize)>,
}

impl Fault {
    /// A fault of a field of the request.
    pub fn of(path: impl Into<String>, message: impl Into<String>) -> Self {
        Self { violation: Violation::new(path, message), place: None }
    }

    /// The same fault with what would mend it.
    #[must_use]
    pub fn mend(mut self, mend: impl Into<String>) -> Self {
        self.violation = self.violation.mend(mend);
        self
    }
}

impl From<Violation> for Fault {
    fn from(violation: Violation) -> Self {
        Self { violation, place: None }
    }
}

/// A request that was not done. Nothing of it was.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// The caller is not known.
    #[error("{reason}")]
    Unauthenticated {
        /// Why, in words that tell a guesser nothing.
        reason: &'static str,
    },
    /// The caller may not, of something he may see.
    #[error("{what}")]
    NotAllowed {
        /// What needs which right.
        what: String,
    },
    /// There is no such thing, or none the caller may see.
    #[error("there is no {what} `{name}`")]
    NotFound {
        /// Kind of thing.
        what: &'static str,
        /// Its name as asked.
        name: String,
    },
    /// The request has faults.
    #[error("{}", first_fault(.faults))]
    Invalid {
        /// All of them.
        faults: Vec<Fault>,
    },
    /// A name is taken.
    #[error("{what} `{name}` is there already")]
    AlreadyThere {
        /// Kind of thing.
        what: &'static str,
        /// Its name.
        name: String,
    },
    /// Somebody else submitted first.
    #[error(
        "revision {latest_letter} by {author} came since: look at it, then submit with `worked_from` {latest_letter}"
    )]
    NotLatest {
        /// The latest letter.
        latest_letter: String,
        /// Who submitted it.
        author: String,
        /// What the caller named.
        worked_from: String,
    },
    /// Things are not in a state in which this can be done.
    #[error("{what}")]
    WrongState {
        /// Which state, of what.
        what: String,
        /// Short name of the reason, for programs.
        reason: &'static str,
    },
    /// Something stands in the way of it.
    #[error("{what}: {}", first_obstacle(.obstacles))]
    InTheWay {
        /// Of what.
        what: &'static str,
        /// All of it.
        obstacles: Vec<Obstacle>,
    },
    /// Too many at a time, or too often.
    #[error("{what}: try again in {} s", .retry_after.as_secs().max(1))]
    TooMany {
        /// Too many of what.
        what: &'static str,
        /// When to try again.
        retry_after: Duration,
    },
    /// Events after a cursor are no longer kept.
    #[error("news of {of} from where this cursor stands are no longer kept: read the state, go on from {number}")]
    NoLongerKept {
        /// Of which stream.
        of: String,
        /// Number after which to go on.
        number: i64,
        /// The cursor with which to go on, in all streams.
        cursor: String,
    },
    /// A listener who does not keep up.
    #[error("you are 1,000 events behind: listen again from the cursor you have")]
    Behind {
        /// After the last event he was sent.
        cursor: String,
    },
    /// It took longer than allowed.
    #[error("the check would take too long")]
    TooLong,
    /// The server is going down.
    #[error("the server is shutting down: try again")]
    ShuttingDown,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A mistake of ours.
    #[error("internal: {cause}")]
    Internal {
        /// For the server's own records.
        cause: String,
    },
}

fn first_obstacle(obstacles: &[Obstacle]) -> String {
    match obstacles {
        [] => "something stands in the way".into(),
        [only] => only.said.clone(),
        [first, rest @ ..] => format!("{} (and {} more)", first.said, rest.len()),
    }
}

fn first_fault(faults: &[Fault]) -> String {
    match faults {
        [] => "the request is not sound".into(),
        [only] => only.violation.to_string(),
        [first, rest @ ..] => format!("{} (and {} more)", first.violation, rest.len()),
    }
}

impl AppError {
    /// A single fault of the request.
    pub fn invalid(path: impl Into<String>, message: impl Into<String>) -> Self {
        Self::Invalid { faults: vec![Fault::of(path, message)] }
    }

    /// A mistake of ours.
    pub fn internal(cause: impl std::fmt::Display) -> Self {
        Self::Internal { cause: cause.to_string() }
    }

    /// Nothing of this kind and name, or not for this caller.
    pub fn not_found(what: &'static str, name: impl Into<String>) -> Self {
        Self::NotFound { what, name: name.into() }
    }
}

impl From<PasswordError> for AppError {
    fn from(error: PasswordError) -> Self {
        match error {
            PasswordError::Busy => {
                Self::TooMany { what: "too many people are signing in", retry_after: Duration::from_secs(2) }
            }
            PasswordError::Failed { cause } => Self::Internal { cause },
        }
    }
}

impl From<SigningError> for AppError {
    fn from(error: SigningError) -> Self {
        Self::internal(error)
    }
}

impl From<NoRandomness> for AppError {
    fn from(error: NoRandomness) -> Self {
        Self::internal(error)
    }
}
