//! Compression along the grain with bending where no buckling is possible: EN 1995-1-1 6.1.4 (6.2), 6.2.4 (6.19) and
//! (6.20). Only for members whose relative slenderness is at most 0.3 about both axes (6.3.2(2)).

use super::{Outcome, Resistance, factor, larger, stress, sum};
use crate::findings::SectionForces;

/// Utilisation by 1 N of compression, to be squared.
pub(crate) fn per_newton(resistance: &Resistance, k_mod: f64) -> f64 {
    1.0 / (resistance.area_mm2 * resistance.design(resistance.f_c_0_k, k_mod))
}

const CLAUSE_ALONE: &str = "EN 1995-1-1 6.1.4 (6.2)";

/// The sums of (6.19) and (6.20).
pub fn both(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> [f64; 2] {
    let axial = (-forces.n_n).max(0.0) * per_newton(resistance, k_mod);
    let (y, z) = resistance.bending_parts(k_mod, forces);
    let (k_m, square) = (resistance.k_m, axial * axial);
    [square + y + k_m * z, square + k_m * y + z]
}

fn governing(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> (f64, &'static str) {
    let [first, second] = both(resistance, k_mod, forces);
    let combined = larger((first, "EN 1995-1-1 6.2.4 (6.19)"), (second, "EN 1995-1-1 6.2.4 (6.20)"));
    // (6.2) alone is the greater where there is hardly any bending: its term is not squared.
    larger(combined, ((-forces.n_n).max(0.0) * per_newton(resistance, k_mod), CLAUSE_ALONE))
}

/// The largest of (6.2), (6.19) and (6.20). Tension counts as no axial force.
pub fn utilisation(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> f64 {
    governing(resistance, k_mod, forces).0
}

/// The same with its evidence.
pub fn outcome(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> Outcome {
    let governing = governing(resistance, k_mod, forces);
    let strength = resistance.design(resistance.f_c_0_k, k_mod);
    let mut factors = vec![
        factor("k_mod", k_mod),
        factor("gamma_M", resistance.gamma_m),
        factor("lambda_rel,y", resistance.column_y.relative),
        factor("lambda_rel,z", resistance.column_z.relative),
    ];
    if governing.1 == CLAUSE_ALONE {
        return stress(-forces.n_n / resistance.area_mm2, strength, CLAUSE_ALONE, factors);
    }
    factors.extend([
        factor("k_h,y", resistance.k_h_y),
        factor("k_h,z", resistance.k_h_z),
        factor("k_m", resistance.k_m),
        factor("f_c,0,d", strength),
    ]);
    sum(governing, factors)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::design::Section;
    use crate::tables::timber::class;

    /// Pull is no push: it uses nothing here. The same push uses its share of f_c,0,d.
    #[test]
    fn tension_counts_as_no_axial_force() {
        let section = Section::Rectangle { width_mm: 70.0, depth_mm: 70.0 };
        let resistance = Resistance::new(&section, class("C24").unwrap(), 300.0, 300.0);
        let used = |n_n: f64| utilisation(&resistance, 0.8, &SectionForces { n_n, ..SectionForces::default() });
        assert_eq!(used(10_000.0), 0.0);
        assert!((used(-10_000.0) - 10_000.0 / (4900.0 * 0.8 * 21.0 / 1.3)).abs() < 1e-12);
    }
}
