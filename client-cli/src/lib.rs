//! The command `batten`: checks a frame design offline, and carries it to a build group's server and back.
//!
//! [`run`] is the whole program; [`run_with`] is the same with streams, folders and clock given, so that tests and the
//! demo run the very code a user runs. The folder `output` turns findings into screens, `commands` holds one file a verb,
//! `connect` is the only way to a server.

mod accounts;
mod args;
mod commands;
pub mod compare;
mod connect;
pub mod cutting;
pub mod error;
pub mod exit;
mod file;
pub mod io;
mod joining;
pub mod news;
pub mod notice;
pub mod output;
pub mod remark;
pub mod review;
mod sidecar;
pub mod vehicle;

pub use error::ClientError;
pub use exit::Exit;
pub use io::Io;

use clap::{CommandFactory, Parser};
use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

/// The whole program; `args` without the program's own name.
pub fn run(args: impl Iterator<Item = OsString>) -> ExitCode {
    let exit = match Io::of_process() {
        Ok(mut io) => run_with(args, &mut io),
        Err(error) => {
            use std::io::Write;
            let _ = writeln!(std::io::stderr(), "batten: {error}");
            error.exit()
        }
    };
    ExitCode::from(exit.code())
}

/// One run in the given surroundings. Errors are printed here and nowhere else.
///
/// It blocks; within an async runtime call it on a thread where blocking is allowed.
pub fn run_with(args: impl IntoIterator<Item = OsString>, io: &mut Io<'_>) -> Exit {
    let typed = std::iter::once(OsString::from("batten")).chain(args);
    let outcome = match args::CommandLine::try_parse_from(typed) {
        Ok(line) => commands::dispatch(line, io),
        Err(error) => return usage(&error, io),
    };
    outcome.unwrap_or_else(|error| {
        report(&error, io);
        error.exit()
    })
}

/// What one run put on its screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Screen {
    /// Data.
    pub stdout: String,
    /// Notes, questions, errors.
    pub stderr: String,
    /// How it ended.
    pub exit: Exit,
}

/// One run with captured streams: `args` without the program's name, `input` is what is typed at its questions.
pub fn run_captured(args: &[&str], current_dir: &Path, config_dir: &Path, input: &str) -> Screen {
    let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
    let mut io = Io::captured(input.as_bytes(), &mut stdout, &mut stderr, current_dir, config_dir);
    let exit = run_with(args.iter().map(OsString::from), &mut io);
    drop(io);
    let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
    Screen { stdout: text(stdout), stderr: text(stderr), exit }
}

/// The command's own description, for completions and manuals.
pub fn command() -> clap::Command {
    args::CommandLine::command()
}

fn usage(error: &clap::Error, io: &mut Io<'_>) -> Exit {
    let text = error.render().to_string();
    if error.use_stderr() {
        let _ = io.stderr.write_all(text.as_bytes());
        return Exit::Usage;
    }
    // Help and version are what was asked for: data.
    let _ = io.write_out(&text);
    Exit::Holds
}

fn report(error: &ClientError, io: &mut Io<'_>) {
    let text = match error {
        ClientError::PipeClosed => return,
        ClientError::Mistakes(sheet) => sheet.to_string(),
        other => {
            let mut sheet = io.sheet();
            // A refusal may have a line for each violation.
            for (index, line) in other.to_string().lines().enumerate() {
                sheet.hanging(if index == 0 { "batten: " } else { "        " }, line.trim());
            }
            if let Some(hint) = other.hint() {
                sheet.blank();
                sheet.hanging("hint: ", &hint);
            }
            sheet.to_string()
        }
    };
    let _ = io.stderr.write_all(text.as_bytes());
    let _ = io.stderr.flush();
}
