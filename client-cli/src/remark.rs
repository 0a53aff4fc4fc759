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
    /// Set aside by a keeper.
    SetAside,
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
    /// Set aside by a keeper.
    SetAside,
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

/// What became of the item a remark is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StandingKind {
    /// As it was when the remark was made.
    AsItWas,
    /// Where it was, but not as it was.
    Changed,
    /// Elsewhere.
    Moved,
    /// Called otherwise.
    Renamed,
    /// Cut up.
    Split,
    /// Not there any more.
    Gone,
    /// There again.
    Back,
}

/// How a remark stands on a revision.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// What became of its item.
    pub what: StandingKind,
    /// Tag of the item now, the last one where it is gone; empty: the whole design.
    pub tag: String,
    /// Place along that member from its start, mm.
    pub at_mm: Option<f64>,
    /// Letter of the revision that made it so.
    pub since: String,
    /// Tags of all pieces of what was cut up.
    pub pieces: Vec<String>,
    /// Tag of what lies where the item lay before it was moved.
    pub there_now: Option<String>,
    /// What it was called before.
    pub renamed_from: Option<String>,
    /// Letter of the revision in which it was gone first.
    pub gone_since: Option<String>,
    /// Letter of the revision on which it stands so.
    pub as_of: String,
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
    /// True where its author is not of the crew: he had taken up a notice.
    #[serde(default)]
    pub from_outside: bool,
    /// How it stands; `None` where it was kept by a command that did not ask.
    #[serde(default)]
    pub standing: Option<Standing>,
    /// The proof load it carries; files kept by an older version have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof: Option<Proof>,
}

impl Remark {
    /// True where it is on the item of this tag now. What is gone is on nothing.
    pub fn is_on(&self, tag: &str) -> bool {
        match &self.standing {
            Some(standing) => standing.what != StandingKind::Gone && standing.tag == tag,
            None => self.tag.as_deref() == Some(tag),
        }
    }
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
