//! Strength of a timber member at one place: what of its resistance is used by given forces.
//!
//! EN 1995-1-1 6.1 to 6.3, one check a file. Each is a pure function of a [`Resistance`], k_mod and the forces. Strengths
//! are linear in k_mod, so a [`Resistance`] is worked out once a member.

pub mod bending;
pub mod column;
pub mod compression;
pub mod lateral;
pub mod shear;
pub mod size;
pub mod strip;
pub mod tension;
pub mod torsion;

use crate::design::Section;
use crate::design::section::{SectionProperties, properties};
use crate::findings::{Factor, SectionForces};
use crate::tables::factors::gamma_m;
use crate::tables::timber::{Family, TimberClass};
use column::{Buckling, Slenderness};
use lateral::Lateral;
use torsion::Twist;

/// Axial utilisation under which a member counts as free of axial force: what a verdict rounds away.
pub const AXIAL_LEAST: f64 = 1e-6;

/// What a check says of one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Demand over resistance.
    pub utilisation: f64,
    /// Demand, in `unit`.
    pub demand: f64,
    /// Resistance, in `unit`.
    pub resistance: f64,
    /// `N/mm2`, or `1` for an interaction sum.
    pub unit: &'static str,
    /// Clause and equation.
    pub clause: &'static str,
    /// Factors that went in.
    pub factors: Vec<Factor>,
}

/// Everything about a member that its strength checks need and no load changes. Strengths are characteristic, with
/// their size factor, without k_mod and gamma_M.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resistance {
    /// Area, mm².
    pub area_mm2: f64,
    /// Elastic modulus about local y, mm³; `None`: not checked.
    pub wy_mm3: Option<f64>,
    /// Elastic modulus about local z, mm³; `None`: not checked.
    pub wz_mm3: Option<f64>,
    /// Greatest shear stress over V/A for forces along y (1.5 for a rectangle), uncracked; `None`: not checked.
    pub shear_peak_y: Option<f64>,
    /// Likewise along z.
    pub shear_peak_z: Option<f64>,
    /// Tension along the grain, N/mm².
    pub f_t_0_k: f64,
    /// Compression along the grain, N/mm².
    pub f_c_0_k: f64,
    /// Bending about y, N/mm².
    pub f_m_y_k: f64,
    /// Bending about z, N/mm².
    pub f_m_z_k: f64,
    /// Shear by forces along z, N/mm².
    pub f_v_k: f64,
    /// Shear by forces along y, N/mm²; differs from that along z in what is glued up of veneers.
    pub f_v_y_k: f64,
    /// Size factor in tension.
    pub k_h_t: f64,
    /// Size factor in bending about y.
    pub k_h_y: f64,
    /// Size factor in bending about z.
    pub k_h_z: f64,
    /// Redistribution of bending stresses: 0.7 for rectangles, 1 else (6.1.6(2)).
    pub k_m: f64,
    /// Share of the width that cracks leave for shear (6.1.7(2)).
    pub k_cr: f64,
    /// Partial factor of the material.
    pub gamma_m: f64,
    /// Buckling about y, in the depth direction.
    pub column_y: Slenderness,
    /// Buckling about z, in the width direction.
    pub column_z: Slenderness,
    /// What buckling depends on, for lengths that differ by combination; `None`: nothing that buckles.
    pub buckling: Option<Buckling>,
    /// What twisting depends on; `None`: torsion is not checked.
    pub twist: Option<Twist>,
    /// What lateral buckling depends on; `None`: nothing that buckles sideways as it bends.
    pub lateral: Option<Lateral>,
}

impl Resistance {
    /// Resistance of a section in a class. `length_y_mm` is the length between holds against buckling in the depth
    /// direction (about y), `length_z_mm` in the width direction.
    pub fn new(section: &Section, class: &TimberClass, length_y_mm: f64, length_z_mm: f64) -> Self {
        let figures = properties(section);
        let rectangle = matches!(section, Section::Rectangle { .. });
        let (depth, width) = match section {
            Section::Rectangle { width_mm, depth_mm } => (Some(*depth_mm), Some(*width_mm)),
            _ => (None, None),
        };
        let factor = |size: Option<f64>, other: Option<f64>| match (size, other) {
            // (3.3) is for bending on edge; laid flat, veneer lumber has no size factor.
            (Some(size), Some(other)) if class.family != Family::Lvl || size >= other => size::in_bending(class, size),
            _ => 1.0,
        };
        let k_h_t = match (depth, width) {
            (Some(depth), Some(width)) => size::in_tension(class, depth.max(width)),
            _ => 1.0,
        };
        let (k_h_y, k_h_z) = (factor(depth, width), factor(width, depth));
        let (shear_peak_y, shear_peak_z) = shear::peaks(section, &figures);
        let on_edge = width.zip(depth).is_none_or(|(width, depth)| width <= depth);
        let (f_v_k, f_v_y_k) = if on_edge { (class.f_v_k, class.f_v_flat_k) } else { (class.f_v_flat_k, class.f_v_k) };
        let buckling = Buckling::of(class);
        Self {
            area_mm2: figures.area_mm2,
            wy_mm3: figures.wy_mm3,
            wz_mm3: figures.wz_mm3,
            shear_peak_y,
            shear_peak_z,
            f_t_0_k: class.f_t_0_k * k_h_t,
            f_c_0_k: class.f_c_0_k,
            f_m_y_k: class.f_m_k * k_h_y,
            f_m_z_k: class.f_m_k * k_h_z,
            f_v_k,
            f_v_y_k,
            k_h_t,
            k_h_y,
            k_h_z,
            k_m: if rectangle { 0.7 } else { 1.0 },
            k_cr: if class.family == Family::Lvl { 1.0 } else { 0.67 },
            gamma_m: gamma_m(class.family.into()),
            column_y: Slenderness::new(&buckling, length_y_mm, radius(figures.iy_mm4, &figures)),
            column_z: Slenderness::new(&buckling, length_z_mm, radius(figures.iz_mm4, &figures)),
            buckling: Some(buckling),
            twist: Twist::new(section, &figures, class.f_v_k.min(class.f_v_flat_k)),
            lateral: Lateral::new(section, &figures, class.e_0_05, class.g_05),
        }
    }

