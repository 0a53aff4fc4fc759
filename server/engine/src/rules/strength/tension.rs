//! Tension along the grain, alone or with bending: EN 1995-1-1 6.1.2 (6.1), 6.2.3 (6.17) and (6.18).

use super::{Outcome, Resistance, factor, larger, stress, sum};
use crate::findings::{Factor, SectionForces};

/// Utilisation by 1 N of tension.
pub(crate) fn per_newton(resistance: &Resistance, k_mod: f64) -> f64 {
    1.0 / (resistance.area_mm2 * resistance.design(resistance.f_t_0_k, k_mod))
}

/// The sums of (6.17) and (6.18).
pub fn both(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> [f64; 2] {
    let axial = forces.n_n.max(0.0) * per_newton(resistance, k_mod);
    let (y, z) = resistance.bending_parts(k_mod, forces);
    [axial + y + resistance.k_m * z, axial + resistance.k_m * y + z]
}

/// The larger of (6.17) and (6.18); without bending it is (6.1). Compression counts as no axial force.
pub fn utilisation(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> f64 {
    let [first, second] = both(resistance, k_mod, forces);
    first.max(second)
}

/// The same with its evidence.
pub fn outcome(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> Outcome {
    let [first, second] = both(resistance, k_mod, forces);
    let governing = larger((first, "EN 1995-1-1 6.2.3 (6.17)"), (second, "EN 1995-1-1 6.2.3 (6.18)"));
    let axial = forces.n_n.max(0.0) * per_newton(resistance, k_mod);
    let mut factors =
        vec![factor("k_mod", k_mod), factor("gamma_M", resistance.gamma_m), factor("k_h,t", resistance.k_h_t)];
    if governing.0 - axial <= 1e-9 * axial {
        let demand = forces.n_n.max(0.0) / resistance.area_mm2;
        return stress(demand, resistance.design(resistance.f_t_0_k, k_mod), "EN 1995-1-1 6.1.2 (6.1)", factors);
    }
    factors.extend(with_bending(resistance));
    factors.push(factor("f_t,0,d", resistance.design(resistance.f_t_0_k, k_mod)));
    sum(governing, factors)
}

fn with_bending(resistance: &Resistance) -> [Factor; 3] {
    [factor("k_h,y", resistance.k_h_y), factor("k_h,z", resistance.k_h_z), factor("k_m", resistance.k_m)]
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::design::Section;
    use crate::tables::timber::class;

    fn square() -> Resistance {
        let section = Section::Rectangle { width_mm: 150.0, depth_mm: 150.0 };
        Resistance::new(&section, class("C24").unwrap(), 1000.0, 1000.0)
    }

    /// 150 x 150 in C24 has no size factor: shares by hand n 0.2 (f_t 14.5), y 0.1 and z 0.3 (f_m 24), k_mod 0.8;
    /// (6.17) 0.2 + 0.1 + 0.7 · 0.3, (6.18) 0.2 + 0.7 · 0.1 + 0.3.
    #[test]
    fn both_sums_by_hand() {
        let resistance = square();
        let design = 0.8 / 1.3;
        let forces = SectionForces {
            n_n: 0.2 * 22_500.0 * 14.5 * design,
            my_n_mm: -0.1 * 562_500.0 * 24.0 * design,
            mz_n_mm: 0.3 * 562_500.0 * 24.0 * design,
            ..SectionForces::default()
        };
        let [first, second] = both(&resistance, 0.8, &forces);
        assert!((first - 0.51).abs() < 1e-12 && (second - 0.57).abs() < 1e-12, "{first} {second}");
        assert_eq!(outcome(&resistance, 0.8, &forces).clause, "EN 1995-1-1 6.2.3 (6.18)");
        // Bent alike both ways the sums are equal, and the first is named.
        let alike = SectionForces { my_n_mm: 1e6, mz_n_mm: 1e6, ..forces };
        assert_eq!(outcome(&resistance, 0.8, &alike).clause, "EN 1995-1-1 6.2.3 (6.17)");
    }

    /// Little tension with less bending is still tension with bending; without any it is (6.1).
    #[test]
    fn tension_alone_is_said_only_without_bending() {
        let resistance = square();
        let said =
            |my_n_mm: f64| outcome(&resistance, 0.8, &SectionForces { n_n: 20.0, my_n_mm, ..SectionForces::default() });
        assert_eq!(said(0.0).clause, "EN 1995-1-1 6.1.2 (6.1)");
        assert_eq!(said(40.0).clause, "EN 1995-1-1 6.2.3 (6.17)");
    }
}
