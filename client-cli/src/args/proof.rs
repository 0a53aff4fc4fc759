//! Arguments of `proof-load`.

use super::{DesignArgs, Kind};
use clap::{Args, ValueEnum};

/// Where a force points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Way {
    /// Down
    Down,
    /// Up
    Up,
    /// To the front of the vehicle
    Front,
    /// To its rear
    Rear,
    /// To its left
    Left,
    /// To its right
    Right,
}

/// How long a load stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Stay {
    /// Six months to ten years: storage
    Long,
    /// A week to six months: lying
    Medium,
    /// Under a week: standing, sitting, kneeling
    Short,
    /// Moments
    Instant,
}

/// Arguments of `proof-load`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  batten proof-load F2 100kg --at 600 --most-sag 5mm \"does it carry me?\"\n  \
                  batten proof-load D1 100kg --at 1500,0 --most-used 80% \"a foot here\"\n  \
                  batten proof-load F2 100kg --at 600 --most-sag 5mm --here")]
pub struct ProofLoadArgs {
    /// Tag of the member or deck it stands on
    pub tag: String,
    /// The load: a mass that stands there, `100kg`, or a force, `1.2kN`
    pub load: String,
    /// What you say; needed unless it is only run here
    #[arg(required_unless_present = "here")]
    pub text: Option<String>,
    /// Place: distance from the member's marked end (`from` in the file), `600`; on a deck a
    /// point of the vehicle, `1500,0`
    #[arg(long, allow_hyphen_values = true)]
    pub at: String,
    /// Most sag of that place, e.g. `5mm`
    #[arg(long, required_unless_present = "most_used")]
    pub most_sag: Option<String>,
    /// Most of what it can carry that may be used, e.g. `80%`
    #[arg(long)]
    pub most_used: Option<String>,
    /// The sag in the end, with creep, in place of the one at once
    #[arg(long = "final")]
    pub last: bool,
    /// How long it stays, for strength
    #[arg(long, value_enum, default_value = "short")]
    pub stays: Stay,
    /// Where a force points
    #[arg(long, value_enum, default_value = "down")]
    pub way: Way,
    /// Patch on a deck, along and across the vehicle, e.g. `250x250`
    #[arg(long)]
    pub patch: Option<String>,
    /// What the remark is
    #[arg(long, value_enum, default_value = "snag")]
    pub kind: Kind,
    /// Run it on the file here, without a server, and remark nothing
    #[arg(long)]
    pub here: bool,
    /// Letter of the revision; without it the latest
    #[arg(long)]
    pub letter: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}
