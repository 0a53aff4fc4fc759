//! Bending about both axes: EN 1995-1-1 6.1.6 (6.11) and (6.12). Axial force is left to the other checks.

use super::{Outcome, Resistance, factor, larger, stress, sum};
use crate::findings::SectionForces;

const CLAUSE_Y: &str = "EN 1995-1-1 6.1.6 (6.11)";
const CLAUSE_Z: &str = "EN 1995-1-1 6.1.6 (6.12)";

/// The sums of (6.11) and (6.12).
pub fn both(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> [f64; 2] {
    let (y, z) = resistance.bending_parts(k_mod, forces);
    [y + resistance.k_m * z, resistance.k_m * y + z]
}

/// The larger of (6.11) and (6.12).
pub fn utilisation(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> f64 {
    let [first, second] = both(resistance, k_mod, forces);
    first.max(second)
}

/// The same with its evidence; bending about one axis alone is said as stress against strength.
pub fn outcome(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> Outcome {
    let (y, z) = resistance.bending_parts(k_mod, forces);
    let [first, second] = both(resistance, k_mod, forces);
    let governing = larger((first, CLAUSE_Y), (second, CLAUSE_Z));
    let mut factors = vec![factor("k_mod", k_mod), factor("gamma_M", resistance.gamma_m)];
    let least = 1e-9 * governing.0;
    let one_axis = |moment: f64, modulus: Option<f64>| moment.abs() / modulus.unwrap_or(f64::INFINITY);
    if z <= least {
        factors.push(factor("k_h,y", resistance.k_h_y));
        let demand = one_axis(forces.my_n_mm, resistance.wy_mm3);
        return stress(demand, resistance.design(resistance.f_m_y_k, k_mod), CLAUSE_Y, factors);
    }
    if y <= least {
        factors.push(factor("k_h,z", resistance.k_h_z));
        let demand = one_axis(forces.mz_n_mm, resistance.wz_mm3);
        return stress(demand, resistance.design(resistance.f_m_z_k, k_mod), CLAUSE_Z, factors);
    }
    factors.extend([
        factor("k_h,y", resistance.k_h_y),
        factor("k_h,z", resistance.k_h_z),
        factor("k_m", resistance.k_m),
        factor("f_m,y,d", resistance.design(resistance.f_m_y_k, k_mod)),
        factor("f_m,z,d", resistance.design(resistance.f_m_z_k, k_mod)),
    ]);
    sum(governing, factors)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::design::Section;
    use crate::tables::timber::class;

    /// Bent one way it is said as a stress, M/W; both ways, however little, as a sum.
    #[test]
    fn one_way_and_both_ways() {
        let section = Section::Rectangle { width_mm: 45.0, depth_mm: 95.0 };
        let resistance = Resistance::new(&section, class("C24").unwrap(), 1.0, 1.0);
        let said = |my_n_mm: f64, mz_n_mm: f64| {
            outcome(&resistance, 0.8, &SectionForces { my_n_mm, mz_n_mm, ..SectionForces::default() })
        };
        let (y, z) = (said(-1e6, 0.0), said(0.0, 1e5));
        assert!((y.demand - 1e6 / 67_687.5).abs() < 1e-9 && y.clause == CLAUSE_Y, "{y:?}");
        assert!((z.demand - 1e5 / 32_062.5).abs() < 1e-9 && z.clause == CLAUSE_Z, "{z:?}");
        let both = said(-1e6, 1e5);
        assert!((both.utilisation - y.utilisation - 0.7 * z.utilisation).abs() < 1e-12 && both.unit == "1");
        assert_eq!(said(1.0, 1.0).unit, "1");
    }
}
