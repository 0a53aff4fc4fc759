//! Size factors k_h of EN 1995-1-1 3.2 to 3.4, for rectangles.

use crate::tables::timber::{Family, TimberClass};

/// k_h on the bending strength for a rectangle of that size in the direction of bending, mm: (3.1) solid timber of at
/// most 700 kg/m³ (5 %), (3.2) glulam, (3.3) LVL on edge.
pub fn in_bending(class: &TimberClass, size_mm: f64) -> f64 {
    let (reference, exponent, most) = match class.family {
        Family::Softwood | Family::Hardwood if class.rho_k <= 700.0 => (150.0, 0.2, 1.3),
        Family::Softwood | Family::Hardwood => return 1.0,
        Family::Glulam => (600.0, 0.1, 1.1),
        Family::Lvl => (300.0, class.size_exponent, 1.2),
    };
    let grown: f64 = reference / size_mm;
    // LVL deeper than the reference loses strength; solid timber and glulam only gain below theirs.
    if size_mm >= reference && class.family != Family::Lvl { 1.0 } else { grown.powf(exponent).min(most) }
}

/// Longest member that a vehicle takes, mm (P).
const LONGEST_MM: f64 = 5000.0;

/// k_h on the tension strength, by the larger side. Veneer lumber has a factor by length instead, (3000/l)^(s/2) (3.4);
/// it is taken for the longest member a vehicle takes (P, on the safe side).
pub fn in_tension(class: &TimberClass, larger_mm: f64) -> f64 {
    match class.family {
        Family::Lvl => (3000.0 / LONGEST_MM).powf(class.size_exponent / 2.0),
        Family::Softwood | Family::Hardwood | Family::Glulam => in_bending(class, larger_mm),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::tables::timber::class;

    /// By hand from (3.1), (3.2) and (3.4): (150/120)^0.2 = 1.0456, cap 1.3 below 40.4 mm, none from 150 mm on.
    #[test]
    fn by_hand() {
        let c24 = class("C24").unwrap();
        assert!((in_bending(c24, 120.0) - 1.045_64).abs() < 1e-5);
        assert_eq!(in_bending(c24, 150.0), 1.0);
        assert_eq!(in_bending(c24, 200.0), 1.0);
        assert_eq!(in_bending(c24, 40.0), 1.3);
        let glulam = class("GL24h").unwrap();
        assert!((in_bending(glulam, 360.0) - 1.052_4).abs() < 1e-4);
        assert_eq!(in_bending(glulam, 100.0), 1.1);
        assert_eq!(in_bending(glulam, 700.0), 1.0);
        // (3.4): 0.6^0.075.
        assert!((in_tension(class("LVL 48 P").unwrap(), 240.0) - 0.962_41).abs() < 1e-5);
    }
}
