//! What the tests and the demo share: people at a server, fresh databases, limited processes.

pub mod demo;
pub mod harness;
pub mod roles;
pub mod verify;

use std::io::Write;
use std::process::ExitCode;

/// How to call the one binary.
pub fn usage() -> ExitCode {
    let text = "battenboard serve ...    the server\n\
                battenboard host ...     the server's commands for its host\n\
                battenboard batten ...   the command\n\
                battenboard demo         the main job once through\n\
                battenboard verify ...   all tests, and what could not run here\n";
    let _ = std::io::stderr().write_all(text.as_bytes());
    ExitCode::from(3)
}
