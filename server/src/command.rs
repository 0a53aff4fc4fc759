//! The command line of the server.

mod accounts;
mod keys;

use crate::auth::certificate::{CERTIFICATE, ENDS_ON};
use crate::config::{self, Config, Database, Flags, Guard};
use crate::shutdown::Running;
use crate::{shutdown, startup, telemetry};
use clap::{Parser, Subcommand};
use std::ffi::OsString;
use std::io::Write;
use std::process::ExitCode;

/// A server for build groups that design, check and review the frames of camper vans.
#[derive(Parser)]
#[command(name = "battenboard-server", version, about, long_about = None)]
struct Line {
    #[command(flatten)]
    flags: Flags,
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Default, Subcommand)]
enum Verb {
    /// Answer callers (the default). The embedded database is brought to this release first.
    #[default]
    Serve,
    /// Bring the database to this release. Needed for PostgreSQL before a new release serves.
    Migrate,
    /// List the accounts
    Accounts,
    /// Suspend an account: its sessions end, and it cannot sign in
    Suspend {
        /// Its name
        name: String,
        /// Let it sign in again
        #[arg(long)]
        lift: bool,
    },
    /// Print a code with which somebody sets a new password; it is good for 15 minutes
    Reset {
        /// Name of the account
        name: String,
    },
    /// The keys that sign access tokens: list, add, promote, retire
    Keys(keys::KeysArgs),
}

/// Runs the command line of the server; `arguments` begins with the program's name.
///
/// Exit code 0: went down when asked; 1: could not start or go on; 2: the command line is wrong.
pub fn run(arguments: impl Iterator<Item = OsString>) -> ExitCode {
    let line = match Line::try_parse_from(arguments) {
        Ok(line) => line,
        Err(error) => {
            // Help and version are no errors; a reader who closed the pipe has read enough.
            let _ = error.print();
            return ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2));
        }
    };
    telemetry::start(line.flags.log_json);
    match go(&line) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            say(&mut std::io::stderr(), &format!("battenboard-server: {error}"));
            ExitCode::FAILURE
        }
    }
}

fn go(line: &Line) -> anyhow::Result<()> {
    let config = config::load(&line.flags)?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(config.workers.threads.max(1))
        .thread_stack_size(2 * 1024 * 1024)
        // Hashes and checks are bounded by their own pools; this bounds the rest.
        .max_blocking_threads(16)
        .enable_all()
        .build()?;
    let mut out = std::io::stdout();
    match line.verb.as_ref().unwrap_or(&Verb::Serve) {
        Verb::Serve => runtime.block_on(serve(config)),
        Verb::Migrate => runtime.block_on(migrate(config)),
        Verb::Accounts => runtime.block_on(accounts::list(&config, &mut out)),
        Verb::Suspend { name, lift } => runtime.block_on(accounts::suspend(&config, name, *lift, &mut out)),
        Verb::Reset { name } => runtime.block_on(accounts::reset(&config, name, &mut out)),
        Verb::Keys(args) => keys::run(&config, args, &mut out),
    }
}

async fn serve(config: Config) -> anyhow::Result<()> {
    let mut running = startup::start(config.clone()).await?;
    for line in told(&config, &running) {
        say(&mut std::io::stdout(), &line);
    }
    let failure = tokio::select! {
        () = shutdown::asked_to_stop() => None,
        why = running.failed() => Some(why),
    };
    running.stop().await;
    failure.map_or(Ok(()), |why| Err(anyhow::anyhow!("cannot go on: {why}")))
}

/// What a server says when it has started. The address comes first: programs that start one wait for that line.
fn told(config: &Config, running: &Running) -> Vec<String> {
    let address = running.address();
    let with = match config.guard() {
        Guard::None => "",
        Guard::Files(_) => " with TLS",
        Guard::Own => " with TLS, by a certificate of its own",
    };
    let mut lines = vec![format!("Listening on {address}{with}"), format!("Data in {}", where_data_are(config))];
    if let Some(joining) = running.joining() {
        let file = config.certificate_folder().join(CERTIFICATE);
        lines.push(format!("The certificate is `{}`, good until {ENDS_ON}", file.display()));
        match running.first_account_code() {
            Some(code) => {
                lines.push("Whoever types this line on his own machine makes the first account here:".into());
                lines.push(format!("batten join {}", joining.line(Some(code))));
            }
            None => {
                lines.push("Somebody new: `batten let-in` prints a line. Who has an account joins with:".into());
                lines.push(format!("batten join {}", joining.line(None)));
            }
        }
        return lines;
    }
    match running.first_account_code() {
        Some(code) => lines.push(format!("Code for the first account: {code}")),
        None if address.ip().is_loopback() => {
            lines.push("Only this machine can reach it; the first account needs no code".into());
        }
        None => {}
    }
    if config.guard() == Guard::None && !address.ip().is_loopback() {
        lines.push("WARNING: passwords cross the network in the clear, as --plain-public was said".into());
    }
    lines
}

/// Where the data are, without the password of a database's address.
fn where_data_are(config: &Config) -> String {
    match config.database() {
        Database::Embedded(file) => file.display().to_string(),
        Database::Postgres(address) => {
            let after = address.rsplit_once('@').map_or(address.as_str(), |(_, place)| place);
            let place = after.split(['?', '/']).next().unwrap_or_default();
            format!("PostgreSQL at {}", place.trim_start_matches("postgres:"))
        }
    }
}

async fn migrate(config: Config) -> anyhow::Result<()> {
    let run = startup::migrate(&config).await?;
    let mut out = std::io::stdout();
    for name in &run {
        say(&mut out, name);
    }
    say(&mut out, if run.is_empty() { "The database is at this release already" } else { "Done" });
    Ok(())
}

/// Writes a line; a reader who closed the pipe is no reason to stop.
fn say(out: &mut impl Write, line: &str) {
    let _ = writeln!(out, "{line}");
    let _ = out.flush();
}
