//! What is wrong with a design, said by field path so that a file's reader can point at the place.

use serde::{Deserialize, Serialize};

/// One fault of a design: where, what, and what would mend it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Violation {
    /// Field path into [`Design`](super::Design), e.g. `members[3].stock` or `joints[0].on`.
    pub path: String,
    /// What is wrong, in a builder's words, with the value quoted. No full stop.
    pub message: String,
    /// What would mend it, where that is known.
    pub mend: Option<String>,
}

impl Violation {
    /// A fault without a known mend.
    pub fn new(path: impl Into<String>, message: impl Into<String>) -> Self {
        Self { path: path.into(), message: message.into(), mend: None }
    }

    /// The same fault with its mend.
    #[must_use]
    pub fn mend(mut self, mend: impl Into<String>) -> Self {
        self.mend = Some(mend.into());
        self
    }
}

impl std::fmt::Display for Violation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.path, self.message)?;
        self.mend.as_ref().map_or(Ok(()), |mend| write!(f, " ({mend})"))
    }
}
