//! What is wrong with a text, where, and what would mend it.

use serde::{Deserialize, Serialize};
use std::ops::Range;

/// One mistake of a design file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mistake {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Bytes of the text it is about; may be empty.
    pub span: Range<usize>,
    /// What is wrong, with the value quoted; no full stop.
    pub message: String,
    /// What would mend it, where that is known.
    pub mend: Option<String>,
    /// Field path: by the file's keys (`members[0].stock`) where the file can't be read, by the typed design's
    /// fields where the engine found it. Empty where it is about the text as such.
    pub path: String,
}

impl std::fmt::Display for Mistake {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}, column {}: {}", self.line, self.column, self.message)?;
        self.mend.as_ref().map_or(Ok(()), |mend| write!(f, " ({mend})"))
    }
}
