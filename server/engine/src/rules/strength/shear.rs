//! Shear: EN 1995-1-1 6.1.7 (6.13) with (6.13a), both axes together.
//!
//! The code has no rule for shear along both axes of a section. In a rectangle or round both stresses are greatest at
//! the middle and at right angles there, so their resultant is exact: tau = sqrt(tau_y² + tau_z²). (The German annex
//! asks for (tau_y/f_v)² + (tau_z/f_v)² <= 1, the same limit; from memory.) Cracks are taken to run either way: k_cr
//! on both. Where the strength differs with the direction (sheets, veneer lumber) each stress is held to its own. Loads close to a support are not left out of the shear force, though 6.1.7(3) would allow it.

use super::{Outcome, Resistance, factor, stress, sum};
use crate::design::Section;
use crate::design::section::SectionProperties;
use crate::findings::SectionForces;

/// Greatest shear stress over V/A for forces along y and along z, without cracks: A Q/(I b) at the middle line.
pub(crate) fn peaks(section: &Section, figures: &SectionProperties) -> (Option<f64>, Option<f64>) {
    let area = figures.area_mm2;
    match section {
        Section::Rectangle { .. } => (Some(1.5), Some(1.5)),
        Section::Round { .. } => (Some(4.0 / 3.0), Some(4.0 / 3.0)),
        Section::RoundTube { diameter_mm, wall_mm } => {
            let (outer, inner) = (0.5 * diameter_mm, (0.5 * diameter_mm - wall_mm).max(0.0));
            let first_moment = 2.0 / 3.0 * (outer.powi(3) - inner.powi(3));
            let peak = area * first_moment / (figures.iy_mm4 * 2.0 * (outer - inner));
            (Some(peak), Some(peak))
        }
        Section::RectangularTube { width_mm, depth_mm, wall_mm } => {
            let peak = |across: f64, along: f64, second_moment: f64| {
                let inner = [(across - 2.0 * wall_mm).max(0.0), (along - 2.0 * wall_mm).max(0.0)];
                let first_moment = (across * along.powi(2) - inner[0] * inner[1].powi(2)) / 8.0;
                area * first_moment / (second_moment * (across - inner[0]))
            };
            let along_y = peak(*depth_mm, *width_mm, figures.iz_mm4);
            let along_z = peak(*width_mm, *depth_mm, figures.iy_mm4);
            (Some(along_y), Some(along_z))
        }
        Section::Given(_) => (None, None),
    }
}

/// Utilisation by 1 N along y and along z, each alone; 0 where the section's distribution is not known.
pub(crate) fn per_newton(resistance: &Resistance, k_mod: f64) -> [f64; 2] {
    let part = |peak: Option<f64>, strength| {
        peak.unwrap_or(0.0) / (resistance.k_cr * resistance.area_mm2 * resistance.design(strength, k_mod))
    };
    [part(resistance.shear_peak_y, resistance.f_v_y_k), part(resistance.shear_peak_z, resistance.f_v_k)]
}

/// Resultant of the shares along y and z, each shear stress over its strength.
pub fn utilisation(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> f64 {
    let [y, z] = per_newton(resistance, k_mod);
    ((forces.vy_n * y).powi(2) + (forces.vz_n * z).powi(2)).sqrt()
}

/// The same with its evidence; as stress against strength but where two strengths take part.
pub fn outcome(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> Outcome {
    let whole = utilisation(resistance, k_mod, forces);
    let [y, _] = per_newton(resistance, k_mod);
    let along_y = (forces.vy_n * y).abs();
    let mut factors =
        vec![factor("k_mod", k_mod), factor("gamma_M", resistance.gamma_m), factor("k_cr", resistance.k_cr)];
    let one = |strength| resistance.design(strength, k_mod);
    let strength = match (resistance.f_v_y_k == resistance.f_v_k, along_y) {
        (true, _) => one(resistance.f_v_k),
        (false, y) if y <= 1e-6 * whole => one(resistance.f_v_k),
        (false, y) if y >= (1.0 - 1e-9) * whole => one(resistance.f_v_y_k),
        _ => {
            factors.extend([factor("f_v,y,d", one(resistance.f_v_y_k)), factor("f_v,z,d", one(resistance.f_v_k))]);
            return sum((whole, CLAUSE), factors);
        }
    };
    stress(whole * strength, strength, CLAUSE, factors)
}

const CLAUSE: &str = "EN 1995-1-1 6.1.7 (6.13)";

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::design::section::properties;
    use crate::tables::timber::class;

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() <= 1e-9 * expected.abs(), "{found} against {expected}");
    }

    fn peaks_of(section: Section) -> [f64; 2] {
        let (y, z) = peaks(&section, &properties(&section));
        [y.unwrap(), z.unwrap()]
    }

    /// A solid round has 4/3; a thick tube 4/3 (R² + R r + r²)/(R² + r²), here 30 and 15: 4/3 · 1575/1125 (Timoshenko,
    /// Strength of Materials, from memory).
    #[test]
    fn rounds() {
        for peak in peaks_of(Section::Round { diameter_mm: 40.0 }) {
            close(peak, 4.0 / 3.0);
        }
        for peak in peaks_of(Section::RoundTube { diameter_mm: 60.0, wall_mm: 15.0 }) {
            close(peak, 4.0 / 3.0 * 1575.0 / 1125.0);
        }
    }

    /// 60 x 100 x 5 by hand: A 1500. Along z: I (60 · 100³ - 50 · 90³)/12 = 1 962 500, S (60 · 100² - 50 · 90²)/8 = 24 375, both
    /// webs 10 thick; along y: I (100 · 60³ - 90 · 50³)/12 = 862 500, S (100 · 60² - 90 · 50²)/8 = 16 875.
    #[test]
    fn rectangular_tube_by_hand() {
        let found = peaks_of(Section::RectangularTube { width_mm: 60.0, depth_mm: 100.0, wall_mm: 5.0 });
        close(found[0], 1500.0 * 16_875.0 / (862_500.0 * 10.0));
        close(found[1], 1500.0 * 24_375.0 / (1_962_500.0 * 10.0));
    }

    /// Veneer lumber 45 x 90 on edge: along z it has its edgewise strength, along y its flatwise one. One force is said
    /// as stress against its strength, two as a sum of squares.
    #[test]
    fn each_way_has_its_strength() {
        let lumber = class("LVL 48 P").unwrap();
        let section = Section::Rectangle { width_mm: 45.0, depth_mm: 90.0 };
        let resistance = Resistance::new(&section, lumber, 900.0, 900.0);
        assert!(lumber.f_v_k > lumber.f_v_flat_k);
        let said =
            |vy_n: f64, vz_n: f64| outcome(&resistance, 0.8, &SectionForces { vy_n, vz_n, ..SectionForces::default() });
        let (flat, edge) = (said(3000.0, 0.0), said(0.0, 3000.0));
        let stress = 1.5 * 3000.0 / (resistance.k_cr * 4050.0);
        for (said, strength) in [(&flat, lumber.f_v_flat_k), (&edge, lumber.f_v_k)] {
            assert_eq!(said.unit, "N/mm2");
            close(said.demand, stress);
            close(said.resistance, 0.8 * strength / 1.2);
        }
        let both = said(3000.0, 3000.0);
        assert_eq!(both.unit, "1");
        close(both.utilisation, flat.utilisation.hypot(edge.utilisation));
        assert_eq!(said(0.3, 0.3).unit, "1", "little of both is still both");
    }
}
