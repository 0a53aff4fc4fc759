//! Kinds of events and their words in the database.

/// What happened; the contract, news.proto, says what each means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EventKind {
    /// A word this version does not know.
    Unknown,
    GroupFounded,
    CrewChanged,
    RevisionSubmitted,
    Checked,
    RemarkMade,
    RemarkAnswered,
    RemarkCleared,
    RemarkRaisedAgain,
    RemarkSetAside,
    RemarkCarried,
    ProofLoadRan,
    LookedAt,
    Concluded,
    IssuedForCutting,
    StampTakenBack,
    ConcessionGiven,
    AsBuiltRecorded,
    VisibilityChanged,
    NoticeHung,
    NoticeTakenUp,
    NoticeHandedBack,
    NoticeEnded,
    TakingUpEnded,
    FallsShortNow,
    SurveyRecorded,
}

/// Every kind with its word in the database.
const WORDS: [(&str, EventKind); 25] = [
    ("group", EventKind::GroupFounded),
    ("crew", EventKind::CrewChanged),
    ("revision", EventKind::RevisionSubmitted),
    ("checked", EventKind::Checked),
    ("remark", EventKind::RemarkMade),
    ("answer", EventKind::RemarkAnswered),
    ("clear", EventKind::RemarkCleared),
    ("raise_again", EventKind::RemarkRaisedAgain),
    ("set_aside", EventKind::RemarkSetAside),
    ("carried", EventKind::RemarkCarried),
    ("proved", EventKind::ProofLoadRan),
    ("looked_at", EventKind::LookedAt),
    ("concluded", EventKind::Concluded),
    ("issued", EventKind::IssuedForCutting),
    ("stamp_taken_back", EventKind::StampTakenBack),
    ("concession", EventKind::ConcessionGiven),
    ("as_built", EventKind::AsBuiltRecorded),
    ("visibility", EventKind::VisibilityChanged),
    ("notice", EventKind::NoticeHung),
    ("taken_up", EventKind::NoticeTakenUp),
    ("handed_back", EventKind::NoticeHandedBack),
    ("notice_ended", EventKind::NoticeEnded),
    ("take_up_ended", EventKind::TakingUpEnded),
    ("falls_short_now", EventKind::FallsShortNow),
    ("survey", EventKind::SurveyRecorded),
];

/// What the subject of an event is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// An account.
    Account,
    /// A remark.
    Remark,
    /// A survey of a vehicle.
    Survey,
    /// Nothing that news tell.
    Other,
}

impl EventKind {
    /// The kind of a word in the database.
    pub fn of_word(word: &str) -> Self {
        WORDS.iter().find(|(known, _)| *known == word).map_or(Self::Unknown, |(_, kind)| *kind)
    }

    /// What the subject of such an event is.
    pub fn subject(self) -> Subject {
        match self {
            Self::CrewChanged | Self::TakingUpEnded => Subject::Account,
            Self::RemarkMade
            | Self::RemarkAnswered
            | Self::RemarkCleared
            | Self::RemarkRaisedAgain
            | Self::RemarkSetAside
            | Self::RemarkCarried
            | Self::ProofLoadRan => Subject::Remark,
            Self::SurveyRecorded => Subject::Survey,
            Self::Unknown
            | Self::GroupFounded
            | Self::RevisionSubmitted
            | Self::Checked
            | Self::LookedAt
            | Self::Concluded
            | Self::IssuedForCutting
            | Self::StampTakenBack
            | Self::ConcessionGiven
            | Self::AsBuiltRecorded
            | Self::VisibilityChanged
            | Self::NoticeHung
            | Self::NoticeTakenUp
            | Self::NoticeHandedBack
            | Self::NoticeEnded
            | Self::FallsShortNow => Subject::Other,
        }
    }

    /// Whether it may change who reads which stream.
    pub fn changes_readers(self) -> bool {
        matches!(
            self,
            Self::CrewChanged | Self::NoticeTakenUp | Self::NoticeHandedBack | Self::NoticeEnded | Self::TakingUpEnded
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_word_has_its_kind_and_an_unknown_one_is_no_failure() {
        for (at, (word, kind)) in WORDS.iter().enumerate() {
            assert_eq!(EventKind::of_word(word), *kind);
            assert!(!WORDS[at + 1..].iter().any(|(other, same)| other == word || same == kind), "{word} stands twice");
        }
        assert_eq!(EventKind::of_word("from a later release"), EventKind::Unknown);
    }
}
