//! Columns of metal: flexural buckling, alone and with bending.
//!
//! Steel: EN 1993-1-1 6.3.1 and 6.3.3 (6.61), (6.62) with annex B, elastic resistances. Aluminium: EN 1999-1-1 6.3.1 and
//! 6.3.3.1. C_m = 1 and omega_x = 1 throughout, the safe end of both (P): the moments of a van's frame are no single
//! shape. N and both moments are the greatest along the member, wherever each is, as both codes ask.

use super::{MetalResistance, Standard};
use crate::rules::strength::{Outcome, factor};
use crate::tables::metal::{BucklingClass, MetalKind};
use std::f64::consts::PI;

/// Slenderness of a metal member about one axis.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Slenderness {
    /// Buckling length, mm.
    pub length_mm: f64,
    /// Radius of gyration, mm.
    pub radius_mm: f64,
    /// Relative slenderness, sqrt(A f/N_cr): 6.3.1.2 of both codes.
    pub relative: f64,
    /// Reduction factor chi, (6.49) of EN 1993-1-1, (6.50) of EN 1999-1-1.
    pub chi: f64,
}

/// A buckling curve: imperfection factor and the slenderness up to which there is no reduction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    /// alpha.
    pub imperfection: f64,
    /// lambda_0.
    pub plateau: f64,
}

/// Curve c: cold-formed hollow sections and solid bars (EN 1993-1-1 tables 6.1 and 6.2).
pub const CURVE_C: Curve = Curve { imperfection: 0.49, plateau: 0.2 };
/// Aluminium of buckling class A (EN 1999-1-1 table 6.6; read in a worked example).
pub const CLASS_A: Curve = Curve { imperfection: 0.20, plateau: 0.10 };
/// Aluminium of buckling class B (EN 1999-1-1 table 6.6, from memory).
pub const CLASS_B: Curve = Curve { imperfection: 0.32, plateau: 0.0 };

impl Curve {
    /// The curve of a metal: for steel c, as every tube and bar a builder gets may be cold formed (P).
    pub fn of(kind: MetalKind) -> Self {
        match kind {
            MetalKind::Steel => CURVE_C,
            MetalKind::Aluminium(BucklingClass::A) => CLASS_A,
            MetalKind::Aluminium(BucklingClass::B) => CLASS_B,
        }
    }

    /// chi = 1/(phi + sqrt(phi² - lambda²)), phi = (1 + alpha (lambda - lambda_0) + lambda²)/2, at most 1.
    pub fn chi(&self, relative: f64) -> f64 {
        if relative <= self.plateau {
            return 1.0;
        }
        let phi = 0.5 * (1.0 + self.imperfection * (relative - self.plateau) + relative * relative);
        (1.0 / (phi + (phi * phi - relative * relative).max(0.0).sqrt())).min(1.0)
    }
}

impl Slenderness {
    /// Slenderness of a length with a radius of gyration, mm, of a metal with this modulus and yield strength, N/mm².
    pub fn new(curve: Curve, e: f64, strength: f64, length_mm: f64, radius_mm: f64) -> Self {
        let relative = length_mm / (radius_mm * PI) * (strength / e).sqrt();
        Self { length_mm, radius_mm, relative, chi: curve.chi(relative) }
    }
}

/// Greatest compression and moments along a member, sizes, N and N·mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Greatest {
    /// Compression.
    pub n: f64,
    /// Moment about y.
    pub my: f64,
    /// Moment about z.
    pub mz: f64,
}

/// What of a member's resistance compression and bending use, with the clause.
pub fn sum(resistance: &MetalResistance, greatest: &Greatest) -> (f64, &'static str) {
    match resistance.standard {
        Standard::Steel => steel(resistance, greatest),
        Standard::Aluminium => aluminium(resistance, greatest),
    }
}

