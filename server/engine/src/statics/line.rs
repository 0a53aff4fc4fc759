//! Stress resultants and displacements along one member in one state, as exact polynomials piece by piece.

use crate::findings::SectionForces;

/// One piece of a member between two places where a load, joint or anchor begins or ends.
///
/// Each array holds the coefficients of powers of `s = x - from_mm`, lowest first. Forces in N and N·mm on the face
/// whose outward normal is local +x; `uy`, `uz` are displacements of the axis along local y and z, in mm (elastic line
/// of the bar with shear flexibility), not relative to a chord.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Piece {
    /// Place where the piece begins, mm from the member's start.
    pub from_mm: f64,
    /// Place where it ends.
    pub to_mm: f64,
    /// Axial force, tension positive.
    pub n: [f64; 3],
    /// Shear along local y.
    pub vy: [f64; 3],
    /// Shear along local z.
    pub vz: [f64; 3],
    /// Torsion.
    pub t: [f64; 3],
    /// Moment about local y.
    pub my: [f64; 4],
    /// Moment about local z.
    pub mz: [f64; 4],
    /// Displacement along local y.
    pub uy: [f64; 6],
    /// Displacement along local z.
    pub uz: [f64; 6],
}

/// Value of a polynomial given lowest power first.
pub fn value(coefficients: &[f64], s: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * s + c)
}

impl Piece {
    /// Stress resultants at `s` mm from the piece's beginning.
    pub fn forces(&self, s: f64) -> SectionForces {
        SectionForces {
            n_n: value(&self.n, s),
            vy_n: value(&self.vy, s),
            vz_n: value(&self.vz, s),
            t_n_mm: value(&self.t, s),
            my_n_mm: value(&self.my, s),
            mz_n_mm: value(&self.mz, s),
        }
    }
}
