//! Groups of plain numbers: arrays in the engine, messages with a unit on each field on the wire.

use super::{onwire::OnWire, path::Path};
use crate::v1;
use battenboard_engine::{design::Violation, findings::SectionForces};

macro_rules! numbers {
    ($($message:ident [$count:literal] { $($field:ident),+ })+) => {$(
        impl From<[f64; $count]> for v1::$message {
            fn from([$($field),+]: [f64; $count]) -> Self {
                Self { $($field),+ }
            }
        }

        impl From<v1::$message> for [f64; $count] {
            fn from(v1::$message { $($field),+ }: v1::$message) -> Self {
                [$($field),+]
            }
        }
    )+};
}

numbers! {
    Point [3] { x_mm, y_mm, z_mm }
    PlanPoint [2] { x_mm, y_mm }
    ContactLengths [2] { member_mm, on_mm }
    RoadAcceleration [5] { forward_g, rearward_g, sideways_g, down_g, up_g }
    Extent [3] { x_mm, y_mm, z_mm }
    Direction [3] { x, y, z }
    Force [3] { x_n, y_n, z_n }
    Moment [3] { x_n_mm, y_n_mm, z_n_mm }
    LineForce [3] { x_n_per_mm, y_n_per_mm, z_n_per_mm }
    Movement [6] { x_mm, y_mm, z_mm, turn_x_rad, turn_y_rad, turn_z_rad }
}

impl OnWire for SectionForces {
    type Wire = v1::SectionForces;

    fn to_wire(&self) -> v1::SectionForces {
        let Self { n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm } = *self;
        v1::SectionForces { n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm }
    }

    fn from_wire(wire: v1::SectionForces, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::SectionForces { n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm } = wire;
        Some(Self { n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm })
    }
}
