//! The design as its builder states it ([`Design`]), what may be wrong with it ([`Violation`]), and the one
//! validated form the statics accept ([`Frame`]).

mod boxes;
pub mod frame;
pub mod model;
mod resolve;
pub mod section;
pub mod surface;
mod validate;
pub mod vector;
pub mod violation;

pub use frame::Frame;
pub use model::*;
pub use violation::Violation;
