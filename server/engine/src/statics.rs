//! The order of the method: places and offsets, elements, constraints, assembly, factor, solve, recover.

pub mod line;
