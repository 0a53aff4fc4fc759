//! What was typed, and nothing of what it means: no file is read here.

mod cutting;
mod opinion;
mod people;
mod proof;
mod vehicle;

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

pub use cutting::{AsBuiltArgs, ConcedeArgs, ConcessionsArgs, IssueArgs, TakeBackArgs};
pub use opinion::{
    AskArgs, Audience, BeginOrEnd, ConcludeArgs, Concluded, EndLookArgs, How, LookedAtArgs, NoticeArgs, NoticesArgs,
    OwnSumsArgs, RecordArgs, ReviewArgs, ShowToArgs,
};
pub use people::{
    AccountArgs, AccountVerb, CrewArgs, CrewRight, EnterArgs, FoundGroupArgs, JoinArgs, LetInArgs, PasswordArgs,
    SignInArgs, SignUpArgs,
};
pub use proof::{ProofLoadArgs, Stay, Way};
pub use vehicle::{SurveyArgs, VehicleArgs};

/// Checks the frame of a camper van, and takes it to your build group for a second opinion.
///
/// `start` and `check` work alone, without account or server. Without a verb: where you are, and the next step.
#[derive(Debug, Parser)]
#[command(name = "batten", version, term_width = 80, max_term_width = 80, disable_help_subcommand = true)]
#[command(after_help = "Exit codes: 0 holds, 1 falls short, 2 not checked, 3 usage or file, 4 server or network,\n\
                        5 not signed in or not allowed, 6 someone else submitted first.\n\n\
                        Examples:\n  batten start\n  batten check\n  batten why B3\n  batten try B3 45x70 --keep")]
pub struct CommandLine {
    /// The design file; without it `frame.toml`, or the only .toml file here
    #[arg(long, short = 'f', global = true, value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// Answer as JSON on stdout
    #[arg(long, global = true)]
    pub json: bool,
    /// Address of the server, e.g. https://boards.example:7313
    #[arg(long, global = true, value_name = "URL")]
    pub server: Option<String>,
    /// What to do
    #[command(subcommand)]
    pub verb: Option<Verb>,
}

/// What can be done.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Write a starter design file: at most six questions, then its first check
    Start(StartArgs),
    /// Check the design file, here and now, without account or server
    Check(CheckArgs),
    /// Explain one member: who presses on it, where the load goes, the sum, the mend
    Why(TagArgs),
    /// Try another timber for a member: before and after
    Try(TryArgs),
    /// Join a server with the line it printed: makes an account, enters the group
    Join(JoinArgs),
    /// Make an account on a server, and sign in
    SignUp(SignUpArgs),
    /// Sign in to a server
    SignIn(SignInArgs),
    /// Sign out, here and on the server
    SignOut,
    /// Your account: sessions, password, recovery codes
    Account(AccountArgs),
    /// Found a build group; you are its keeper
    FoundGroup(FoundGroupArgs),
    /// Let someone into your build group: prints a one-time code
    LetIn(LetInArgs),
    /// Enter a build group with a one-time code
    Enter(EnterArgs),
    /// Who is in the build group, and with which right
    Crew(CrewArgs),
    /// The designs of your build group
    Designs(GroupArgs),
    /// Submit the design file as a new revision
    Submit(SubmitArgs),
    /// The revisions of the design, newest first
    Revisions(DesignArgs),
    /// What changed from one revision to another, and what that did
    Compare(CompareArgs),
    /// Fetch the file of a revision as it was written
    FetchFile(FetchFileArgs),
    /// Remark on a member, joint, anchor or deck (or `all` for the whole)
    Remark(RemarkArgs),
    /// Remark with a load and a limit, reckoned by the server on every revision
    ProofLoad(ProofLoadArgs),
    /// The remarks on the design
    Remarks(RemarksArgs),
    /// Answer a remark
    Answer(AnswerArgs),
    /// Clear a remark that you made: it is mended or no longer matters
    Clear(ClearArgs),
    /// Raise a remark again: it is not mended after all
    RaiseAgain(AnswerArgs),
    /// Set aside a remark from outside the crew, with a reason (keepers)
    SetAside(AnswerArgs),
    /// Ask for a second opinion: hang a notice on the noticeboard
    Ask(AskArgs),
    /// The noticeboard: who asks for a second opinion, the oldest first
    Notices(NoticesArgs),
    /// Take a notice up: from then on you read its design and remark on it
    TakeUp(NoticeArgs),
    /// Hand a notice back: somebody else please
    HandBack(NoticeArgs),
    /// Take a notice down before its day
    TakeDown(NoticeArgs),
    /// End that somebody looks at a design (keepers)
    EndLook(EndLookArgs),
    /// What somebody has done as a reviewer for other groups
    Record(RecordArgs),
    /// Say who may see the design (keepers)
    ShowTo(ShowToArgs),
    /// Say what you looked at, and how
    LookedAt(LookedAtArgs),
    /// Conclude on a revision: cut it, or not
    Conclude(ConcludeArgs),
    /// Where the second opinion of a revision stands; first what nobody looked at
    Review(ReviewArgs),
    /// Make sums of your own before you see the server's
    OwnSums(OwnSumsArgs),
    /// Say that a revision is the one to cut
    IssueForCutting(IssueArgs),
    /// Take the cutting stamp of a revision back
    TakeBack(TakeBackArgs),
    /// Accept a finding as it is, with a reason (keepers)
    Concede(ConcedeArgs),
    /// Findings of a revision that were accepted as they are
    Concessions(ConcessionsArgs),
    /// Record what was built, weighed and measured
    AsBuilt(AsBuiltArgs),
    /// What was built, each measured figure beside the computed one
    AsBuilts(DesignArgs),
    /// The vehicles of your build group
    Vehicles(GroupArgs),
    /// A vehicle: its surveys, and what all frames in it weigh together
    Vehicle(VehicleArgs),
    /// Record the file's vehicle as the next survey, or take the latest into the file
    Survey(SurveyArgs),
    /// What happened since you last looked
    News(NewsArgs),
    /// Hear what happens as it happens, until Ctrl-C
    #[command(after_help = "Examples:\n  batten listen\n  batten listen --json | jq .kind")]
    Listen,
    /// Explain a word in three lines
    Words(WordsArgs),
    /// Print the completions for a shell
    Completions(CompletionsArgs),
    /// Write manual pages, one for each verb
    Pages(PagesArgs),
}

