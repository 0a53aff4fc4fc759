//! `accounts`, `suspend`, `reset`: what the host does with accounts.

use super::say;
use crate::app::accounts::host::HostView;
use crate::clock;
use crate::config::Config;
use crate::host;
use std::io::Write;

/// Lists all accounts.
///
/// # Errors
/// [`HostError`](crate::host::HostError).
pub async fn list(config: &Config, out: &mut impl Write) -> anyhow::Result<()> {
    let mut count = 0_u64;
    host::accounts(config, |account| {
        count += 1;
        say(out, &line(account));
    })
    .await?;
    say(out, &format!("{count} {}", if count == 1 { "account" } else { "accounts" }));
    Ok(())
}

fn line(account: &HostView) -> String {
    let HostView { name, created_at, suspended_at, sessions } = account;
    let open = if *sessions == 1 { "session" } else { "sessions" };
    let suspended = suspended_at.map(|since| format!("  suspended {}", clock::said(since))).unwrap_or_default();
    format!("{name:<20}  made {}  {sessions:>3} {open}{suspended}", clock::said(*created_at))
}

/// Suspends an account, or lifts that again.
///
/// # Errors
/// [`HostError`](crate::host::HostError).
pub async fn suspend(config: &Config, name: &str, lift: bool, out: &mut impl Write) -> anyhow::Result<()> {
    let changed = host::suspend(config, name, !lift).await?;
    let said = match (changed, lift) {
        (true, false) => {
            format!("{name} is suspended: its sessions have ended, and every server refuses it within 2 s")
        }
        (true, true) => format!("{name} may sign in again"),
        (false, false) => format!("{name} is suspended already"),
        (false, true) => format!("{name} is not suspended"),
    };
    say(out, &said);
    Ok(())
}

/// Prints a code that sets a new password.
///
/// # Errors
/// [`HostError`](crate::host::HostError).
pub async fn reset(config: &Config, name: &str, out: &mut impl Write) -> anyhow::Result<()> {
    let (code, ends_at) = host::reset(config, name).await?;
    say(out, &code);
    say(out, &format!("Reset code of {name}, good once and until {}", clock::said(ends_at)));
    say(out, &format!("With it: batten account recover {name}"));
    Ok(())
}
