//! The order of the method: places and offsets, elements, constraints, assembly, factor, solve, recover.

pub mod assemble;
pub mod buckling;
pub mod constraint;
mod crept;
pub mod divide;
pub mod element;
pub mod factor;
pub mod geometric;
pub mod influence;
pub mod inner;
pub mod krylov;
pub mod line;
pub mod load;
pub mod mechanism;
pub mod mesh;
pub mod operators;
pub mod patch;
pub mod recover;
pub mod second_order;
pub mod solve;
pub mod stiffness;
pub mod sway;
pub mod system;
pub mod vibration;

pub use solve::{Analysis, analyse};

#[cfg(test)]
mod posts;
#[cfg(test)]
mod small_frames;
