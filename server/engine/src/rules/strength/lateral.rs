//! Lateral buckling of a member bent about its strong axis: EN 1995-1-1 6.3.3 (6.30) to (6.35), table 6.1.
//!
//! sigma_m,crit by (6.31) with the exact torsion constant, not by (6.32), which is up to a tenth high for thick
//! rectangles. f_m,k in (6.30) with its size factor, as in the f_m,d that k_crit reduces: else a beam could be given
//! more than its critical stress. A moment about the weak axis is added linearly (P; the German annex does the same,
//! from memory). Tension is left out of account: it only helps.

use super::{Outcome, Resistance, factor, stress, sum};
use crate::design::Section;
use crate::design::section::SectionProperties;
use crate::findings::SectionForces;
use std::f64::consts::PI;

/// Relative slenderness in bending up to which k_crit is 1 (6.34).
pub const STOCKY: f64 = 0.75;

/// What the lateral buckling of a member depends on beside its length between holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lateral {
    /// True where the strong axis is local y (the usual case), false where it is local z (a board bent in its plane).
    pub strong_y: bool,
    /// Size in the direction in which it is strong, mm.
    pub depth_mm: f64,
    /// Critical bending stress (6.31) times the effective length, N/mm.
    pub stress_length_n_mm: f64,
}

impl Lateral {
    /// That of a section deeper than wide or wider than deep, with its 5 % moduli, N/mm²; `None` for squares and rounds,
    /// which have no weak axis, and for sections given by their figures.
    pub fn new(section: &Section, figures: &SectionProperties, e_0_05: f64, g_05: f64) -> Option<Self> {
        let (width, depth) = match section {
            Section::Rectangle { width_mm, depth_mm } | Section::RectangularTube { width_mm, depth_mm, .. } => {
                (*width_mm, *depth_mm)
            }
            Section::Round { .. } | Section::RoundTube { .. } | Section::Given(_) => return None,
        };
        if (width - depth).abs() <= 1e-9 * depth {
            return None;
        }
        let strong_y = depth > width;
        let (weak, modulus) =
            if strong_y { (figures.iz_mm4, figures.wy_mm3) } else { (figures.iy_mm4, figures.wz_mm3) };
        let stiffness = (e_0_05 * weak * g_05 * figures.j_mm4).sqrt();
        Some(Self { strong_y, depth_mm: depth.max(width), stress_length_n_mm: PI * stiffness / modulus? })
    }

    /// Critical bending stress (6.31) for an effective length, N/mm².
    pub fn critical_n_mm2(&self, length_mm: f64) -> f64 {
        self.stress_length_n_mm / length_mm
    }

    /// Moment about the strong and about the weak axis.
    pub fn moments(&self, forces: &SectionForces) -> [f64; 2] {
        if self.strong_y { [forces.my_n_mm, forces.mz_n_mm] } else { [forces.mz_n_mm, forces.my_n_mm] }
    }
}

/// Effective length over length, table 6.1; the choice among its rows is this project's (P).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Row {
    /// Held at both ends: as under a constant moment, 1.0.
    Constant,
    /// Held at both ends, no moment there, and the moment between them no fuller than a parabola: 0.9.
    Parabola,
    /// Free at one end, clamped sideways at the other: as under a load at its tip, 0.8.
    Clamped,
    /// Free at one end, the other held upright but not clamped sideways: 2.0. No row of the table, whose cantilevers are
    /// clamped; how far the span behind the overhang turns sideways is not reckoned (P, on the safe side).
    Overhang,
}

/// Effective length by table 6.1, mm. `pressed`: a load acts between the ends; it counts as on the compressed edge, so
/// twice the depth is added. The half depth less for loads on the tensioned edge is never taken (P: the design does
/// not say on which edge a load acts).
pub fn effective_length_mm(row: Row, length_mm: f64, depth_mm: f64, pressed: bool) -> f64 {
    let share = match row {
        Row::Constant => 1.0,
        Row::Overhang => 2.0,
        Row::Parabola => 0.9,
        Row::Clamped => 0.8,
    };
    share * length_mm + if pressed { 2.0 * depth_mm } else { 0.0 }
}

/// Relative slenderness in bending (6.30).
pub fn relative(f_m_k: f64, critical_n_mm2: f64) -> f64 {
    (f_m_k / critical_n_mm2).sqrt()
}

/// k_crit (6.34).
pub fn k_crit(relative: f64) -> f64 {
    if relative <= STOCKY {
        1.0
    } else if relative <= 1.4 {
        1.56 - 0.75 * relative
    } else {
        1.0 / (relative * relative)
    }
}

