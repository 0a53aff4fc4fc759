//! Arguments of the verbs about second opinions: notices, looks, conclusions, own sums.

use super::{DesignArgs, GroupArgs};
use clap::{Args, ValueEnum};

/// Arguments of `ask`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  batten ask \"is 45 wide enough for the rails?\" --kind \"berth platform\" \\\n         \
                        --by 2026-12-01 --skill joinery"
)]
pub struct AskArgs {
    /// What worries you
    pub worry: String,
    /// The kind of frame in words, e.g. `berth platform`
    #[arg(long)]
    pub kind: String,
    /// The day by which an opinion is wanted: to its end, where you are
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub by: String,
    /// The vehicle in words, e.g. `panel van`; without it the design's
    #[arg(long)]
    pub vehicle: Option<String>,
    /// What a reviewer should know about; may stand up to five times
    #[arg(long = "skill", value_name = "SKILL")]
    pub skills: Vec<String>,
    /// How many reviewers may have it at a time; without it 3
    #[arg(long, value_name = "N")]
    pub reviewers: Option<i32>,
    /// Letter of the revision; without it the latest
    #[arg(long)]
    pub letter: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `notices`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  batten notices --skill joinery\n  batten notices --since 2026-11-01\n  \
                        batten notices --ours")]
pub struct NoticesArgs {
    /// Only for this vehicle, as its notice says it
    #[arg(long)]
    pub vehicle: Option<String>,
    /// Only for this kind of frame, as its notice says it
    #[arg(long)]
    pub kind: Option<String>,
    /// Only those that ask for this skill
    #[arg(long)]
    pub skill: Option<String>,
    /// Only those hung on this day or later
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub since: Option<String>,
    /// Only those hung before this day
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub before: Option<String>,
    /// Those of your build group, whatever became of them, and who took them up
    #[arg(long, conflicts_with_all = ["vehicle", "kind", "skill", "since", "before"])]
    pub ours: bool,
    /// Which group, with --ours
    #[command(flatten)]
    pub group: GroupArgs,
}

/// A notice.
#[derive(Debug, Args)]
pub struct NoticeArgs {
    /// Its code, as `batten notices` shows it
    pub code: String,
}

/// Arguments of `end-look`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten end-look K7M2P tove --reason \"the platform is built by now\"")]
pub struct EndLookArgs {
    /// Code of the notice
    pub code: String,
    /// Account name of who took it up
    pub name: String,
    /// Why; it is shown to that account
    #[arg(long)]
    pub reason: String,
}

/// Arguments of `record`.
#[derive(Debug, Args)]
pub struct RecordArgs {
    /// Account name
    pub name: String,
}

/// Who may see a design.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Audience {
    /// Your group, and who took up a notice of it
    Group,
    /// Also every account here, while a notice of it hangs
    Noticeboard,
    /// Anyone, without an account too
    All,
}

/// Arguments of `show-to`.
#[derive(Debug, Args)]
pub struct ShowToArgs {
    /// Who may see it from now on
    #[arg(value_enum)]
    pub audience: Audience,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// How something was looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum How {
    /// Looked at only
    Only,
    /// The server's sums gone through
    Servers,
    /// By sums of your own
    Own,
}

/// Arguments of `looked-at`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  batten looked-at B1 B2 RL/B1 --how servers\n  \
                        batten looked-at B3 --how own --own-utilisation 65% --own-sag 4mm")]
pub struct LookedAtArgs {
    /// Tags of members, joints, anchors, decks; `all` for every member
    #[arg(required = true, num_args = 1.., value_name = "TAG")]
    pub tags: Vec<String>,
    /// How
    #[arg(long, value_enum, default_value = "only")]
    pub how: How,
    /// Greatest utilisation by your own sums, e.g. `65%` or `0.65`
    #[arg(long, value_name = "SHARE")]
    pub own_utilisation: Option<String>,
    /// Greatest sag by your own sums, e.g. `4mm`
    #[arg(long, value_name = "LENGTH")]
    pub own_sag: Option<String>,
    /// What you say of it
    #[arg(long)]
    pub note: Option<String>,
    /// Letter of the revision; without it the latest
    #[arg(long)]
    pub letter: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// What a reviewer concludes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Concluded {
    /// Cut it
    CutIt,
    /// Cut it with these changes
    WithChanges,
    /// Change it and send it again
    Change,
    /// Don't build this
    DoNotBuild,
}

/// Arguments of `conclude`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten conclude cut-it --member B3=with-changes:\"turn it: heart side up\"")]
pub struct ConcludeArgs {
    /// Of the whole
    #[arg(value_enum)]
    pub disposition: Concluded,
    /// What you say of it
    #[arg(long)]
    pub note: Option<String>,
    /// Where one member differs: TAG=DISPOSITION or TAG=DISPOSITION:NOTE; may stand more than once
    #[arg(long = "member", value_name = "TAG=WHAT:NOTE")]
    pub members: Vec<String>,
    /// Letter of the revision; without it the latest
    #[arg(long)]
    pub letter: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `review`.
#[derive(Debug, Args)]
pub struct ReviewArgs {
    /// Letter of the revision; without it the latest
    pub letter: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Begin or end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum BeginOrEnd {
    /// From now on the server keeps its figures of this design from you
    Begin,
    /// It shows them again
    End,
}

/// Arguments of `own-sums`.
#[derive(Debug, Args)]
#[command(after_help = "Own figures go in with `batten looked-at TAG --how own --own-utilisation 65%`.")]
pub struct OwnSumsArgs {
    /// Begin or end
    #[arg(value_enum)]
    pub what: BeginOrEnd,
    /// Why they are opened before figures of your own are in; it is recorded
    #[arg(long)]
    pub reason: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}
