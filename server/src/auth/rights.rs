//! The one table of rights: every method of the wire with what it needs. What has no row is refused.
//!
//! Methods are enumerated from the descriptor in a test below, so that a new method cannot be forgotten here.

/// What one of the crew may do; each includes those before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Right {
    /// Reads.
    Onlooker,
    /// Also remarks and answers.
    Reviewer,
    /// Also submits.
    Builder,
    /// Also looks after crew and invitations.
    Keeper,
}

impl Right {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::Onlooker => "onlooker",
            Self::Reviewer => "reviewer",
            Self::Builder => "builder",
            Self::Keeper => "keeper",
        }
    }

    /// The right of a word in the database.
    pub fn of_word(word: &str) -> Option<Self> {
        [Self::Onlooker, Self::Reviewer, Self::Builder, Self::Keeper].into_iter().find(|right| right.word() == word)
    }
}

/// What a method needs of its caller.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// No caller may.
    Nobody,
    /// Open to callers without a token.
    Anyone,
    /// A signed-in account.
    Account,
    /// A signed-in account with at least this right in the group it is about.
    Crew(Right),
    /// A signed-in account with at least this right on the design it is about, of the crew or by a notice taken up.
    Design(Right),
    /// Whoever may see the design it is about, without an account too where it is open to all.
    Read,
}

use Need::{Account, Anyone, Crew, Design, Read};
use Right::{Builder, Keeper, Onlooker, Reviewer};

/// Every method, as its path on the wire without the leading slash and `battenboard.v1.`.
const TABLE: &[(&str, Need)] = &[
    ("AccountService/CreateAccount", Anyone),
    ("AccountService/SignIn", Anyone),
    ("AccountService/RefreshSession", Anyone),
    ("AccountService/SignOut", Account),
    ("AccountService/GetAccount", Account),
    ("AccountService/ListSessions", Account),
    ("AccountService/EndSession", Account),
    ("AccountService/ChangePassword", Account),
    ("AccountService/RenewRecoveryCodes", Account),
    ("AccountService/RecoverAccount", Anyone),
    ("GroupService/CreateGroup", Account),
    ("GroupService/GetGroup", Crew(Onlooker)),
    ("GroupService/ListGroups", Account),
    ("GroupService/CreateInvitation", Crew(Keeper)),
    ("GroupService/AcceptInvitation", Account),
    ("GroupService/ListCrew", Crew(Onlooker)),
    ("GroupService/UpdateCrewRight", Crew(Keeper)),
    // Each may leave by himself; taking out somebody else needs a keeper, which app::groups asks for beyond this row.
    ("GroupService/RemoveCrew", Crew(Onlooker)),
    ("DesignService/ListDesigns", Crew(Onlooker)),
    ("DesignService/GetDesign", Read),
    ("DesignService/SubmitRevision", Crew(Builder)),
    ("DesignService/ListRevisions", Read),
    ("DesignService/GetRevision", Read),
    ("DesignService/GetRevisionBody", Read),
    ("DesignService/CompareRevisions", Read),
    ("DesignService/UpdateDesignVisibility", Design(Keeper)),
    ("DesignService/TryFrame", Account),
    ("FindingService/GetFindings", Read),
    ("FindingService/WatchCheck", Design(Onlooker)),
    ("RemarkService/CreateRemark", Design(Reviewer)),
    ("RemarkService/GetRemark", Read),
    ("RemarkService/ListRemarks", Read),
    ("RemarkService/AnswerRemark", Design(Reviewer)),
    // Only its author, or another where he has left, which app::remarks asks for beyond this row.
    ("RemarkService/ClearRemark", Design(Reviewer)),
    ("RemarkService/RaiseRemarkAgain", Design(Reviewer)),
    ("RemarkService/SetRemarkAside", Design(Keeper)),
    ("ReviewService/MarkLookedAt", Design(Reviewer)),
    // Not on a design one has submitted to, which app::reviews asks for beyond this row.
    ("ReviewService/ConcludeReview", Design(Reviewer)),
    ("ReviewService/GetReview", Read),
    ("ReviewService/BeginOwnSums", Design(Reviewer)),
    ("ReviewService/EndOwnSums", Design(Reviewer)),
    // Builders for designs they have submitted to, which app::cutting asks for beyond this row, and for overriding a keeper.
    ("CuttingService/IssueForCutting", Design(Builder)),
    ("CuttingService/TakeBackCuttingStamp", Design(Builder)),
    ("CuttingService/ListCuttingStamps", Crew(Onlooker)),
    ("CuttingService/GrantConcession", Design(Keeper)),
    ("CuttingService/ListConcessions", Crew(Onlooker)),
    ("CuttingService/RecordAsBuilt", Design(Builder)),
    ("CuttingService/ListAsBuilts", Crew(Onlooker)),
    ("NoticeService/HangNotice", Design(Builder)),
    // A notice is found by its id: app::notices asks for what each needs beyond an account.
    ("NoticeService/GetNotice", Account),
    ("NoticeService/ListNotices", Account),
    ("NoticeService/ListGroupNotices", Crew(Onlooker)),
    ("NoticeService/TakeDownNotice", Account),
    ("NoticeService/TakeUpNotice", Account),
    ("NoticeService/HandBackNotice", Account),
    ("NoticeService/EndTakeUp", Account),
    ("NoticeService/GetReviewerRecord", Account),
    // Each sees the news of his own groups and of the noticeboard, which app::news says in one place.
    ("NewsService/ListNews", Account),
    ("NewsService/ListenNews", Account),
    ("ProofService/ListProofResults", Read),
    ("VehicleService/ListVehicles", Crew(Onlooker)),
    ("VehicleService/GetVehicle", Crew(Onlooker)),
    ("VehicleService/RecordSurvey", Crew(Builder)),
    ("VehicleService/SumVehicleMasses", Crew(Onlooker)),
    ("ServerInfoService/GetServerInfo", Anyone),
];

