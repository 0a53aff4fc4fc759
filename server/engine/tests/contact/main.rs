//! Timbers that lie on one another, notches and holes: whole frames against sums by hand and the project's worked
//! examples.
#![allow(clippy::unwrap_used, clippy::panic, missing_docs, reason = "a failed test may panic")]

mod bearing;
mod cuts;
mod examples;
mod small;
mod touch;
