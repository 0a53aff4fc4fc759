//! `keys`: the keys that sign access tokens, and their rotation.

use super::say;
use crate::auth::keys::{KNOWN_AFTER, Keys};
use crate::clock;
use crate::config::Config;
use clap::{Args, Subcommand};
use std::io::Write;
use std::time::Duration;

/// Arguments of `keys`.
#[derive(Args)]
pub struct KeysArgs {
    #[command(subcommand)]
    verb: Option<KeysVerb>,
}

#[derive(Subcommand)]
enum KeysVerb {
    /// List them (the default)
    List,
    /// Make another key; it signs nothing until it is promoted
    Add,
    /// Let a key sign from now on; the one before is still read
    Promote {
        /// Its id, as listed
        key: String,
        /// Do it though some server may not have read it yet
        #[arg(long)]
        now: bool,
    },
    /// Take a key out that signs no more; tokens of it are refused from then on
    Retire {
        /// Its id, as listed
        key: String,
        /// Do it though some token of it may still be good
        #[arg(long)]
        now: bool,
    },
}

/// Does what was asked with the keys.
///
/// # Errors
/// [`KeysError`](crate::auth::keys::KeysError).
pub fn run(config: &Config, args: &KeysArgs, out: &mut impl Write) -> anyhow::Result<()> {
    let folder = config.keys_folder();
    match args.verb.as_ref().unwrap_or(&KeysVerb::List) {
        KeysVerb::List => {
            for key in Keys::list(&folder)? {
                let does = if key.signs { "signs" } else { "is read" };
                say(out, &format!("{}  made {}  {does}", key.id, clock::said(key.made_at)));
            }
        }
        KeysVerb::Add => {
            let id = Keys::add(&folder)?;
            say(out, &format!("{id} made; running servers read it within seconds"));
            let wait = KNOWN_AFTER.as_secs();
            say(out, &format!("Next, in {wait} s: battenboard-server keys promote {id}"));
        }
        KeysVerb::Promote { key, now } => {
            Keys::promote(&folder, key, *now)?;
            say(out, &format!("{key} signs from now on"));
            let wait =
                (u64::try_from(config.lifetimes.access_s).unwrap_or_default() + KNOWN_AFTER.as_secs()).div_ceil(60);
            say(out, &format!("Next, in {wait} minutes: battenboard-server keys retire KEY, the one before"));
        }
        KeysVerb::Retire { key, now } => {
            let lifetime = Duration::from_secs(u64::try_from(config.lifetimes.access_s).unwrap_or_default());
            Keys::retire(&folder, key, lifetime, *now)?;
            say(out, &format!("{key} is taken out"));
        }
    }
    Ok(())
}
