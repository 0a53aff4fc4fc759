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
}

use Need::{Account, Anyone, Crew};
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
    ("DesignService/GetDesign", Crew(Onlooker)),
    ("DesignService/SubmitRevision", Crew(Builder)),
    ("DesignService/ListRevisions", Crew(Onlooker)),
    ("DesignService/GetRevision", Crew(Onlooker)),
    ("DesignService/GetRevisionBody", Crew(Onlooker)),
    ("DesignService/CompareRevisions", Crew(Onlooker)),
    ("DesignService/TryFrame", Account),
    ("FindingService/GetFindings", Crew(Onlooker)),
    ("FindingService/WatchCheck", Crew(Onlooker)),
    ("RemarkService/CreateRemark", Crew(Reviewer)),
    ("RemarkService/GetRemark", Crew(Onlooker)),
    ("RemarkService/ListRemarks", Crew(Onlooker)),
    ("RemarkService/AnswerRemark", Crew(Reviewer)),
    // Only its author, which app::remarks asks for beyond this row.
    ("RemarkService/ClearRemark", Crew(Reviewer)),
    ("RemarkService/RaiseRemarkAgain", Crew(Reviewer)),
    ("ProofService/ListProofResults", Crew(Onlooker)),
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
