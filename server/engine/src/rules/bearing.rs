//! One timber pressed by another: across the grain EN 1995-1-1 6.1.5 (6.3), (6.4) with A1, along it 6.1.4 (6.2), at an
//! angle 6.2.2 (6.16).
//!
//! The pressure is taken as even over the contact; a moment that a joint holds is left to its fixings.

use super::strength::{Outcome, factor, stress};
use crate::tables::factors::gamma_m;
use crate::tables::timber::{Family, TimberClass};

/// Most that the fibres beside a contact add to its length on each side, mm (6.1.5(1)).
const BESIDE_MM: f64 = 30.0;
/// Longest contact of glued laminated timber on discrete supports with k_c,90 = 1.75, mm (6.1.5(4)).
const GLULAM_MM: f64 = 400.0;
/// Clear distance to the next contact, over the member's depth, from which k_c,90 is over 1 (6.1.5(3), (4)).
const CLEAR_OVER_DEPTH: f64 = 2.0;

/// A pressed face of a timber.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// Cosine of the angle between force and grain: 0 across the grain, 1 on end grain.
    pub along: f64,
    /// Length of the contact along the grain, mm.
    pub length_mm: f64,
    /// Its width across the grain, mm; length times width is its area.
    pub width_mm: f64,
    /// What the fibres beside it add, mm; 0 for end grain.
    pub beside_mm: f64,
    /// k_c,90.
    pub k_c_90: f64,
}

impl Face {
    /// Effective length along the grain, mm.
    pub fn effective_mm(&self) -> f64 {
        self.length_mm + self.beside_mm
    }
}

/// What the fibres on one side of a contact add to its length, mm: at most 30, the distance `end_mm` to the timber's
/// end, the contact's length, and half the clear distance to the next contact on the same face (6.1.5(1)).
pub fn beside_mm(length_mm: f64, end_mm: f64, clear_mm: Option<f64>) -> f64 {
    let half = clear_mm.map_or(f64::INFINITY, |clear| 0.5 * clear);
    BESIDE_MM.min(end_mm).min(length_mm).min(half).max(0.0)
}

/// k_c,90 where a timber lies on single supports (6.1.5(4)): 1.5 for solid softwood, 1.75 for glued laminated softwood
/// up to 400 mm long, if the next contact on any face is at least twice the depth away; else 1.
pub fn on_supports(family: Family, length_mm: f64, depth_mm: f64, clear_mm: Option<f64>) -> f64 {
    if clear_mm.is_some_and(|clear| clear < CLEAR_OVER_DEPTH * depth_mm) {
        return 1.0;
    }
    match family {
        Family::Softwood => 1.5,
        Family::Glulam if length_mm <= GLULAM_MM => 1.75,
        Family::Glulam | Family::Hardwood | Family::Lvl => 1.0,
    }
}

/// Strength in compression at an angle to the grain (6.16), N/mm²; `along` is the angle's cosine.
pub fn at_angle(f_c_0_d: f64, f_c_90_d: f64, k_c_90: f64, along: f64) -> f64 {
    let cos2 = (along * along).min(1.0);
    f_c_0_d / (f_c_0_d / (k_c_90 * f_c_90_d) * (1.0 - cos2) + cos2)
}

/// Share of the face's resistance that 1 N of pressure uses.
pub fn per_newton(face: &Face, class: &TimberClass, k_mod: f64) -> f64 {
    1.0 / (face.effective_mm() * face.width_mm * strength(face, class, k_mod).0)
}

/// The strength that counts and its clause.
fn strength(face: &Face, class: &TimberClass, k_mod: f64) -> (f64, &'static str) {
    let design = |characteristic: f64| k_mod * characteristic / gamma_m(class.family.into());
    let (along, across) = (design(class.f_c_0_k), design(class.f_c_90_k));
    if face.along == 0.0 {
        return (face.k_c_90 * across, "EN 1995-1-1 6.1.5 (6.3)");
    }
    let clause = if face.along > 1.0 - 1e-6 { "EN 1995-1-1 6.1.4 (6.2)" } else { "EN 1995-1-1 6.2.2 (6.16)" };
    (at_angle(along, across, face.k_c_90, face.along), clause)
}