/// What the method at a path (`/battenboard.v1.GroupService/GetGroup`) needs.
pub fn need_of(path: &str) -> Need {
    let Some(method) = path.strip_prefix("/battenboard.v1.") else { return Need::Nobody };
    TABLE.iter().find(|(name, _)| *name == method).map_or(Need::Nobody, |(_, need)| *need)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::{Need, Right, TABLE, need_of};
    use prost::Message;
    use std::collections::BTreeSet;

    fn methods_of_the_descriptor() -> BTreeSet<String> {
        let set = prost_types::FileDescriptorSet::decode(battenboard_proto::FILE_DESCRIPTOR_SET).unwrap();
        let files = set.file.iter().filter(|file| file.package() == "battenboard.v1");
        files
            .flat_map(|file| &file.service)
            .flat_map(|service| service.method.iter().map(|method| format!("{}/{}", service.name(), method.name())))
            .collect()
    }

    #[test]
    fn every_method_has_a_row_and_every_row_a_method() {
        let rows: BTreeSet<String> = TABLE.iter().map(|(name, _)| (*name).to_owned()).collect();
        assert_eq!(rows.len(), TABLE.len(), "a method has two rows");
        assert_eq!(rows, methods_of_the_descriptor());
    }

    #[test]
    fn what_is_not_in_the_table_is_refused() {
        for path in ["", "/", "/battenboard.v1.GroupService/Nothing", "battenboard.v1.GroupService/GetGroup", "/x.Y/Z"]
        {
            assert_eq!(need_of(path), Need::Nobody, "{path}");
        }
        assert_eq!(need_of("/battenboard.v1.GroupService/GetGroup"), Need::Crew(Right::Onlooker));
    }

    #[test]
    fn rights_include_those_before_them_and_keep_their_words() {
        let all = [Right::Onlooker, Right::Reviewer, Right::Builder, Right::Keeper];
        assert!(all.is_sorted());
        for right in all {
            assert_eq!(Right::of_word(right.word()), Some(right));
        }
        assert_eq!(Right::of_word("owner"), None);
    }
}
