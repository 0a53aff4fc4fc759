//! Arguments of the verbs about vehicles and their surveys.

use super::GroupArgs;
use clap::Args;

/// Arguments of `vehicle`.
#[derive(Debug, Args)]
#[command(
    after_help = "The exit code is 1 where an axle or the whole is over its limit.\n\nExample:\n  batten vehicle Curlew"
)]
pub struct VehicleArgs {
    /// Its name; without it that of the design file
    pub name: Option<String>,
    /// Which group
    #[command(flatten)]
    pub group: GroupArgs,
}

/// Arguments of `survey`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  batten survey --note \"weighbridge at the quay, full tank\"\n  \
                        batten survey Curlew --take")]
pub struct SurveyArgs {
    /// The vehicle; without it that of the design file
    pub name: Option<String>,
    /// Take its latest survey into the design file; everything else in it stays as it is
    #[arg(long)]
    pub take: bool,
    /// What is to be said of the survey, e.g. who weighed and what was aboard
    #[arg(long, conflicts_with = "take")]
    pub note: Option<String>,
    /// Which group
    #[command(flatten)]
    pub group: GroupArgs,
}
