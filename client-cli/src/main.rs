//! The program `batten`; everything is in the library.

fn main() -> std::process::ExitCode {
    battenboard_client::run(std::env::args_os().skip(1))
}
