//! Remarks: placing, answering, clearing, raising again.

mod acts;
mod carry;
mod place;
mod read;

pub use acts::Act;
pub(in crate::app) use acts::MOST_ENTRIES;
pub use carry::Ahead;
pub use place::NewRemark;
pub(in crate::app) use read::standing_of;
pub use read::{Filter, Reference, RemarkView, StandingView};

use super::tags::PlaceKind as Kind;

/// What a remark may be placed on.
pub use super::tags::PlaceKind;

/// Where a remark is placed.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// On what.
    pub kind: Kind,
    /// Its tag; empty for the whole.
    pub tag: String,
    /// Place along a member from its start, mm.
    pub at_mm: Option<f64>,
}

/// What a remark is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RemarkState {
    /// Nothing answered yet, or raised again.
    Open,
    /// Answered.
    Answered,
    /// Done with.
    Cleared,
    /// Set aside by a keeper.
    SetAside,
}

impl RemarkKind {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::Snag => "snag",
            Self::Advice => "advice",
            Self::Question => "question",
            Self::WellMade => "well_made",
        }
    }

    /// The kind of a word in the database.
    pub fn of_word(word: &str) -> Option<Self> {
        [Self::Snag, Self::Advice, Self::Question, Self::WellMade].into_iter().find(|kind| kind.word() == word)
    }
}

impl RemarkState {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Answered => "answered",
            Self::Cleared => "cleared",
            Self::SetAside => "set_aside",
        }
    }

    /// The state of a word in the database.
    pub fn of_word(word: &str) -> Option<Self> {
        [Self::Open, Self::Answered, Self::Cleared, Self::SetAside].into_iter().find(|state| state.word() == word)
    }
}
