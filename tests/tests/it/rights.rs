//! Every method of the wire, asked by everybody, on designs of every visibility. The answers expected were written by
//! hand from what the service promises (who sees what, who may do what), not from the server's own table.

#[path = "rights/calls.rs"]
mod calls;
#[path = "rights/world.rs"]
mod world;

use battenboard_tests::harness::{Bench, on_both};
use std::collections::BTreeSet;
use tonic::Code;
use world::{World, words_of};

/// Who asks. The two that ask `before` ask for revision A, the rest for B, where the notice hangs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Who {
    /// Without a token.
    Visitor,
    /// Signed in, of another group.
    Stranger,
    StrangerBefore,
    Onlooker,
    Reviewer,
    /// Of the crew; the design is not his.
    Builder,
    /// Who submitted the design.
    Author,
    Keeper,
    /// Of another group; took the notice up.
    Taker,
    TakerBefore,
}

impl Who {
    const ALL: [Self; 10] = [
        Self::Visitor,
        Self::Stranger,
        Self::StrangerBefore,
        Self::Onlooker,
        Self::Reviewer,
        Self::Builder,
        Self::Author,
        Self::Keeper,
        Self::Taker,
        Self::TakerBefore,
    ];

    /// The revision he asks for.
    pub fn letter(self) -> &'static str {
        if matches!(self, Self::StrangerBefore | Self::TakerBefore) { "A" } else { "B" }
    }
}