/// What to build.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum What {
    /// A berth platform on rails and posts
    Platform,
    /// A settle or bench along a wall
    Settle,
    /// A sleeping deck high up on posts
    Mezzanine,
}

/// Arguments of `start`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  batten start --what platform --length 2m --width 1.3m --height 45cm --timber 45x70 \
                        --sleepers 2 --yes\n  batten start --name dunlin-platform --after curlew-platform \
                        --letter C"
)]
pub struct StartArgs {
    /// What to build
    #[arg(long)]
    pub what: Option<What>,
    /// Length along the vehicle, e.g. `2 m`, `200 cm`, `2000`
    #[arg(long)]
    pub length: Option<String>,
    /// Width across the vehicle
    #[arg(long)]
    pub width: Option<String>,
    /// Clear height of the bay below
    #[arg(long)]
    pub height: Option<String>,
    /// Timber at hand, width x depth in mm, e.g. `45x70`
    #[arg(long)]
    pub timber: Option<String>,
    /// How many sleep on it
    #[arg(long)]
    pub sleepers: Option<u8>,
    /// Short name of the design
    #[arg(long)]
    pub name: Option<String>,
    /// What it is drawn after
    #[command(flatten)]
    pub after: AfterArgs,
    /// Take the usual answer wherever none is given, and ask nothing
    #[arg(long, short)]
    pub yes: bool,
    /// Write over a file that is there already
    #[arg(long)]
    pub over: bool,
}

