//! Lateral-torsional buckling of bars and tubes bent about their stiffer axis.
//!
//! EN 1993-1-1 6.3.2.2 (general case, curve d: "other cross-sections" of table 6.4) and EN 1999-1-1 6.3.2.2 (alpha_LT 0.20,
//! lambda_0,LT 0.4: classes 3 and 4). Square and round sections do not buckle so (EN 1993-1-1 6.3.2.1(2)). The leave of
//! 6.3.2.2(4) to look away up to 0.4 is not used for steel (safe side).

use super::column::Curve;
use super::{MetalResistance, Standard, column};
use crate::design::section::SectionProperties;
use crate::rules::judge::Unheld;
use crate::rules::strength::lateral::Row;
use crate::rules::strength::{Outcome, factor};
use std::f64::consts::PI;

/// Curve d of EN 1993-1-1 table 6.3.
const STEEL: Curve = Curve { imperfection: 0.76, plateau: 0.2 };
/// EN 1999-1-1 6.3.2.2(1), classes 3 and 4 (read in public code after the standard).
const ALUMINIUM: Curve = Curve { imperfection: 0.20, plateau: 0.4 };

/// Load factor C_2 with C_1 = 1: even bending, the worst shape, with every load on the edge that makes it worse. A point
/// load at midspan has C_1 1.35 and C_2 0.63 (from memory of the usual tables), an even load 1.13 and 0.45 (read).
const C_2: f64 = 0.63;

/// Lateral buckling of a member.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lateral {
    /// Length between places held against turning and moving sideways, mm.
    pub length_mm: f64,
    /// Elastic critical moment, N·mm.
    pub critical_n_mm: f64,
    /// Relative slenderness, sqrt(W f/M_cr).
    pub relative: f64,
    /// Reduction factor chi_LT.
    pub chi: f64,
}

/// M_cr = pi² E I_z/L² (sqrt(L² G I_t/(pi² E I_z) + (C_2 z_g)²) - C_2 z_g), warping left out (safe side), `edge_mm` the height
/// z_g of the load over the middle (from memory of the usual general formula), written without cancellation.
pub fn critical_moment(e_iz: f64, g_it: f64, length_mm: f64, edge_mm: f64) -> f64 {
    let euler = PI * PI * e_iz / (length_mm * length_mm);
    let twist = g_it / euler;
    let height = C_2 * edge_mm;
    euler * twist / ((twist + height * height).sqrt() + height)
}

/// Length to reckon a member with that may tip over on these stretches: the longest between two holds, twice an
/// overhang, twice the whole where nothing holds it (P: a free end goes aside as half of a length twice as long would).
/// An edge that a deck holds is not counted on.
pub fn length_mm(whole_mm: f64, unheld: &[Unheld]) -> f64 {
    let lengths = unheld.iter().map(|stretch| {
        let between = matches!(stretch.row, Row::Constant | Row::Parabola);
        (stretch.to_mm - stretch.from_mm) * if between { 1.0 } else { 2.0 }
    });
    lengths
        .fold(None, |most: Option<f64>, length| Some(most.map_or(length, |m| m.max(length))))
        .unwrap_or(2.0 * whole_mm)
}

/// Lateral buckling of a section held at this length; `None` where it is as stiff sideways.
pub fn lateral(
    standard: Standard,
    figures: &SectionProperties,
    [e, g, strength]: [f64; 3],
    length_mm: f64,
) -> Option<Lateral> {
    let about_y = figures.iy_mm4 >= figures.iz_mm4;
    let (stiff, soft) = if about_y { (figures.iy_mm4, figures.iz_mm4) } else { (figures.iz_mm4, figures.iy_mm4) };
    if stiff <= soft * (1.0 + 1e-9) {
        return None;
    }
    let modulus = if about_y { figures.wy_mm3? } else { figures.wz_mm3? };
    let critical_n_mm = critical_moment(e * soft, g * figures.j_mm4, length_mm, stiff / modulus);
    let relative = (modulus * strength / critical_n_mm).sqrt();
    let curve = match standard {
        Standard::Steel => STEEL,
        Standard::Aluminium => ALUMINIUM,
    };
    Some(Lateral { length_mm, critical_n_mm, relative, chi: curve.chi(relative) })
}

/// What bending uses where the member may tip over, without axial force: M/(chi_LT W f/gamma_M1) of the stiffer axis, plus
/// the other axis's share.
pub fn sum(resistance: &MetalResistance, greatest: &column::Greatest) -> f64 {
    column::bending(resistance, greatest).iter().sum()
}

/// The same with its evidence.
pub fn outcome(resistance: &MetalResistance, greatest: &column::Greatest) -> Outcome {
    let [stiff, soft] = column::bending(resistance, greatest);
    let clause = match resistance.standard {
        Standard::Steel if soft > 0.0 => "EN 1993-1-1 6.3.3 (6.62)",
        Standard::Steel => "EN 1993-1-1 6.3.2.1 (6.54)",
        Standard::Aluminium => "EN 1999-1-1 6.3.2.1 (6.54)",
    };
    let mut factors =
        vec![factor("gamma_M1", resistance.gamma_buckling), factor(resistance.strength_name(), resistance.strength)];
    if let Some(lateral) = resistance.lateral {
        factors.extend([
            factor("L_LT", lateral.length_mm),
            factor("M_cr", lateral.critical_n_mm),
            factor("lambda_LT", lateral.relative),
            factor("chi_LT", lateral.chi),
        ]);
    }
    Outcome { utilisation: stiff + soft, demand: stiff + soft, resistance: 1.0, unit: "1", clause, factors }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_by_hand() {
        let stretch = |from_mm, to_mm, row| Unheld { from_mm, to_mm, row, safe_sign: 0.0 };
        // Held at both ends: the whole. At one: twice. 300 past a span of 500: 600. Nowhere: twice the whole.
        assert_eq!(length_mm(1000.0, &[stretch(0.0, 1000.0, Row::Constant)]), 1000.0);
        assert_eq!(length_mm(1000.0, &[stretch(0.0, 1000.0, Row::Clamped)]), 2000.0);
        let past = [stretch(0.0, 500.0, Row::Constant), stretch(500.0, 800.0, Row::Overhang)];
        assert_eq!(length_mm(800.0, &past), 600.0);
        assert_eq!(length_mm(800.0, &[]), 1600.0);
    }
}
