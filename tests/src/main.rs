//! One binary that acts as server, command, demo or test run by its first argument, so that no test ever runs a stale or
//! missing program and the demo runs the same code as the thin binaries `battenboard-server` and `batten`.

use battenboard_tests::{demo, usage, verify};
use std::ffi::OsString;
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut args = std::env::args_os();
    let _program = args.next();
    let role = args.next().and_then(|role| role.into_string().ok());
    let rest: Vec<OsString> = args.collect();
    match role.as_deref() {
        Some("serve") => battenboard_tests::roles::serve(rest),
        Some("host") => battenboard_tests::roles::host(rest),
        Some("batten") => battenboard_tests::roles::batten(rest),
        Some("demo") => demo::run(),
        Some("verify") => verify::run(&rest),
        _ => usage(),
    }
}