/// What is expected: of methods about no design once, else by visibility: the group alone, noticeboard, open.
///
/// Columns as in [`Who`]: visitor; stranger at B, at A; onlooker, reviewer, builder, author, keeper; taker at B, at A.
/// `+` allowed, `N` NOT_FOUND, `P` PERMISSION_DENIED, `U` UNAUTHENTICATED, `F` FAILED_PRECONDITION, `.` not asked.
enum Expected {
    Once(&'static str),
    By(&'static str, &'static str, &'static str),
}

use Expected::{By, Once};

const EVERYBODY: Expected = Once("+ +. +++++ +.");
const ACCOUNTS: Expected = Once("U +. +++++ +.");
const CREW: Expected = Once("U N. +++++ N.");
const KEEPERS: Expected = Once("U N. PPPP+ N.");
/// Reads the design as it is now.
const READ_LATEST: Expected = By("N N. +++++ +.", "N +. +++++ +.", "+ +. +++++ +.");
/// Reads a revision, or what was said of one.
const READ: Expected = By("N NN +++++ +N", "N +N +++++ +N", "+ ++ +++++ ++");
/// What only the crew see of a design that others may see too.
const CREW_OF_DESIGN: Expected = By("U N. +++++ P.", "U P. +++++ P.", "U P. +++++ P.");
const BUILDERS: Expected = By("U N. PP+++ P.", "U P. PP+++ P.", "U P. PP+++ P.");
const AUTHOR_AND_KEEPER: Expected = By("U N. PPP++ P.", "U P. PPP++ P.", "U P. PPP++ P.");
const KEEPERS_OF_DESIGN: Expected = By("U N. PPPP+ P.", "U P. PPPP+ P.", "U P. PPPP+ P.");
/// Remarks and looks: whoever took the notice up from its revision on; an earlier one that is open he reads, no more. The
/// right on a design comes before the letter: who has none learns nothing of its letters.
const REVIEWERS_AT: Expected = By("U NN P++++ +N", "U PP P++++ +N", "U PP P++++ +P");
/// Acts on a remark: a remark on a revision that one does not see does not exist.
const REVIEWERS_ON: Expected = By("U NN P++++ +N", "U PN P++++ +N", "U PP P++++ +P");
const REVIEWERS: Expected = By("U N. P++++ +.", "U P. P++++ +.", "U P. P++++ +.");
/// A notice that hangs is seen by all who are signed in, whatever they see of its design.
const NOTICE_SEEN: Expected = By("U +. +++++ +.", "U +. +++++ +.", "U +. +++++ +.");

const TABLE: &[(&str, Expected)] = &[
    ("AccountService/CreateAccount", EVERYBODY),
    ("AccountService/SignIn", EVERYBODY),
    ("AccountService/RefreshSession", EVERYBODY),
    ("AccountService/RecoverAccount", EVERYBODY),
    ("AccountService/SignOut", ACCOUNTS),
    ("AccountService/GetAccount", ACCOUNTS),
    ("AccountService/ListSessions", ACCOUNTS),
    ("AccountService/EndSession", ACCOUNTS),
    ("AccountService/ChangePassword", ACCOUNTS),
    ("AccountService/RenewRecoveryCodes", ACCOUNTS),
    ("GroupService/CreateGroup", ACCOUNTS),
    ("GroupService/GetGroup", CREW),
    ("GroupService/ListGroups", ACCOUNTS),
    ("GroupService/CreateInvitation", KEEPERS),
    ("GroupService/AcceptInvitation", ACCOUNTS),
    ("GroupService/ListCrew", CREW),
    ("GroupService/UpdateCrewRight", KEEPERS),
    ("GroupService/RemoveCrew another", KEEPERS),
    ("GroupService/RemoveCrew himself", CREW),
    ("DesignService/ListDesigns", CREW),
    ("DesignService/GetDesign", READ_LATEST),
    ("DesignService/SubmitRevision", BUILDERS),
    ("DesignService/SubmitRevision new", KEEPERS_AND_BUILDERS),
    ("DesignService/ListRevisions", READ_LATEST),
    ("DesignService/GetRevision", READ),
    ("DesignService/GetRevisionBody", READ),
    ("DesignService/CompareRevisions", READ),
    ("DesignService/UpdateDesignVisibility", KEEPERS_OF_DESIGN),
    ("DesignService/TryFrame", ACCOUNTS),
    ("FindingService/GetFindings", READ),
    ("FindingService/WatchCheck", By("U NN +++++ +N", "U +N +++++ +N", "U ++ +++++ ++")),
    ("RemarkService/CreateRemark", REVIEWERS_AT),
    ("RemarkService/GetRemark", READ),
    ("RemarkService/ListRemarks", READ),
    ("RemarkService/AnswerRemark", REVIEWERS_ON),
    // Made by the reviewer: he alone clears it while he is there.
    ("RemarkService/ClearRemark", By("U NN P+PPP PN", "U PN P+PPP PN", "U PP P+PPP PP")),
    ("RemarkService/RaiseRemarkAgain", REVIEWERS_ON),
    ("RemarkService/SetRemarkAside", By("U NN PPPP+ PN", "U PN PPPP+ PN", "U PP PPPP+ PP")),
    ("ProofService/ListProofResults", READ),
    ("ReviewService/MarkLookedAt", REVIEWERS_AT),
    // Nobody on a design that he has submitted to.
    ("ReviewService/ConcludeReview", By("U NN P++P+ +N", "U PP P++P+ +N", "U PP P++P+ +P")),
    ("ReviewService/GetReview", READ),
    ("ReviewService/BeginOwnSums", REVIEWERS),
    ("ReviewService/EndOwnSums", REVIEWERS),
    ("CuttingService/IssueForCutting", AUTHOR_AND_KEEPER),
    ("CuttingService/TakeBackCuttingStamp", AUTHOR_AND_KEEPER),
    ("CuttingService/ListCuttingStamps", CREW_OF_DESIGN),
    ("CuttingService/GrantConcession", KEEPERS_OF_DESIGN),
    ("CuttingService/ListConcessions", CREW_OF_DESIGN),
    ("CuttingService/RecordAsBuilt", BUILDERS),
    ("CuttingService/ListAsBuilts", CREW_OF_DESIGN),
    ("NoticeService/HangNotice", BUILDERS),
    ("NoticeService/GetNotice", NOTICE_SEEN),
    // Once it is down: its group, and who took it up once.
    ("NoticeService/GetNotice taken down", By("U N. +++++ +.", "U N. +++++ +.", "U N. +++++ +.")),
    ("NoticeService/ListNotices", ACCOUNTS),
    ("NoticeService/ListGroupNotices", CREW),
    ("NoticeService/TakeDownNotice", By("U P. PPP++ P.", "U P. PPP++ P.", "U P. PPP++ P.")),
    ("NoticeService/TakeUpNotice", By("U +. P++F+ +.", "U +. P++F+ +.", "U +. P++F+ +.")),
    ("NoticeService/HandBackNotice", By("U +. F++F+ +.", "U +. F++F+ +.", "U +. F++F+ +.")),
    ("NoticeService/EndTakeUp", By("U P. PPPP+ P.", "U P. PPPP+ P.", "U P. PPPP+ P.")),
    ("NoticeService/GetReviewerRecord", ACCOUNTS),
    ("NewsService/ListNews", ACCOUNTS),
    ("NewsService/ListenNews", ACCOUNTS),
    ("VehicleService/ListVehicles", CREW),
    ("VehicleService/GetVehicle", CREW),
    // Plate and weighings are the crew's alone, however widely its designs are shown.
    ("VehicleService/RecordSurvey", KEEPERS_AND_BUILDERS),
    ("VehicleService/SumVehicleMasses", CREW),
    ("ServerInfoService/GetServerInfo", EVERYBODY),
];

/// A design that is not there yet belongs to its group alone.
const KEEPERS_AND_BUILDERS: Expected = Once("U N. PP+++ N.");

/// Designs of each visibility, in the order of [`Expected::By`].
const DESIGNS: [&str; 3] = ["hidden", "shown", "opened"];

fn sign(outcome: Result<(), Code>) -> char {
    match outcome {
        Ok(()) => '+',
        Err(Code::NotFound) => 'N',
        Err(Code::PermissionDenied) => 'P',
        Err(Code::Unauthenticated) => 'U',
        Err(Code::FailedPrecondition) => 'F',
        Err(_) => '?',
    }
}

fn columns(row: &str) -> Vec<char> {
    let columns: Vec<char> = row.chars().filter(|sign| *sign != ' ').collect();
    assert_eq!(columns.len(), Who::ALL.len(), "{row}");
    columns
}

#[test]
fn every_method_has_a_row_here() {
    let rows: BTreeSet<&str> = TABLE.iter().filter_map(|(row, _)| row.split(' ').next()).collect();
    let methods: BTreeSet<String> = calls::methods_of_the_descriptor();
    let missing: Vec<_> = methods.iter().filter(|method| !rows.contains(method.as_str())).collect();
    let gone: Vec<_> = rows.iter().filter(|row| !methods.contains(**row)).collect();
    assert!(missing.is_empty(), "nobody has said who may call {missing:?}");
    assert!(gone.is_empty(), "{gone:?}");
    assert!(methods.len() > 50, "{methods:?}");
}

#[test]
fn everybody_gets_of_every_method_what_is_written_here() {
    on_both("rights of everybody", async |bench: &mut Bench| {
        let mut world = World::of(bench).await;
        let mut wrong = Vec::new();
        let mut asked = 0;
        for (row, expected) in TABLE {
            let by_design: Vec<&str> = match expected {
                Once(columns) => vec![columns],
                By(group, noticeboard, open) => vec![group, noticeboard, open],
            };
            for (signs, design) in by_design.into_iter().zip(DESIGNS) {
                for (who, expected) in Who::ALL.into_iter().zip(columns(signs)) {
                    if expected == '.' {
                        continue;
                    }
                    asked += 1;
                    let outcome = world.ask(row, who, design).await;
                    let got = sign(outcome.as_ref().map_err(|status| status.code()).copied());
                    if got != expected {
                        wrong.push(format!("{row} of `{design}` by {who:?}: {expected} expected, {got}: {outcome:?}"));
                    }
                }
            }
        }
        assert!(asked > 1000, "{asked}");
        assert!(wrong.is_empty(), "{} of {asked}:\n{}", wrong.len(), wrong.join("\n"));
    });
}

#[test]
fn what_a_stranger_may_not_see_is_answered_as_what_is_not_there() {
    on_both("rights hidden and absent", async |bench: &mut Bench| {
        let mut world = World::of(bench).await;
        let mut compared = 0;
        for (row, expected) in TABLE {
            let By(hidden, ..) = expected else { continue };
            for (who, expected) in Who::ALL.into_iter().zip(columns(hidden)) {
                if expected != 'N' || matches!(who, Who::TakerBefore) {
                    continue;
                }
                let hidden = world.ask(row, who, DESIGNS[0]).await.expect_err(row);
                let Some(absent) = world.ask_of_what_is_not_there(row, who).await else { continue };
                let absent = absent.expect_err(row);
                assert_eq!(words_of(&hidden), words_of(&absent), "{row} by {who:?}");
                compared += 1;
            }
        }
        assert!(compared > 40, "{compared}");
    });
}
