//! A remark as the command keeps and shows it; free of the wire's types.

use battenboard_engine::proof::{ProofLoad, ProofResult};
use serde::{Deserialize, Serialize};

/// What a remark is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RemarkKind {
    /// Must be mended.
    Snag,
    /// Could be better.
    Advice,
    /// Wants an answer.
    Question,
    /// Well made.
    WellMade,
}

/// Where a remark stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RemarkState {
    /// Nothing answered yet, or raised again.
    Open,
    /// Answered; its author has not had his look yet.
    Answered,
    /// Done with.
    Cleared,
}

/// What happened to a remark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RemarkAct {
    /// Answered.
    Answer,
    /// Cleared.
    Clear,
    /// Raised again.
    RaiseAgain,
    /// Cleared by a later revision that passes its proof load.
    Proved,
    /// Opened again by a revision that fails the proof load.
    FellShortAgain,
}

/// One act on a remark.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RemarkEntry {
    /// Who.
    pub author: String,
    /// When, microseconds of Unix time.
    pub at_us: i64,
    /// What was done.
    pub act: RemarkAct,
    /// What was said.
    pub text: String,
}

/// A remark and what became of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Remark {
    /// Number within the design, from 1.
    pub number: i64,
    /// Letter of the revision it was made on.
    pub letter: String,
    /// Tag of what it is about; `None`: the whole design.
    pub tag: Option<String>,
    /// Place along the member from its start, mm.
    pub at_mm: Option<f64>,
    /// What it is.
    pub kind: RemarkKind,
    /// What it says.
    pub text: String,
    /// Who made it.
    pub author: String,
    /// When, microseconds of Unix time.
    pub at_us: i64,
    /// Where it stands.
    pub state: RemarkState,
    /// What happened since, oldest first.
    pub entries: Vec<RemarkEntry>,
    /// The proof load it carries; files kept by an older version have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof: Option<Proof>,
}

/// A proof load with its latest results, newest revision last.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Proof {
    /// The load.
    pub load: ProofLoad,
    /// Its results.
    pub results: Vec<ProofRow>,
}

/// The result of a proof load on one revision.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ProofRow {
    /// Letter of the revision.
    pub letter: String,
    /// The result; `None` while it waits or runs.
    pub result: Option<ProofResult>,
}
