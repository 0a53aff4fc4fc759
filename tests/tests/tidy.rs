//! The repository's own rules, read from its manifests and sources: what may depend on what, how long a file may be,
//! which words are never used. Each rule is stated in DEVELOPERS.md; this is what holds it.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "a failed step is a failed test"
)]

#[path = "tidy/arrows.rs"]
mod arrows;
#[path = "tidy/sources.rs"]
mod sources;
#[path = "tidy/texts.rs"]
mod texts;
