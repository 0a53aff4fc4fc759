//! The command line of the server.

use crate::config::{self, Config, Database, Flags};
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

#[derive(Clone, Copy, Default, Subcommand)]
enum Verb {
    /// Answer callers (the default). The embedded database is brought to this release first.
    #[default]
    Serve,
    /// Bring the database to this release. Needed for PostgreSQL before a new release serves.
    Migrate,
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
    match line.verb.unwrap_or_default() {
        Verb::Serve => runtime.block_on(serve(config)),
        Verb::Migrate => runtime.block_on(migrate(config)),
    }
}

async fn serve(config: Config) -> anyhow::Result<()> {
    let mut running = startup::start(config.clone()).await?;
    let mut out = std::io::stdout();
    say(
        &mut out,
        &format!("Listening on {}{}", running.address(), if config.tls.is_some() { " with TLS" } else { "" }),
    );
    say(&mut out, &format!("Data in {}", where_data_are(&config)));
    match running.first_account_code() {
        Some(code) => say(&mut out, &format!("Code for the first account: {code}")),
        None if running.address().ip().is_loopback() => {
            say(&mut out, "Only this machine can reach it; the first account needs no code");
        }
        None => {}
    }
    if config.plain_public && config.tls.is_none() && !running.address().ip().is_loopback() {
        say(&mut out, "WARNING: passwords cross the network in the clear, as --plain-public was said");
    }
    let failure = tokio::select! {
        () = shutdown::asked_to_stop() => None,
        why = running.failed() => Some(why),
    };
    running.stop().await;
    failure.map_or(Ok(()), |why| Err(anyhow::anyhow!("cannot go on: {why}")))
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
