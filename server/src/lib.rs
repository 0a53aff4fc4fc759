//! The server of Battenboard: accounts, build groups, designs with lettered revisions, findings, remarks.
//!
//! [`run`] is the whole program; [`start`] gives a running server to tests and to the demo. Inside, `service` knows the
//! wire, `auth` who is calling, `app` the rules, `store` the database; each only those below it.

pub(crate) mod app;
pub(crate) mod auth;
pub(crate) mod clock;
mod command;
pub mod config;
mod host;
mod reach;
pub(crate) mod service;
mod shutdown;
mod startup;
pub(crate) mod store;
mod telemetry;
#[cfg(test)]
mod testing;

pub use command::run;
pub use config::Config;
pub use shutdown::{Joining, Running};
pub use startup::{StartError, migrate, start};
