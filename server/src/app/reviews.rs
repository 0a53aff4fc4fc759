//! Second opinions: looks, conclusions, sums of one's own, and where the review of a revision stands.

mod conclude;
mod look;
mod own_sums;
mod read;

pub use conclude::{MemberDisposition, NewConclusion};
pub use look::NewLook;
pub use own_sums::OwnSumsView;
pub(super) use read::latest;
pub use read::{ConclusionView, ItemView, LookView, ReviewView};

/// How a reviewer looked at an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LookKind {
    /// Looked at only.
    LookedAtOnly,
    /// The server's sums gone through.
    ServersSums,
    /// By sums of his own.
    OwnSums,
}

impl LookKind {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::LookedAtOnly => "looked_at_only",
            Self::ServersSums => "servers_sums",
            Self::OwnSums => "own_sums",
        }
    }

    /// The kind of a word in the database.
    pub fn of_word(word: &str) -> Option<Self> {
        [Self::LookedAtOnly, Self::ServersSums, Self::OwnSums].into_iter().find(|kind| kind.word() == word)
    }
}

/// What a reviewer concludes, from good to bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Disposition {
    /// Cut it (no exception taken).
    CutIt,
    /// Cut it with these changes (make corrections noted).
    CutItWithChanges,
    /// Change it and send it again (revise and resubmit).
    ChangeAndSendAgain,
    /// Don't build this (rejected).
    DoNotBuild,
}

impl Disposition {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::CutIt => "cut_it",
            Self::CutItWithChanges => "cut_it_with_changes",
            Self::ChangeAndSendAgain => "change_and_send_again",
            Self::DoNotBuild => "do_not_build",
        }
    }

    /// The disposition of a word in the database.
    pub fn of_word(word: &str) -> Option<Self> {
        let all = [Self::CutIt, Self::CutItWithChanges, Self::ChangeAndSendAgain, Self::DoNotBuild];
        all.into_iter().find(|kind| kind.word() == word)
    }

    /// Its plain words.
    pub fn plain(self) -> &'static str {
        match self {
            Self::CutIt => "cut it",
            Self::CutItWithChanges => "cut it with these changes",
            Self::ChangeAndSendAgain => "change it and send it again",
            Self::DoNotBuild => "don't build this",
        }
    }
}