/// Another design that one starts from.
#[derive(Debug, Args)]
pub struct AfterArgs {
    /// Start from a revision of this design instead
    #[arg(long, value_name = "DESIGN", requires = "name")]
    #[arg(conflicts_with_all = ["what", "length", "width", "height", "timber", "sleepers"])]
    pub after: Option<String>,
    /// Letter of that revision; without it the latest
    #[arg(long, requires = "after")]
    pub letter: Option<String>,
    /// Its group
    #[command(flatten)]
    pub group: GroupArgs,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  batten check\n  batten check --stay\n  batten check --json | less")]
pub struct CheckArgs {
    /// Every check, mass and assumption as a table
    #[arg(long)]
    pub table: bool,
    /// Draw the frame in characters
    #[arg(long)]
    pub picture: bool,
    /// Stay, and check again each time the file is saved
    #[arg(long)]
    pub stay: bool,
}

/// A member, joint, anchor or deck.
#[derive(Debug, Args)]
pub struct TagArgs {
    /// Its tag, e.g. `B3`; `design` for the frame as a whole
    pub tag: String,
}

/// Arguments of `try`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten try B3 45x70\n  batten try 'B*' 45x70 --keep")]
pub struct TryArgs {
    /// Tag of the member, or of a whole row: `B*`
    pub tag: String,
    /// Stock to try: one of the file's, or width x depth
    pub stock: String,
    /// Write it into the file; everything else in it stays as it is
    #[arg(long)]
    pub keep: bool,
}

/// Which group.
#[derive(Clone, Debug, Default, Args)]
pub struct GroupArgs {
    /// The build group; without it this folder's, or the only one you are in
    #[arg(long, short)]
    pub group: Option<String>,
}

/// Which design.
#[derive(Clone, Debug, Default, Args)]
pub struct DesignArgs {
    /// Which group
    #[command(flatten)]
    pub group: GroupArgs,
    /// The design; without it this folder's
    #[arg(long, short)]
    pub design: Option<String>,
}

/// Arguments of `submit`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten submit --note \"bearers now 45x70\"")]
pub struct SubmitArgs {
    /// Which group
    #[command(flatten)]
    pub group: GroupArgs,
    /// What you say of it
    #[arg(long)]
    pub note: Option<String>,
    /// Letter of the revision you had before you; without it the one this folder remembers
    #[arg(long, value_name = "LETTER")]
    pub worked_from: Option<String>,
    /// Do not say after which revision the design was drawn
    #[arg(long)]
    pub forget_source: bool,
    /// Remove what was kept while the server could not be reached, and send nothing
    #[arg(long, conflicts_with_all = ["note", "worked_from", "group", "forget_source"])]
    pub drop_kept: bool,
}

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// Letter before
    pub from: String,
    /// Letter afterwards; without it the latest
    pub to: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `fetch-file`.
#[derive(Debug, Args)]
pub struct FetchFileArgs {
    /// Letter; without it the latest
    pub letter: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
    /// Write it there; `-` is stdout. Without it DESIGN-LETTER.toml
    #[arg(long, value_name = "FILE")]
    pub to: Option<PathBuf>,
    /// Write over a file that is there already
    #[arg(long)]
    pub over: bool,
}

/// What a remark is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// Must be mended
    Snag,
    /// Could be better
    Advice,
    /// Wants an answer
    Question,
    /// Well made
    WellMade,
}

/// Arguments of `remark`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten remark M4 \"springy under a knee\" --kind snag")]
pub struct RemarkArgs {
    /// Tag of what it is about, or `all`
    pub tag: String,
    /// What you say
    pub text: String,
    /// What it is
    #[arg(long, value_enum, default_value = "advice")]
    pub kind: Kind,
    /// Place along the member from its marked end (`from` in the file), e.g. `600` or `60 cm`
    #[arg(long)]
    pub at: Option<String>,
    /// Letter of the revision; without it the latest
    #[arg(long)]
    pub letter: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `remarks`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  batten remarks --open\n  batten remarks --on B7\n  batten remarks --as-of C")]
pub struct RemarksArgs {
    /// Only those not cleared yet
    #[arg(long)]
    pub open: bool,
    /// Only those made on this revision
    #[arg(long)]
    pub letter: Option<String>,
    /// Only those that are on this tag now, whatever it was called before
    #[arg(long, value_name = "TAG")]
    pub on: Option<String>,
    /// As they stood on this revision, without those made later
    #[arg(long, value_name = "LETTER")]
    pub as_of: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `answer`, `raise-again` and `set-aside`.
#[derive(Debug, Args)]
pub struct AnswerArgs {
    /// Number of the remark
    pub number: i64,
    /// What you say
    pub text: String,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `clear`.
#[derive(Debug, Args)]
pub struct ClearArgs {
    /// Number of the remark
    pub number: i64,
    /// Why it is done with
    pub text: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `news`.
#[derive(Debug, Args)]
pub struct NewsArgs {
    /// All that are kept, from the oldest on
    #[arg(long)]
    pub all: bool,
}

/// Arguments of `words`.
#[derive(Debug, Args)]
pub struct WordsArgs {
    /// The word; without it all of them
    #[arg(num_args = 0..)]
    pub name: Vec<String>,
}

/// Arguments of `completions`.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// The shell
    pub shell: clap_complete::Shell,
}

/// Arguments of `pages`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten pages ~/.local/share/man/man1\n  man batten-check")]
pub struct PagesArgs {
    /// Folder to write them into; made where it is missing
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
}

#[cfg(test)]
#[path = "args_tests.rs"]
mod tests;