impl Resistance {
    /// Bending strength (5 %) about the strong axis of a lateral check, N/mm².
    fn strong_strength(&self, lateral: &Lateral) -> f64 {
        if lateral.strong_y { self.f_m_y_k } else { self.f_m_z_k }
    }

    /// k_crit for an effective length; 1 where nothing buckles sideways.
    pub fn k_crit(&self, length_mm: f64) -> f64 {
        self.lateral
            .map_or(1.0, |lateral| k_crit(relative(self.strong_strength(&lateral), lateral.critical_n_mm2(length_mm))))
    }
}

/// Shares of strong bending (with k_crit), weak bending and compression (with k_c about the weak axis), by 1 N·mm and
/// 1 N.
pub(crate) fn per_unit(resistance: &Resistance, lateral: &Lateral, k_mod: f64, k_crit: f64) -> [f64; 3] {
    let [y, z] = resistance.per_moment(k_mod);
    let [about_y, about_z] = super::column::per_newton(resistance, k_mod);
    if lateral.strong_y { [y / k_crit, z, about_z] } else { [z / k_crit, y, about_y] }
}

/// The sums of (6.33) and (6.35); the latter is 0 without compression.
pub fn both(resistance: &Resistance, k_mod: f64, forces: &SectionForces, length_mm: f64) -> [f64; 2] {
    let Some(lateral) = &resistance.lateral else { return [0.0; 2] };
    let [strong, weak, axial] = per_unit(resistance, lateral, k_mod, resistance.k_crit(length_mm));
    let moments = lateral.moments(forces);
    let (strong, weak) = (strong * moments[0].abs(), weak * moments[1].abs());
    let compression = (-forces.n_n).max(0.0) * axial;
    [strong + weak, if compression > 0.0 { strong * strong + compression + weak } else { 0.0 }]
}

