//! Local buckling: whether every wall is thick enough for elastic stresses over the whole section (class 3 or better).
//!
//! Each wall is taken as pressed evenly over its whole width, whatever the loads: the strictest limit, so that the
//! class does not change from combination to combination (P). A wall that is over it may still be class 3 in bending;
//! such a member is said not to be checked.

use crate::design::Section;
use crate::tables::metal::{BucklingClass, MetalClass, MetalKind};

/// Whether the section is class 3 or better at this yield strength, N/mm². Solid sections always are; a profile given
/// by figures is taken to be, which stands in the assumptions.
pub fn stout(section: &Section, class: &MetalClass, yield_n_mm2: f64) -> bool {
    match section {
        Section::Rectangle { .. } | Section::Round { .. } | Section::Given(_) => true,
        Section::RectangularTube { width_mm, depth_mm, wall_mm } => {
            flat_ratio(class.kind, width_mm.max(*depth_mm), *wall_mm) <= flat_limit(class.kind, yield_n_mm2)
        }
        Section::RoundTube { diameter_mm, wall_mm } => {
            round_ratio(class.kind, *diameter_mm, *wall_mm) <= round_limit(class.kind, yield_n_mm2)
        }
    }
}

/// Flat width of a tube's wall over its thickness: b - 3 t for steel with its round corners (common practice, as in
/// the section tables of the steel trade; read), b - 2 t for sharp ones.
pub fn flat_ratio(kind: MetalKind, side_mm: f64, wall_mm: f64) -> f64 {
    let corners = match kind {
        MetalKind::Steel => 3.0,
        MetalKind::Aluminium(_) => 2.0,
    };
    (side_mm / wall_mm - corners).max(0.0)
}

/// Steel: 42 eps, EN 1993-1-1 table 5.2 sheet 1, compression, class 3 (from memory), eps² = 235/f_y. Aluminium: beta_3 of
/// an internal part without welds, 22 eps (class A, read in a worked example) or 18 eps (class B, from memory),
/// EN 1999-1-1 table 6.2, eps² = 250/f_o.
pub fn flat_limit(kind: MetalKind, yield_n_mm2: f64) -> f64 {
    match kind {
        MetalKind::Steel => 42.0 * (235.0 / yield_n_mm2).sqrt(),
        MetalKind::Aluminium(class) => {
            let beta = match class {
                BucklingClass::A => 22.0,
                BucklingClass::B => 18.0,
            };
            beta * (250.0 / yield_n_mm2).sqrt()
        }
    }
}

/// Steel: d/t. Aluminium: beta = 3 sqrt(D/t) with D to the middle of the wall (EN 1999-1-1 6.1.4.3 (6.4), from memory).
pub fn round_ratio(kind: MetalKind, diameter_mm: f64, wall_mm: f64) -> f64 {
    match kind {
        MetalKind::Steel => diameter_mm / wall_mm,
        MetalKind::Aluminium(_) => 3.0 * ((diameter_mm - wall_mm) / wall_mm).max(0.0).sqrt(),
    }
}

/// Steel: 90 eps², EN 1993-1-1 table 5.2 sheet 3, class 3 (from memory). Aluminium: as for flat walls.
pub fn round_limit(kind: MetalKind, yield_n_mm2: f64) -> f64 {
    match kind {
        MetalKind::Steel => 90.0 * 235.0 / yield_n_mm2,
        MetalKind::Aluminium(_) => flat_limit(kind, yield_n_mm2),
    }
}
