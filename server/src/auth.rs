//! Who is calling, and what he may do.

pub mod caller;
pub mod certificate;
pub mod codes;
pub mod keys;
pub mod live;
pub mod password_rules;
pub mod passwords;
pub mod rights;
pub mod throttle;
pub mod tokens;

pub use caller::Caller;
pub use rights::{Need, Right};