/// Pressure against strength, with its evidence.
pub fn outcome(face: &Face, class: &TimberClass, k_mod: f64, force_n: f64) -> Outcome {
    let (resistance, clause) = strength(face, class, k_mod);
    let demand = force_n / (face.effective_mm() * face.width_mm);
    let gamma_m = gamma_m(class.family.into());
    let mut factors = vec![
        factor("F", force_n),
        factor("l", face.length_mm),
        factor("l_ef", face.effective_mm()),
        factor("b", face.width_mm),
        factor("k_mod", k_mod),
        factor("gamma_M", gamma_m),
    ];
    if face.along < 1.0 - 1e-6 {
        factors.push(factor("k_c,90", face.k_c_90));
        factors.push(factor("f_c,90,d", k_mod * class.f_c_90_k / gamma_m));
    }
    if face.along > 0.0 {
        factors.push(factor("f_c,0,d", k_mod * class.f_c_0_k / gamma_m));
        factors.push(factor("angle", face.along.min(1.0).acos().to_degrees()));
    }
    stress(demand, resistance, clause, factors)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::tables::timber::class;

    /// 6.1.5(1): each limit governs once (from memory of the standard; the figures by hand).
    #[test]
    fn each_limit_of_the_fibres_beside() {
        assert_eq!(beside_mm(60.0, 500.0, None), 30.0);
        assert_eq!(beside_mm(60.0, 12.0, None), 12.0);
        assert_eq!(beside_mm(20.0, 500.0, None), 20.0);
        assert_eq!(beside_mm(60.0, 500.0, Some(24.0)), 12.0);
        assert_eq!(beside_mm(60.0, -1.0, None), 0.0);
    }

    /// A force along the grain presses on end grain: 6.1.4, and no figure of pressure across takes part.
    #[test]
    fn end_grain_has_no_factor_of_pressure_across() {
        let face = Face { along: 1.0, length_mm: 45.0, width_mm: 70.0, beside_mm: 0.0, k_c_90: 1.0 };
        let found = outcome(&face, class("C24").unwrap(), 0.8, 1000.0);
        assert_eq!(found.clause, "EN 1995-1-1 6.1.4 (6.2)");
        assert!(found.factors.iter().all(|factor| !factor.name.contains("90")), "{:?}", found.factors);
    }

    /// 6.1.5(4): solid softwood 1.5, glued laminated 1.75 up to 400 mm, and 1 nearer than twice the depth and for
    /// hardwood (read in the project's reference formulas; from memory of the standard).
    #[test]
    fn supports_far_from_the_next_contact() {
        assert_eq!(on_supports(Family::Softwood, 45.0, 70.0, None), 1.5);
        assert_eq!(on_supports(Family::Softwood, 45.0, 70.0, Some(140.0)), 1.5);
        assert_eq!(on_supports(Family::Softwood, 45.0, 70.0, Some(139.9)), 1.0);
        assert_eq!(on_supports(Family::Glulam, 400.0, 70.0, None), 1.75);
        assert_eq!(on_supports(Family::Glulam, 400.1, 70.0, None), 1.0);
        assert_eq!(on_supports(Family::Hardwood, 45.0, 70.0, None), 1.0);
        assert_eq!(on_supports(Family::Lvl, 45.0, 70.0, None), 1.0);
    }

    /// (6.16) runs from f_c,0,d to k_c,90 f_c,90,d and falls in between.
    #[test]
    fn the_angle_runs_from_end_grain_to_across() {
        assert!((at_angle(14.0, 1.7, 1.5, 1.0) - 14.0).abs() < 1e-12);
        assert!((at_angle(14.0, 1.7, 1.5, 0.0) - 2.55).abs() < 1e-12);
        let falling: Vec<f64> =
            (0..=9).map(|step| at_angle(14.0, 1.7, 1.0, f64::from(step * 10).to_radians().cos())).collect();
        assert!(falling.windows(2).all(|pair| pair[1] < pair[0]), "{falling:?}");
    }

    /// A C16 bearer 38 wide on a C16 rail 45 wide, 1.5 kN, k_mod 0.8, away from ends. By hand: the bearer has
    /// l_ef = 45 + 60 = 105, 1500/(105 x 38) = 0.376 N/mm² against 0.8 x 2.2/1.3 = 1.354: 0.278.
    #[test]
    fn a_bearer_on_a_rail_by_hand() {
        let beside = beside_mm(45.0, 200.0, None) + beside_mm(45.0, 200.0, None);
        let face = Face { along: 0.0, length_mm: 45.0, width_mm: 38.0, beside_mm: beside, k_c_90: 1.0 };
        let class = class("C16").unwrap();
        let found = outcome(&face, class, 0.8, 1500.0);
        assert!((found.demand - 0.375_940).abs() < 1e-6 && (found.resistance - 1.353_846).abs() < 1e-6);
        assert!((found.utilisation - per_newton(&face, class, 0.8) * 1500.0).abs() < 1e-12);
        assert_eq!(found.clause, "EN 1995-1-1 6.1.5 (6.3)");
    }
}
