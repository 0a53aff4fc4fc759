//! The server's records: structured lines on standard error, each call with its request id.

use tracing_subscriber::EnvFilter;

/// What is recorded when nothing is said: our own words, and others' warnings. Statements of the database never are.
const USUAL: &str = "warn,battenboard_server=info";

/// Starts recording. `BATTENBOARD_LOG` says what (`battenboard_server=debug`); `json` writes JSON lines.
/// Started twice (tests in one process), the first stays.
pub fn start(json: bool) {
    let filter = EnvFilter::try_from_env("BATTENBOARD_LOG").unwrap_or_else(|_| EnvFilter::new(USUAL));
    let records = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).with_target(false);
    let started = if json { records.json().try_init() } else { records.with_ansi(false).try_init() };
    if started.is_err() {
        tracing::debug!("records were started before");
    }
}
