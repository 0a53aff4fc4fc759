//! The roles of the one binary that are other crates' programs.

use std::ffi::OsString;
use std::process::ExitCode;

/// The server program.
pub fn serve(args: Vec<OsString>) -> ExitCode {
    let program = ["battenboard-server", "serve"].map(OsString::from);
    battenboard_server::run(program.into_iter().chain(args))
}

/// The server program with a command of its host: `accounts`, `keys` and so on.
pub fn host(args: Vec<OsString>) -> ExitCode {
    battenboard_server::run([OsString::from("battenboard-server")].into_iter().chain(args))
}

/// The command.
pub fn batten(args: Vec<OsString>) -> ExitCode {
    battenboard_client::run(args.into_iter())
}
