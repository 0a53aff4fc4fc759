//! The design as its builder states it ([`Design`]), what may be wrong with it ([`Violation`]), and the one
//! validated form the statics accept ([`Frame`]).

pub mod model;
pub mod violation;

pub use model::*;
pub use violation::Violation;
