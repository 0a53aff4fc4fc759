//! The design as its builder states it ([`Design`]), what may be wrong with it ([`Violation`]), and the one
//! validated form the statics accept ([`Frame`]).

mod boxes;
pub mod canonical;
pub mod carry;
pub mod frame;
mod line;
pub mod model;
mod resolve;
pub mod section;
pub mod surface;
pub mod to_be_measured;
pub mod touch;
pub mod ungraded;
mod validate;
pub mod vector;
pub mod violation;

pub use frame::Frame;
pub use model::*;
pub use resolve::{anchor_tags, joint_tag};
pub use to_be_measured::{TO_BE_MEASURED_MAX, TO_BE_MEASURED_TEXT_MAX, ToBeMeasured, depends_on};
pub use violation::Violation;

/// What is wrong with a vehicle that stands alone, as a survey does: its name is needed, and at least one figure. Field
/// paths begin with `vehicle`.
pub fn vehicle_faults(vehicle: &Vehicle) -> Vec<Violation> {
    validate::vehicle(vehicle)
}

/// Mean E, G (N/mm²) and density (kg/m³) of a stock's material, of what an ungraded piece is taken as; `None` where
/// the tables do not know it.
pub fn stiffness_of(stock: &Stock) -> Option<(frame::FrameMaterial, f64, f64, f64)> {
    let (material, e_n_mm2, g_n_mm2, density_kg_m3) =
        resolve::stiffness(&stock.material, resolve::least_side(&section::properties(&stock.section)))?;
    Some(match ungraded::taken_as(stock) {
        Some(class) => (frame::FrameMaterial::Timber(class), class.e_0_mean, class.g_mean, density_kg_m3),
        None => (material, e_n_mm2, g_n_mm2, density_kg_m3),
    })
}
