//! The server of Battenboard.

#[allow(dead_code)]
pub(crate) mod auth;
pub(crate) mod clock;
#[allow(dead_code)]
pub(crate) mod store;
