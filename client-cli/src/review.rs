//! Where the second opinion of a revision stands, as the command shows it; free of the wire's types.

use serde::Serialize;

/// How a reviewer looked at something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LookKind {
    /// By sums of his own.
    OwnSums,
    /// The server's sums gone through.
    ServersSums,
    /// Looked at only.
    LookedAtOnly,
}

/// What a reviewer concludes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Disposition {
    /// Cut it.
    CutIt,
    /// Cut it with these changes.
    CutItWithChanges,
    /// Change it and send it again.
    ChangeAndSendAgain,
    /// Don't build this.
    DoNotBuild,
}

/// One reviewer's look at one item.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Look {
    /// Who.
    pub account: String,
    /// How.
    pub kind: LookKind,
    /// When, microseconds of Unix time.
    pub at_us: i64,
    /// Greatest utilisation by his own sums.
    pub own_utilisation: Option<f64>,
    /// Greatest sag by his own sums, mm.
    pub own_sag_mm: Option<f64>,
    /// What he says of it.
    pub note: String,
    /// Greatest utilisation by the server, beside his own.
    pub server_utilisation: Option<f64>,
}

/// An item and who looked at it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// `member`, `joint`, `anchor` or `deck`.
    pub kind: &'static str,
    /// Its tag.
    pub tag: String,
    /// The latest look of each reviewer.
    pub looks: Vec<Look>,
    /// Letter of the latest earlier revision on which somebody looked at it.
    pub looked_before: Option<String>,
}

/// Disposition of one member.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MemberDisposition {
    /// Tag.
    pub tag: String,
    /// What is concluded of it.
    pub disposition: Disposition,
    /// Why.
    pub note: String,
}

/// What one reviewer concluded.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Conclusion {
    /// Who.
    pub account: String,
    /// When, microseconds of Unix time.
    pub at_us: i64,
    /// Of the whole.
    pub disposition: Disposition,
    /// What he says of it.
    pub note: String,
    /// Of members, where it differs.
    pub members: Vec<MemberDisposition>,
    /// True where he is not of the crew.
    pub from_outside: bool,
    /// True where he has concluded again since.
    pub superseded: bool,
}

/// Somebody's sums of his own.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OwnSums {
    /// Who.
    pub account: String,
    /// When they were begun, microseconds of Unix time.
    pub begun_us: i64,
    /// When they ended, microseconds of Unix time; `None`: they go on.
    pub ended_us: Option<i64>,
    /// True where figures of his own were in before they ended.
    pub figures_in: bool,
    /// Why they were opened without.
    pub reason: String,
}

/// Where the review of a revision stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Review {
    /// Letter of the revision.
    pub letter: String,
    /// Newest first.
    pub conclusions: Vec<Conclusion>,
    /// Items with a look, in the order of the design.
    pub looked_at: Vec<Item>,
    /// Items without, in the order of the design.
    pub nobody: Vec<Item>,
    /// Sums of their own on this design, newest first.
    pub own_sums: Vec<OwnSums>,
    /// Snags that are open or answered.
    pub open_snags: i32,
    /// Other remarks that are open.
    pub open_others: i32,
    /// True where the server keeps its figures from whoever asks.
    pub figures_withheld: bool,
}

impl Review {
    /// Conclusions that stand.
    pub fn standing(&self) -> impl Iterator<Item = &Conclusion> {
        self.conclusions.iter().filter(|conclusion| !conclusion.superseded)
    }
}