    /// The same with the buckling lengths of one combination, mm, about y and about z; `None` leaves them.
    pub fn in_state(&self, buckling_mm: Option<[f64; 2]>) -> Self {
        let (Some([y, z]), Some(buckling)) = (buckling_mm, self.buckling) else { return *self };
        let again = |column: &Slenderness, length: f64| Slenderness::new(&buckling, length, column.radius_mm);
        Self { column_y: again(&self.column_y, y), column_z: again(&self.column_z, z), ..*self }
    }

    /// Design value of a characteristic strength (2.14), N/mm².
    pub fn design(&self, characteristic: f64, k_mod: f64) -> f64 {
        k_mod * characteristic / self.gamma_m
    }

    /// Utilisation of bending about y and about z, each alone; 0 where the modulus is not known.
    fn bending_parts(&self, k_mod: f64, forces: &SectionForces) -> (f64, f64) {
        let [y, z] = self.per_moment(k_mod);
        (forces.my_n_mm.abs() * y, forces.mz_n_mm.abs() * z)
    }

    /// Utilisation by 1 N·mm about y and about z.
    pub(crate) fn per_moment(&self, k_mod: f64) -> [f64; 2] {
        let part = |modulus: Option<f64>, strength| {
            modulus.map_or(0.0, |modulus| 1.0 / (modulus * self.design(strength, k_mod)))
        };
        [part(self.wy_mm3, self.f_m_y_k), part(self.wz_mm3, self.f_m_z_k)]
    }

    /// Whether all that a check of this member asks for is known.
    pub fn complete(&self) -> bool {
        self.wy_mm3.is_some() && self.wz_mm3.is_some() && self.shear_peak_y.is_some() && self.shear_peak_z.is_some()
    }
}

fn radius(second_moment: f64, figures: &SectionProperties) -> f64 {
    (second_moment / figures.area_mm2).sqrt()
}

pub(crate) fn factor(name: &str, value: f64) -> Factor {
    Factor { name: name.to_owned(), value }
}

/// The larger of two interaction sums, with its clause.
fn larger(first: (f64, &'static str), second: (f64, &'static str)) -> (f64, &'static str) {
    if second.0 > first.0 { second } else { first }
}

/// An interaction sum as an outcome.
fn sum(of: (f64, &'static str), factors: Vec<Factor>) -> Outcome {
    Outcome { utilisation: of.0, demand: of.0, resistance: 1.0, unit: "1", clause: of.1, factors }
}

/// A stress against a strength as an outcome.
pub(crate) fn stress(demand: f64, resistance: f64, clause: &'static str, factors: Vec<Factor>) -> Outcome {
    Outcome { utilisation: demand / resistance, demand, resistance, unit: "N/mm2", clause, factors }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::tables::timber::class;

    fn post(length_y_mm: f64, length_z_mm: f64) -> Resistance {
        let section = Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 };
        Resistance::new(&section, class("C24").unwrap(), length_y_mm, length_z_mm)
    }

    /// With the lengths of a combination a member is what it were if these had been its own.
    #[test]
    fn lengths_of_a_combination() {
        assert_eq!(post(800.0, 900.0).in_state(Some([1500.0, 400.0])), post(1500.0, 400.0));
        assert_eq!(post(800.0, 900.0).in_state(None), post(800.0, 900.0));
    }

    /// One figure that is not known leaves something unchecked, whichever it is.
    #[test]
    fn complete_only_with_every_figure() {
        let whole = post(800.0, 900.0);
        assert!(whole.complete());
        let without = [
            Resistance { wy_mm3: None, ..whole },
            Resistance { wz_mm3: None, ..whole },
            Resistance { shear_peak_y: None, ..whole },
            Resistance { shear_peak_z: None, ..whole },
        ];
        assert!(without.iter().all(|resistance| !resistance.complete()));
    }
}