/// (6.61) and (6.62), the larger. y is the stiffer axis of the section, as in the code, whichever way it is turned.
///
/// Annex B, class 3: k_yy = C_my (1 + 0.6 min(lambda_y, 1) n_y), k_zz likewise, k_yz = k_zz; k_zy = 0.8 k_yy where the
/// section does not buckle sideways (table B.1), else 1 (table B.2 has less).
fn steel(resistance: &MetalResistance, greatest: &Greatest) -> (f64, &'static str) {
    let [bend_y, bend_z] = bending(resistance, greatest);
    let [column_y, column_z] = if resistance.stiffer_about_y() { [0, 1] } else { [1, 0] }.map(|i| resistance.column[i]);
    let squash = greatest.n / (resistance.area_mm2 * resistance.strength / resistance.gamma_buckling);
    let (share_y, share_z) = (squash / column_y.chi, squash / column_z.chi);
    let amplified = |column: &Slenderness, share: f64| 1.0 + 0.6 * column.relative.min(1.0) * share;
    let (k_yy, k_zz) = (amplified(&column_y, share_y), amplified(&column_z, share_z));
    let k_zy = if resistance.tips() { 1.0 } else { 0.8 * k_yy };
    let first = share_y + k_yy * bend_y + k_zz * bend_z;
    let second = share_z + k_zy * bend_y + k_zz * bend_z;
    if second > first { (second, "EN 1993-1-1 6.3.3 (6.62)") } else { (first, "EN 1993-1-1 6.3.3 (6.61)") }
}

/// (N/(chi_min N_Rd))^psi + (My/My,Rd + Mz/Mz,Rd)^m. psi = chi_min, at least 0.8; m = 1 for hollow sections and the same
/// psi for solid bars and profiles: (6.62), (6.60) with the exponents of a section that does not yield (alpha = 1),
/// from memory. The moments are summed, which is more than the code's (a^1.7 + b^1.7)^0.6.
fn aluminium(resistance: &MetalResistance, greatest: &Greatest) -> (f64, &'static str) {
    let [bend_y, bend_z] = bending(resistance, greatest);
    let chi = resistance.column[0].chi.min(resistance.column[1].chi);
    let exponent = chi.max(0.8);
    let share = greatest.n / (chi * resistance.area_mm2 * resistance.strength / resistance.gamma_buckling);
    let bent = bend_y + bend_z;
    if resistance.hollow {
        (share.powf(exponent) + bent, "EN 1999-1-1 6.3.3.1 (6.62)")
    } else {
        (share.powf(exponent) + bent.powf(exponent), "EN 1999-1-1 6.3.3.1 (6.60)")
    }
}

/// Bending shares about the stiffer and the other axis; the first over chi_LT.
pub(super) fn bending(resistance: &MetalResistance, greatest: &Greatest) -> [f64; 2] {
    let [_, my, mz] = resistance.stresses.normal();
    let limit = resistance.strength / resistance.gamma_buckling;
    let shares = [greatest.my * my / limit, greatest.mz * mz / limit];
    let [stiff, soft] = if resistance.stiffer_about_y() { shares } else { [shares[1], shares[0]] };
    [stiff / resistance.lateral.map_or(1.0, |l| l.chi), soft]
}

/// The same with its evidence; without bending it is said as a stress against chi f/gamma_M1.
pub fn outcome(resistance: &MetalResistance, greatest: &Greatest) -> Outcome {
    let (used, clause) = sum(resistance, greatest);
    let [column_y, column_z] = &resistance.column;
    let mut factors = vec![
        factor("gamma_M1", resistance.gamma_buckling),
        factor(resistance.strength_name(), resistance.strength),
        factor("L_cr,y", column_y.length_mm),
        factor("L_cr,z", column_z.length_mm),
        factor("lambda_rel,y", column_y.relative),
        factor("lambda_rel,z", column_z.relative),
        factor("chi_y", column_y.chi),
        factor("chi_z", column_z.chi),
    ];
    let [stiff, soft] = bending(resistance, greatest);
    if stiff + soft <= 1e-9 * used {
        let chi = column_y.chi.min(column_z.chi);
        let clause = match resistance.standard {
            Standard::Steel => "EN 1993-1-1 6.3.1.1 (6.46)",
            Standard::Aluminium => "EN 1999-1-1 6.3.1.1 (6.48)",
        };
        let demand = greatest.n / resistance.area_mm2;
        let limit = chi * resistance.strength / resistance.gamma_buckling;
        return Outcome { utilisation: demand / limit, demand, resistance: limit, unit: "N/mm2", clause, factors };
    }
    if let Some(lateral) = resistance.lateral {
        factors.push(factor("chi_LT", lateral.chi));
    }
    Outcome { utilisation: used, demand: used, resistance: 1.0, unit: "1", clause, factors }
}
