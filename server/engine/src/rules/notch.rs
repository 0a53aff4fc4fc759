//! Shear at a notch near a support: EN 1995-1-1 6.5.2 (6.60) to (6.63).
//!
//! The shear stress is that of the remaining depth with cracks, b_ef = k_cr b (6.13a; many notes print b, the larger
//! stress is taken).

use super::strength::{Outcome, Resistance, factor, stress};
use crate::tables::timber::Family;

/// A notch with the place that carries the member, or that the member carries, beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Notched {
    /// Depth of the whole section square to the notched face, mm.
    pub h_mm: f64,
    /// What is left of it, mm.
    pub h_ef_mm: f64,
    /// What is left of the section's width along the notched face, mm.
    pub width_mm: f64,
    /// From the line of the reaction to the corner of the notch, mm.
    pub x_mm: f64,
    /// Run over rise of the notch's end at that corner; 0 for a square cut.
    pub slope: f64,
    /// k_n.
    pub k_n: f64,
}

/// k_n (6.63): 5 for solid timber, 6.5 for glued laminated timber, 4.5 for LVL.
pub fn k_n(family: Family) -> f64 {
    match family {
        Family::Softwood | Family::Hardwood => 5.0,
        Family::Glulam => 6.5,
        Family::Lvl => 4.5,
    }
}

/// k_v (6.62) where the crack opens: the member is notched on the side of the support. On the other side it is 1
/// (6.61).
pub fn k_v(notched: &Notched) -> f64 {
    let Notched { h_mm, h_ef_mm, x_mm, slope, k_n, .. } = *notched;
    let left = h_ef_mm / h_mm;
    let ends = k_n * (1.0 + 1.1 * slope.powf(1.5) / h_mm.sqrt());
    let opens = (left * (1.0 - left)).sqrt() + 0.8 * x_mm / h_mm * (1.0 / left - left * left).sqrt();
    (ends / (h_mm.sqrt() * opens)).min(1.0)
}

/// Share of the resistance that 1 N of shear uses (6.60).
pub fn per_newton(notched: &Notched, resistance: &Resistance, k_mod: f64) -> f64 {
    let b_ef = resistance.k_cr * notched.width_mm;
    1.5 / (b_ef * notched.h_ef_mm * k_v(notched) * resistance.design(resistance.f_v_k, k_mod))
}

/// Shear stress against k_v f_v,d, with its evidence.
pub fn outcome(notched: &Notched, resistance: &Resistance, k_mod: f64, shear_n: f64) -> Outcome {
    let demand = 1.5 * shear_n.abs() / (resistance.k_cr * notched.width_mm * notched.h_ef_mm);
    let k_v = k_v(notched);
    let factors = vec![
        factor("V", shear_n.abs()),
        factor("h", notched.h_mm),
        factor("h_ef", notched.h_ef_mm),
        factor("x", notched.x_mm),
        factor("i", notched.slope),
        factor("k_n", notched.k_n),
        factor("k_v", k_v),
        factor("k_mod", k_mod),
        factor("gamma_M", resistance.gamma_m),
        factor("k_cr", resistance.k_cr),
    ];
    stress(demand, k_v * resistance.design(resistance.f_v_k, k_mod), "EN 1995-1-1 6.5.2 (6.60)", factors)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::design::Section;
    use crate::tables::timber::class;

    fn notched(h_ef_mm: f64, x_mm: f64, slope: f64) -> Notched {
        Notched { h_mm: 100.0, h_ef_mm, width_mm: 45.0, x_mm, slope, k_n: 5.0 }
    }

    /// By hand, h = 100, half cut away, corner over the reaction: sqrt(0.25) = 0.5, k_v = 5/(10 x 0.5) = 1.
    /// With x = h: 0.5 + 0.8 sqrt(2 - 0.25) = 1.55830, k_v = 0.5/1.55830 = 0.320862.
    #[test]
    fn half_a_section_by_hand() {
        assert!((k_v(&notched(50.0, 0.0, 0.0)) - 1.0).abs() < 1e-12);
        assert!((k_v(&notched(50.0, 100.0, 0.0)) - 0.320_862).abs() < 1e-6);
    }

    /// A slope of 4 lifts k_v by 1 + 1.1 x 8/10 = 1.88 (by hand); it never passes 1.
    #[test]
    fn a_slope_helps_up_to_a_whole_section() {
        let square = k_v(&notched(50.0, 100.0, 0.0));
        assert!((k_v(&notched(50.0, 100.0, 4.0)) - 1.88 * square).abs() < 1e-9);
        assert_eq!(k_v(&notched(50.0, 0.0, 4.0)), 1.0);
    }

    /// The deeper the cut and the farther the reaction, the less is left; next to nothing cut away is a whole section.
    #[test]
    fn deeper_and_farther_are_worse() {
        let by_depth: Vec<f64> = [90.0, 80.0, 70.0, 60.0].map(|left| k_v(&notched(left, 60.0, 0.0))).to_vec();
        assert!(by_depth.windows(2).all(|pair| pair[1] < pair[0]), "{by_depth:?}");
        let by_place: Vec<f64> = [20.0, 40.0, 80.0].map(|x| k_v(&notched(70.0, x, 0.0))).to_vec();
        assert!(by_place.windows(2).all(|pair| pair[1] < pair[0]), "{by_place:?}");
        assert_eq!(k_v(&notched(100.0 - 1e-9, 0.0, 0.0)), 1.0);
    }

    /// Half of 45 x 100 in C24, corner over the reaction (k_v 1), by hand: 1 N uses 1.5/(0.67 · 45 · 50 · 0.8 · 4.0/1.3).
    #[test]
    fn one_newton_by_hand() {
        let section = Section::Rectangle { width_mm: 45.0, depth_mm: 100.0 };
        let resistance = Resistance::new(&section, class("C24").unwrap(), 1.0, 1.0);
        let cut = notched(50.0, 0.0, 0.0);
        let used = per_newton(&cut, &resistance, 0.8);
        assert!((used / (1.5 / (0.67 * 45.0 * 50.0 * 0.8 * 4.0 / 1.3)) - 1.0).abs() < 1e-12, "{used}");
        assert!((outcome(&cut, &resistance, 0.8, -700.0).utilisation / (700.0 * used) - 1.0).abs() < 1e-12);
    }
}
