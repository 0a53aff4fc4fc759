//! The server's program; everything is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    battenboard_server::run(std::env::args_os())
}
