//! Torsion, alone and with shear: EN 1995-1-1 6.1.8 (6.14), (6.15).
//!
//! k_shape by amendment A2: 1.2 for a round, min(1 + 0.05 h/b; 1.3) for a rectangle. (The 2004 text has 0.15 and 2.0.
//! The amendment's figures are from memory; of the two they are the lower ones, so nothing is lost if memory errs.)
//! A tube has none in the code: 1 (P).
//!
//! The code has no rule for torsion with shear. tau_tor/(k_shape f_v) + (tau/f_v)² <= 1 (P, common practice, no
//! source): the two stresses meet only on one side of the section.

use super::{Outcome, Resistance, factor, stress, sum};
use crate::design::Section;
use crate::design::section::SectionProperties;
use crate::findings::SectionForces;
use std::f64::consts::PI;

/// What twisting a member depends on beside its shear strength.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Twist {
    /// Torsion over greatest shear stress, mm³.
    pub modulus_mm3: f64,
    /// Shape factor (6.15).
    pub k_shape: f64,
    /// Shear strength (5 %) where that stress acts, N/mm².
    pub f_v_k: f64,
}

impl Twist {
    /// That of a section with a shear strength; `None` where the section is given by figures that have no modulus.
    pub fn new(section: &Section, figures: &SectionProperties, f_v_k: f64) -> Option<Self> {
        Some(Self { modulus_mm3: modulus_mm3(section, figures)?, k_shape: k_shape(section), f_v_k })
    }
}

/// Torsion over the greatest shear stress it makes, mm³: exact for solids and round tubes; a rectangular tube takes
/// J/(t + 2 A_m/p) with the area and length of its middle line (EN 10210-2 annex B, from memory). `None`: a section
/// given by its figures.
pub fn modulus_mm3(section: &Section, figures: &SectionProperties) -> Option<f64> {
    match section {
        Section::Rectangle { width_mm, depth_mm } => {
            let (long, short) = (width_mm.max(*depth_mm), width_mm.min(*depth_mm));
            Some(figures.j_mm4 / (short * steepest(long / short)))
        }
        Section::Round { diameter_mm } | Section::RoundTube { diameter_mm, .. } => {
            Some(2.0 * figures.j_mm4 / diameter_mm)
        }
        Section::RectangularTube { width_mm, depth_mm, wall_mm } => {
            let (width, depth) = (width_mm - wall_mm, depth_mm - wall_mm);
            let perimeter = 2.0 * (width + depth);
            Some(figures.j_mm4 / (wall_mm + 2.0 * width * depth / perimeter))
        }
        Section::Given(_) => None,
    }
}

/// St-Venant's greatest stress in a rectangle, at the middle of its long sides, over G theta b:
/// 1 - 8/pi² sum of 1/(n² cosh(n pi a/(2 b))), n odd, a the long side. Ten terms are exact to 1e-13.
fn steepest(ratio: f64) -> f64 {
    let series: f64 = (0..10)
        .rev()
        .map(|k| {
            let n = f64::from(2 * k + 1);
            1.0 / (n * n * (n * PI * ratio / 2.0).cosh())
        })
        .sum();
    1.0 - 8.0 / (PI * PI) * series
}

/// (6.15); h is the longer side.
pub fn k_shape(section: &Section) -> f64 {
    match section {
        Section::Rectangle { width_mm, depth_mm } => {
            (1.0 + 0.05 * width_mm.max(*depth_mm) / width_mm.min(*depth_mm)).min(1.3)
        }
        Section::Round { .. } => 1.2,
        Section::RectangularTube { .. } | Section::RoundTube { .. } | Section::Given(_) => 1.0,
    }
}

/// Utilisation by 1 N·mm of torsion alone; 0 where the section's modulus is not known.
pub(crate) fn per_moment(resistance: &Resistance, k_mod: f64) -> f64 {
    resistance
        .twist
        .map_or(0.0, |twist| 1.0 / (twist.modulus_mm3 * twist.k_shape * resistance.design(twist.f_v_k, k_mod)))
}

