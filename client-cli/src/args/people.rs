//! Arguments of the verbs about accounts and build groups.

use super::GroupArgs;
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Where a password comes from: the terminal, unless a file is named. Never an argument.
#[derive(Debug, Args)]
pub struct PasswordArgs {
    /// File with the password on its first line; `-` reads stdin
    #[arg(long, value_name = "FILE")]
    pub password_file: Option<PathBuf>,
}

/// Arguments of `sign-up`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten sign-up ines --server http://localhost:7313 --code 7K2M-...")]
pub struct SignUpArgs {
    /// Account name: a to z, 0 to 9 and hyphens
    pub name: String,
    /// One-time code: an invitation, or the one the server printed at its first start
    #[arg(long)]
    pub code: Option<String>,
    /// The code is the one that the server printed at its first start
    #[arg(long, requires = "code")]
    pub first: bool,
    /// Where the password comes from
    #[command(flatten)]
    pub password: PasswordArgs,
}

/// Arguments of `sign-in`.
#[derive(Debug, Args)]
pub struct SignInArgs {
    /// Account name
    pub name: String,
    /// Where the password comes from
    #[command(flatten)]
    pub password: PasswordArgs,
}

/// Arguments of `join`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  batten join 192.168.1.20:7313/9f86d081.../k7m2p-...")]
pub struct JoinArgs {
    /// The line that the server printed, or that a keeper's `let-in` did: address, fingerprint, code
    #[arg(required = true, num_args = 1.., value_name = "LINE")]
    pub line: Vec<String>,
    /// Account name wanted: a to z, 0 to 9 and hyphens; asked for where it is not given
    #[arg(long)]
    pub name: Option<String>,
    /// Where the password comes from
    #[command(flatten)]
    pub password: PasswordArgs,
}

/// Arguments of `account`.
#[derive(Debug, Args)]
pub struct AccountArgs {
    /// What to do with it; without it: who you are
    #[command(subcommand)]
    pub what: Option<AccountVerb>,
}

/// What can be done with an account.
#[derive(Debug, Subcommand)]
pub enum AccountVerb {
    /// List your sessions
    Sessions,
    /// End one session
    End {
        /// Its id, as `sessions` shows it
        session: String,
    },
    /// Make ten fresh recovery codes; the former are good no more
    Codes {
        /// Where the password comes from
        #[command(flatten)]
        password: PasswordArgs,
    },
    /// Set a new password with a recovery code; all other sessions end
    #[command(after_help = "The code is one of the ten that you wrote down, or one that the host made for you with\n\
                            `battenboard-server reset NAME`.")]
    Recover {
        /// Account name
        name: String,
        /// File with the code on its first line and the new password on its second; `-` reads stdin
        #[arg(long, value_name = "FILE")]
        password_file: Option<PathBuf>,
    },
    /// Change the password; all other sessions end
    Password {
        /// File with the old password on its first line and the new one on its second; `-` reads stdin
        #[arg(long, value_name = "FILE")]
        password_file: Option<PathBuf>,
    },
}

/// Arguments of `found-group`.
#[derive(Debug, Args)]
pub struct FoundGroupArgs {
    /// Short name: a to z, 0 to 9 and hyphens
    pub name: String,
    /// What the crew call it
    #[arg(long)]
    pub title: Option<String>,
}

/// What one of the crew may do; each right includes those before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CrewRight {
    /// Reads
    Onlooker,
    /// Also remarks and answers
    Reviewer,
    /// Also submits
    Builder,
    /// Also looks after the crew
    Keeper,
}

/// Arguments of `let-in`.
#[derive(Debug, Args)]
pub struct LetInArgs {
    /// The right of whoever enters with the code
    #[arg(long = "as", value_enum, default_value = "reviewer")]
    pub right: CrewRight,
    /// Which group
    #[command(flatten)]
    pub group: GroupArgs,
}

/// Arguments of `enter`.
#[derive(Debug, Args)]
pub struct EnterArgs {
    /// The one-time code
    pub code: String,
}

/// Arguments of `crew`.
#[derive(Debug, Args)]
pub struct CrewArgs {
    /// Which group
    #[command(flatten)]
    pub group: GroupArgs,
    /// Give someone another right
    #[arg(long, num_args = 2, value_names = ["NAME", "RIGHT"], conflicts_with = "out")]
    pub give: Option<Vec<String>>,
    /// Take someone out of the crew
    #[arg(long, value_name = "NAME")]
    pub out: Option<String>,
}