/// The larger of (6.33) and (6.35) for an effective length, mm, with its evidence.
pub fn outcome(resistance: &Resistance, k_mod: f64, forces: &SectionForces, length_mm: f64) -> Outcome {
    let [alone, pressed] = both(resistance, k_mod, forces, length_mm);
    let governing = super::larger((alone, "EN 1995-1-1 6.3.3 (6.33)"), (pressed, "EN 1995-1-1 6.3.3 (6.35)"));
    let mut factors = vec![factor("k_mod", k_mod), factor("gamma_M", resistance.gamma_m)];
    let Some(lateral) = &resistance.lateral else { return sum(governing, factors) };
    let critical = lateral.critical_n_mm2(length_mm);
    let strength = resistance.strong_strength(lateral);
    let k_crit = resistance.k_crit(length_mm);
    let (k_h, column, modulus) = if lateral.strong_y {
        (factor("k_h,y", resistance.k_h_y), &resistance.column_z, resistance.wy_mm3)
    } else {
        (factor("k_h,z", resistance.k_h_z), &resistance.column_y, resistance.wz_mm3)
    };
    factors.extend([
        k_h,
        factor("l_ef", length_mm),
        factor("sigma_m,crit", critical),
        factor("lambda_rel,m", relative(strength, critical)),
        factor("k_crit", k_crit),
    ]);
    let moments = lateral.moments(forces);
    let design = resistance.design(strength, k_mod);
    let weak = per_unit(resistance, lateral, k_mod, k_crit)[1] * moments[1].abs();
    if pressed <= alone && weak <= 1e-9 * alone {
        let demand = moments[0].abs() / modulus.unwrap_or(f64::INFINITY);
        return stress(demand, k_crit * design, governing.1, factors);
    }
    factors.push(factor("f_m,d", design));
    if pressed > alone {
        let name = if lateral.strong_y { "k_c,z" } else { "k_c,y" };
        factors.extend([factor(name, column.k_c), factor("f_c,0,d", resistance.design(resistance.f_c_0_k, k_mod))]);
    }
    sum(governing, factors)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::tables::timber::class;

    /// Table 6.1 and (6.34) at its borders; 1.56 - 0.75 · 1.4 = 0.51 = 1/1.4² to 2 in 1000, by hand.
    #[test]
    fn table_and_ranges() {
        assert_eq!(effective_length_mm(Row::Constant, 1000.0, 100.0, false), 1000.0);
        assert_eq!(effective_length_mm(Row::Parabola, 1000.0, 100.0, true), 1100.0);
        assert_eq!(effective_length_mm(Row::Clamped, 1000.0, 100.0, false), 800.0);
        assert_eq!(effective_length_mm(Row::Overhang, 1000.0, 100.0, true), 2200.0);
        assert_eq!([0.1, 0.75].map(k_crit), [1.0, 1.0]);
        assert!((k_crit(1.0) - 0.81).abs() < 1e-12 && (k_crit(2.0) - 0.25).abs() < 1e-12);
        assert!((k_crit(1.4) - 0.51).abs() < 1e-12 && (k_crit(1.4 + 1e-9) - 0.510_204).abs() < 1e-6);
    }

    /// 45 x 220 C24 over 4 m, by hand: I_z = 220 · 45³/12 = 1 670 625; J = 0.2905 · 220 · 45³ = 5.823e6 (beta at 4.889
    /// is 1/3 (1 - 0.630/4.889)); W_y = 363 000; sqrt(7400 · 1 670 625 · 462.5 · 5.823e6) = 5.770e9;
    /// sigma_crit for 4040 mm = pi · 5.770e9/(4040 · 363 000) = 12.36.
    #[test]
    fn critical_stress_by_hand() {
        let resistance =
            Resistance::new(&Section::Rectangle { width_mm: 45.0, depth_mm: 220.0 }, class("C24").unwrap(), 1.0, 1.0);
        let lateral = resistance.lateral.unwrap();
        assert!(lateral.strong_y && lateral.depth_mm == 220.0);
        assert!((lateral.critical_n_mm2(4040.0) - 12.36).abs() < 0.01);
        // Laid flat it is the same beam bent about its other axis.
        let flat =
            Resistance::new(&Section::Rectangle { width_mm: 220.0, depth_mm: 45.0 }, class("C24").unwrap(), 1.0, 1.0);
        let turned = flat.lateral.unwrap();
        assert!(!turned.strong_y && (turned.critical_n_mm2(4040.0) - lateral.critical_n_mm2(4040.0)).abs() < 1e-9);
        let used = |resistance: &Resistance, my_n_mm, mz_n_mm| {
            both(resistance, 0.8, &SectionForces { my_n_mm, mz_n_mm, n_n: -500.0, ..SectionForces::default() }, 4040.0)
        };
        for (one, other) in used(&resistance, 3e6, 1e5).into_iter().zip(used(&flat, 1e5, 3e6)) {
            assert!((one - other).abs() < 1e-12, "{one} {other}");
        }
        let square = Section::Rectangle { width_mm: 45.0, depth_mm: 45.0 };
        assert!(Resistance::new(&square, class("C24").unwrap(), 1.0, 1.0).lateral.is_none());
    }

    /// (6.35): shares 0.6 (with k_crit) and 0.4 of compression (with k_c) give 0.36 + 0.4, and bending alone 0.6.
    #[test]
    fn compression_beside_bending() {
        let resistance =
            Resistance::new(&Section::Rectangle { width_mm: 45.0, depth_mm: 220.0 }, class("C24").unwrap(), 1.0, 900.0);
        let lateral = resistance.lateral.unwrap();
        let [strong, weak, axial] = per_unit(&resistance, &lateral, 0.8, resistance.k_crit(4040.0));
        let forces = SectionForces { n_n: -0.4 / axial, my_n_mm: 0.6 / strong, ..SectionForces::default() };
        let found = outcome(&resistance, 0.8, &forces, 4040.0);
        assert!((found.utilisation - 0.76).abs() < 1e-12 && found.clause.ends_with("(6.35)"));
        let says = |found: &Outcome, name: &str| found.factors.iter().any(|factor| factor.name == name);
        assert!(says(&found, "k_c,z") && says(&found, "f_c,0,d"));
        // Bent the strong way only it is said as a stress, M/W with W = 363 000.
        let bent = outcome(&resistance, 0.8, &SectionForces { n_n: 0.0, ..forces }, 4040.0);
        assert!(bent.unit == "N/mm2" && (bent.demand - forces.my_n_mm / 363_000.0).abs() < 1e-9, "{bent:?}");
        assert!(!says(&bent, "k_c,z"));
        // Little of both ways is still both.
        let little = SectionForces { my_n_mm: 10.0, mz_n_mm: 1.0, ..SectionForces::default() };
        assert_eq!(outcome(&resistance, 0.8, &little, 4040.0).unit, "1");
        let both_ways = SectionForces { n_n: 100.0, mz_n_mm: -0.1 / weak, ..forces };
        let found = outcome(&resistance, 0.8, &both_ways, 4040.0);
        assert!((found.utilisation - 0.7).abs() < 1e-12 && found.clause.ends_with("(6.33)") && found.unit == "1");
    }
}