/// Torsion with the shear that acts beside it.
pub fn utilisation(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> f64 {
    let shear = super::shear::utilisation(resistance, k_mod, forces);
    forces.t_n_mm.abs() * per_moment(resistance, k_mod) + shear * shear
}

/// The same with its evidence; torsion alone is said as stress against k_shape f_v,d.
pub fn outcome(resistance: &Resistance, k_mod: f64, forces: &SectionForces) -> Outcome {
    let mut factors = vec![factor("k_mod", k_mod), factor("gamma_M", resistance.gamma_m)];
    let whole = utilisation(resistance, k_mod, forces);
    let alone = forces.t_n_mm.abs() * per_moment(resistance, k_mod);
    let Some(twist) = resistance.twist else { return sum((whole, CLAUSE), factors) };
    let strength = resistance.design(twist.f_v_k, k_mod);
    let tau = forces.t_n_mm.abs() / twist.modulus_mm3;
    factors.push(factor("k_shape", twist.k_shape));
    if whole - alone <= 1e-9 * whole {
        return stress(tau, twist.k_shape * strength, CLAUSE, factors);
    }
    factors.extend([factor("k_cr", resistance.k_cr), factor("tau_tor,d", tau), factor("f_v,d", strength)]);
    sum((whole, "EN 1995-1-1 6.1.8 (6.14), with 6.1.7"), factors)
}

const CLAUSE: &str = "EN 1995-1-1 6.1.8 (6.14)";

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::design::section::properties;
    use crate::tables::timber::class;

    fn modulus(section: Section) -> f64 {
        modulus_mm3(&section, &properties(&section)).unwrap()
    }

    /// alpha in tau = T/(alpha h b²): 0.208, 0.231, 0.246, 0.267, 0.282, 0.291, 0.312 for h/b = 1, 1.5, 2, 3, 4, 5, 10
    /// (Timoshenko and Goodier, Theory of Elasticity, table for the torsion of rectangular bars; from memory).
    #[test]
    fn rectangles_follow_the_table() {
        for (ratio, alpha) in
            [(1.0, 0.208), (1.5, 0.231), (2.0, 0.246), (3.0, 0.267), (4.0, 0.282), (5.0, 0.291), (10.0, 0.312)]
        {
            let found = modulus(Section::Rectangle { width_mm: 10.0, depth_mm: 10.0 * ratio }) / (1000.0 * ratio);
            assert!((found - alpha).abs() <= 6e-4, "{ratio}: {found} against {alpha}");
            let turned = modulus(Section::Rectangle { width_mm: 10.0 * ratio, depth_mm: 10.0 });
            assert!((turned / (1000.0 * ratio) - found).abs() < 1e-12);
        }
    }

    /// By hand: pi d³/16 for a round, 2 A_m t for a thin tube (Bredt), to the share of a wall in its half width.
    #[test]
    fn rounds_and_tubes() {
        assert!((modulus(Section::Round { diameter_mm: 40.0 }) - PI * 64_000.0 / 16.0).abs() < 1e-9);
        let box_ = modulus(Section::RectangularTube { width_mm: 501.0, depth_mm: 301.0, wall_mm: 1.0 });
        assert!((box_ / (2.0 * 500.0 * 300.0) - 1.0).abs() < 6e-3, "{box_}");
        // 60 x 40 x 4: A_m 56 · 36 = 2016, p 184, J from the section; J/(4 + 2 · 2016/184).
        let thick = Section::RectangularTube { width_mm: 60.0, depth_mm: 40.0, wall_mm: 4.0 };
        let by_hand = properties(&thick).j_mm4 / (4.0 + 2.0 * 2016.0 / 184.0);
        assert!((modulus(thick) / by_hand - 1.0).abs() < 1e-12);
        let ring = modulus(Section::RoundTube { diameter_mm: 401.0, wall_mm: 1.0 });
        assert!((ring / (2.0 * PI * 200.0 * 200.0) - 1.0).abs() < 3e-3, "{ring}");
    }

    /// 45 x 95 in C24, k_mod 0.8, T = 50 000 N·mm, V = 2000 N, by hand: alpha(2.111) = 0.2486 between 0.246 (2) and
    /// 0.258 (2.5), so tau_tor = 50 000/(0.2486 · 95 · 45²) = 1.0455; k_shape = 1 + 0.05 · 2.1111 = 1.10556;
    /// f_v,d = 0.8 · 4.0/1.3 = 2.46154; alone 1.0455/(1.10556 · 2.46154) = 0.3842;
    /// tau = 1.5 · 2000/(0.67 · 4275) = 1.04741, (1.04741/2.46154)² = 0.18106; together 0.5653.
    #[test]
    fn torsion_with_shear_by_hand() {
        let section = Section::Rectangle { width_mm: 45.0, depth_mm: 95.0 };
        let resistance = Resistance::new(&section, class("C24").unwrap(), 1.0, 1.0);
        let twisted = SectionForces { t_n_mm: -50_000.0, ..SectionForces::default() };
        let alone = outcome(&resistance, 0.8, &twisted);
        assert!((alone.utilisation - 0.3842).abs() < 1e-3 && alone.unit == "N/mm2", "{alone:?}");
        let both = outcome(&resistance, 0.8, &SectionForces { vz_n: 2000.0, ..twisted });
        assert!((both.utilisation - 0.5653).abs() < 1e-3 && both.unit == "1", "{both:?}");
        assert!((both.utilisation - alone.utilisation - 0.181_06).abs() < 1e-5);
        // Little of both is still both.
        let little = SectionForces { t_n_mm: -5.0, vz_n: 10.0, ..SectionForces::default() };
        assert_eq!(outcome(&resistance, 0.8, &little).unit, "1");
    }
}
