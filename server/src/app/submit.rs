//! Submitting a revision: from what was sent to a letter, in one transaction.

mod keep;
mod prepare;

pub use prepare::{Prepared, Sent};

use super::designs::{CheckState, RevisionView};
use super::drawn_after::DrawnAfter;
use battenboard_engine::findings::Findings;

/// A revision wanted.
#[derive(Clone, Debug)]
pub struct Submission {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Frame and text.
    pub sent: Sent,
    /// What the builder says of it.
    pub note: String,
    /// Letter of the revision he had before him; empty: none.
    pub worked_from: String,
    /// The revision the design was started from; of its first revision only.
    pub drawn_after: Option<DrawnAfter>,
}

/// What became of it.
#[derive(Clone, Debug)]
pub struct Submitted {
    /// The revision kept; where nothing changed, the latest.
    pub revision: RevisionView,
    /// True where the content equals the latest revision's.
    pub unchanged: bool,
    /// Its findings, where they came in time.
    pub findings: Option<Findings>,
    /// Where its check stands.
    pub check_state: CheckState,
}
