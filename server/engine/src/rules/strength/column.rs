//! Columns: compression with bending where buckling is possible, EN 1995-1-1 6.3.2 (6.21) to (6.29).

use super::{Outcome, Resistance, factor, larger, stress, sum};
use crate::findings::SectionForces;
use crate::tables::timber::{Family, TimberClass};
use std::f64::consts::PI;

/// Relative slenderness up to which no buckling is considered (6.3.2(2)).
pub const STOCKY: f64 = 0.3;

/// Slenderness of a member about one axis.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Slenderness {
    /// Buckling length, mm.
    pub length_mm: f64,
    /// Radius of gyration, mm.
    pub radius_mm: f64,
    /// lambda: buckling length over radius of gyration.
    pub lambda: f64,
    /// lambda_rel, (6.21), (6.22).
    pub relative: f64,
    /// k, (6.27), (6.28).
    pub k: f64,
    /// k_c, (6.25), (6.26); 1 where lambda_rel is at most 0.3.
    pub k_c: f64,
}

/// What the buckling of a timber depends on beside its shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Buckling {
    /// Characteristic compression strength along the grain, N/mm².
    pub f_c_0_k: f64,
    /// Modulus of elasticity along the grain, 5 %, N/mm².
    pub e_0_05: f64,
    /// Straightness factor beta_c (6.29).
    pub beta_c: f64,
}

impl Buckling {
    /// That of a class.
    pub fn of(class: &TimberClass) -> Self {
        let beta_c = match class.family {
            Family::Softwood | Family::Hardwood => 0.2,
            Family::Glulam | Family::Lvl => 0.1,
        };
        Self { f_c_0_k: class.f_c_0_k, e_0_05: class.e_0_05, beta_c }
    }
}

impl Slenderness {
    /// Slenderness of a length between holds with a radius of gyration, mm.
    pub fn new(buckling: &Buckling, length_mm: f64, radius_mm: f64) -> Self {
        let lambda = length_mm / radius_mm;
        let relative = lambda / PI * (buckling.f_c_0_k / buckling.e_0_05).sqrt();
        let k = 0.5 * (1.0 + buckling.beta_c * (relative - STOCKY) + relative * relative);
        let k_c = if relative <= STOCKY { 1.0 } else { 1.0 / (k + (k * k - relative * relative).sqrt()) };
        Self { length_mm, radius_mm, lambda, relative, k, k_c }
    }

    /// True where no buckling is considered.
    pub fn stocky(&self) -> bool {
        self.relative <= STOCKY
    }
}

/// Utilisation by 1 N of compression with buckling about y and about z.
pub(crate) fn per_newton(resistance: &Resistance, k_mod: f64) -> [f64; 2] {
    let one = 1.0 / (resistance.area_mm2 * resistance.design(resistance.f_c_0_k, k_mod));
    [one / resistance.column_y.k_c, one / resistance.column_z.k_c]
}

const CLAUSE_Y: &str = "EN 1995-1-1 6.3.2 (6.23)";
const CLAUSE_Z: &str = "EN 1995-1-1 6.3.2 (6.24)";

/// The sums of (6.23) and (6.24).
pub fn both(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> [f64; 2] {
    let compression = (-forces.n_n).max(0.0);
    let [about_y, about_z] = per_newton(resistance, k_mod).map(|one| one * compression);
    let (y, z) = resistance.bending_parts(k_mod, forces);
    [about_y + y + resistance.k_m * z, about_z + resistance.k_m * y + z]
}

/// The larger of (6.23) and (6.24). Tension counts as no axial force.
pub fn utilisation(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> f64 {
    let [first, second] = both(resistance, k_mod, forces);
    first.max(second)
}

/// The same with its evidence; without bending it is said as stress against k_c f_c,0,d.
pub fn outcome(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> Outcome {
    let (y, z) = resistance.bending_parts(k_mod, forces);
    let [first, second] = both(resistance, k_mod, forces);
    let governing = larger((first, CLAUSE_Y), (second, CLAUSE_Z));
    let (column_y, column_z) = (&resistance.column_y, &resistance.column_z);
    let mut factors = vec![
        factor("k_mod", k_mod),
        factor("gamma_M", resistance.gamma_m),
        factor("l_ef,y", column_y.length_mm),
        factor("l_ef,z", column_z.length_mm),
        factor("lambda_rel,y", column_y.relative),
        factor("lambda_rel,z", column_z.relative),
        factor("k_c,y", column_y.k_c),
        factor("k_c,z", column_z.k_c),
    ];
    let strength = resistance.design(resistance.f_c_0_k, k_mod);
    if y + z <= 1e-9 * governing.0 {
        let k_c = if governing.1 == CLAUSE_Y { column_y.k_c } else { column_z.k_c };
        return stress(-forces.n_n / resistance.area_mm2, k_c * strength, governing.1, factors);
    }
    factors.extend([
        factor("k_h,y", resistance.k_h_y),
        factor("k_h,z", resistance.k_h_z),
        factor("k_m", resistance.k_m),
        factor("f_c,0,d", strength),
    ]);
    sum(governing, factors)
}
