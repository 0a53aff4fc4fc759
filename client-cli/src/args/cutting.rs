//! Arguments of the verbs from opinion to saw: the stamp, concessions, what was built.

use super::DesignArgs;
use clap::Args;

/// Arguments of `issue-for-cutting`.
#[derive(Debug, Args)]
#[command(after_help = "What stands in the way is listed, each with what would mend it; then the exit code is 1.")]
pub struct IssueArgs {
    /// Letter of the revision that is the one to cut
    pub letter: String,
    /// Go over what stands in the way, and why (keepers); both are recorded
    #[arg(long, value_name = "REASON")]
    pub over: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `take-back`.
#[derive(Debug, Args)]
pub struct TakeBackArgs {
    /// Letter of the revision that is not to be cut after all
    pub letter: String,
    /// Why
    pub reason: String,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `concede`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten concede C B3 sag-final \"a shelf for hats\"")]
pub struct ConcedeArgs {
    /// Letter of the revision
    pub letter: String,
    /// Member or deck
    pub tag: String,
    /// What of it, as `batten check --table` names it, e.g. `bending` or `sag-final`
    pub check: String,
    /// Why it is accepted as it is
    pub reason: String,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `concessions`.
#[derive(Debug, Args)]
pub struct ConcessionsArgs {
    /// Letter of the revision; without it the latest
    pub letter: Option<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}

/// Arguments of `as-built`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  batten as-built C --mass frame=31.5kg --mass stock:45x70=12kg\n  \
                        batten as-built C --sag B3@600:100kg=4mm --note \"B3 is larch\"")]
pub struct AsBuiltArgs {
    /// Letter of the revision that was built
    pub letter: String,
    /// What was built otherwise than drawn
    #[arg(long)]
    pub note: Option<String>,
    /// A mass on the scales: frame=MASS, stock:NAME=MASS or kind:NAME=MASS; may stand more than once
    #[arg(long = "mass", value_name = "WHAT=MASS")]
    pub masses: Vec<String>,
    /// How much further a member sagged under a mass: TAG@PLACE:MASS=SAG; may stand more than once. Load it low
    /// and bit by bit, with nobody under it, and stop if it cracks or slips; never what fell short
    #[arg(long = "sag", value_name = "TAG@PLACE:MASS=SAG")]
    pub sags: Vec<String>,
    /// Which design
    #[command(flatten)]
    pub design: DesignArgs,
}
