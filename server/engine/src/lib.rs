//! The engine of Battenboard: a frame design in, findings out.
//!
//! Pure: no clock, no file, no environment, no network, no thread of its own. Inside, lengths are mm, forces N,
//! moments N·mm, stresses N/mm², masses tonnes, angles radians; kilograms become newtons only in
//! [`statics::load`] and tonnes only in [`mass`]. Vehicle axes follow ISO 4130: x rearwards from the front axle,
//! y to the right, z up from the load floor.

pub mod check;
pub mod design;
pub mod error;
pub mod findings;
pub mod fit;
pub mod mass;
pub mod nearest;
pub mod proof;
pub mod rules;
pub mod statics;
pub mod tables;

pub use check::{Ask, CheckError, check};

/// Human version of the engine.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Hash of the engine's sources and tables at build.
pub const FINGERPRINT: &str = env!("ENGINE_FINGERPRINT");
