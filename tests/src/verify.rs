//! `cargo verify`: the whole test suite, and a closing line that says what this machine could not run.
//!
//! Tests that need a PostgreSQL server, Python with grpcio or a browser pass without them and write one line each into
//! the file named by [`NOT_RUN_FILE`]; the counts are printed at the end, so that nobody takes a skipped part for a
//! tested one.

use std::ffi::OsString;
use std::io::Write;
use std::path::Path;
use std::process::{Command, ExitCode};

/// Environment variable that names the file of parts not run, one a line, e.g. `postgres accounts`.
pub const NOT_RUN_FILE: &str = "BATTENBOARD_NOT_RUN";

/// Kinds of parts that may be missing on a machine, as printed.
const KINDS: [&str; 3] = ["postgres", "foreign client", "browser"];

/// Notes that a part of the tests could not run here. `kind` is one of the kinds above, `test` names the test.
///
/// Without the variable (a plain `cargo test`) the note goes to standard error.
pub fn not_run(kind: &str, test: &str) {
    debug_assert!(KINDS.contains(&kind), "an unknown kind would not be counted: {kind}");
    let line = format!("{kind} {test}\n");
    let written = std::env::var_os(NOT_RUN_FILE).and_then(|path| {
        // One write in append mode: tests of several processes share the file.
        std::fs::OpenOptions::new().create(true).append(true).open(path).ok()?.write_all(line.as_bytes()).ok()
    });
    if written.is_none() {
        let _ = write!(std::io::stderr(), "NOT RUN: {line}");
    }
}

/// Runs `cargo test --workspace` with further arguments and prints what was not run.
pub fn run(further: &[OsString]) -> ExitCode {
    let Ok(folder) = tempfile::tempdir() else {
        let _ = writeln!(std::io::stderr(), "there is no room for a temporary folder");
        return ExitCode::from(2);
    };
    let list = folder.path().join("not-run");
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command.args(["test", "--workspace"]).args(further).env(NOT_RUN_FILE, &list);
    // What `cargo run` tells the program about its own package must not leak into the build of the others.
    for (name, _) in std::env::vars_os() {
        let ours = name.to_str().is_some_and(|name| {
            ["CARGO_PKG_", "CARGO_MANIFEST_", "CARGO_BIN_", "CARGO_CRATE_"].iter().any(|start| name.starts_with(start))
        });
        if ours {
            command.env_remove(name);
        }
    }
    let code = match command.status() {
        Ok(status) => status.code().and_then(|code| u8::try_from(code).ok()).unwrap_or(1),
        Err(error) => {
            let _ = writeln!(std::io::stderr(), "cargo could not be started: {error}");
            2
        }
    };
    let _ = writeln!(std::io::stdout(), "{}", summary(&list));
    ExitCode::from(code)
}

/// The closing line, e.g. `NOT RUN: postgres (12), foreign client (1), browser (0)`.
fn summary(list: &Path) -> String {
    let lines = std::fs::read_to_string(list).unwrap_or_default();
    let count = |kind: &str| lines.lines().filter(|line| line.strip_prefix(kind).is_some_and(starts_a_name)).count();
    let parts: Vec<String> = KINDS.iter().map(|kind| format!("{kind} ({})", count(kind))).collect();
    format!("NOT RUN: {}", parts.join(", "))
}

fn starts_a_name(rest: &str) -> bool {
    rest.starts_with(' ')
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed step is a failed test")]
    use super::summary;

    #[test]
    fn the_closing_line_counts_each_kind() {
        let folder = tempfile::tempdir().unwrap();
        let list = folder.path().join("list");
        std::fs::write(&list, "postgres accounts\npostgres designs\nforeign client whole job\n").unwrap();
        assert_eq!(summary(&list), "NOT RUN: postgres (2), foreign client (1), browser (0)");
        assert_eq!(summary(&folder.path().join("none")), "NOT RUN: postgres (0), foreign client (0), browser (0)");
    }
}
