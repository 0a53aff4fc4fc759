//! The command `batten`: checks a frame design offline, and carries it to a build group's server and back.

pub mod exit;
pub mod output;
