//! Judges one member over all its states: for each thing asked of it the governing check, with its exact place.
//!
//! Stress resultants and displacements come as polynomials piece by piece, so the worst place is found, not sampled:
//! it is an end of a piece or a root of a derivative. A piece whose bound (the hull of its Bernstein coefficients)
//! can't beat the worst so far is passed over. Nothing is allocated per state.

mod lateral;
mod metal;
mod sag;
mod strength;

use super::strength::{Outcome, Resistance, bending, column, compression, shear, tension, torsion};
use crate::design::Vector;
use crate::findings::{Check, CheckKind, Factor, LimitState, SectionForces, Verdict};
use crate::rules::metal::MetalResistance;
use crate::statics::line::{Piece, value};
use metal::MetalBest;
use sag::SagBest;
use strength::{Best, StrengthBest};

pub use lateral::Unheld;
pub use sag::SagLimits;

/// A later state must beat the worst so far by this share, so that noise does not choose between equals.
const MARGIN: f64 = 1.0 + 1e-9;

/// One combination's results along the member.
#[derive(Clone, Copy, Debug)]
pub struct State<'a> {
    /// Name of the combination.
    pub combination: &'a str,
    /// What it is for: strength states give strength checks, sag states give sag.
    pub limit_state: LimitState,
    /// Modification factor; unused for sag.
    pub k_mod: f64,
    /// Buckling lengths about y and about z in this combination, mm (0: covered by second order); `None`: those of the
    /// member's resistance.
    pub buckling_mm: Option<[f64; 2]>,
    /// The member's pieces in order along it.
    pub pieces: &'a [Piece],
}

/// A member as the checks see it.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// Its tag.
    pub tag: &'a str,
    /// Its kind (rail, bearer ...).
    pub kind: &'a str,
    /// Start of its axis, vehicle axes, mm.
    pub from: Vector,
    /// Unit vector along it.
    pub along: Vector,
    /// Its length, mm.
    pub length_mm: f64,
    /// Its resistance as timber; `None`: strength is not checked so, sag is.
    pub resistance: Option<Resistance>,
    /// Its resistance as metal.
    pub metal: Option<MetalResistance>,
    /// Shear stiffness G A_s along y and z, N; `None`: no shear deflection. Only for a member on one support.
    pub shear_stiffness_n: [Option<f64>; 2],
    /// Places along it that support it, ascending, mm. Two or more give spans; one alone must hold it against turning.
    pub supports_mm: &'a [f64],
    /// Stretches over which it may tip sideways as it bends; none: lateral buckling is not checked.
    pub unheld: &'a [Unheld],
    /// Limits of sag by span.
    pub limits: SagLimits,
    /// Most sag wanted, absolute, mm.
    pub sag_limit_mm: Option<f64>,
}

/// The governing check of each kind that applies to the member, in the order of [`CheckKind`].
///
/// Axial force that uses less than a millionth of the member's resistance is no axial force; a member without any
/// answers for bending and shear alone.
pub fn judge(subject: &Subject<'_>, states: &[State<'_>]) -> Vec<Check> {
    let mut strength = StrengthBest::default();
    let mut metal = MetalBest::default();
    let mut sag = SagBest::default();
    for (index, state) in states.iter().enumerate() {
        match state.limit_state {
            LimitState::Strength => {
                if let Some(resistance) = &subject.resistance {
                    strength.take(&resistance.in_state(state.buckling_mm), subject.unheld, index, state);
                }
                if let Some(resistance) = &subject.metal {
                    metal.take(resistance, index, state);
                }
            }
            LimitState::SagInstant | LimitState::SagFinal => sag.take(subject, index, state),
        }
    }
    let mut checks = Vec::new();
    if let Some(resistance) = &subject.resistance {
        checks.extend(strength_checks(subject, resistance, &strength, states));
    }
    if let Some(resistance) = &subject.metal {
        checks.extend(metal.checks(subject, resistance, states));
    }
    checks.extend(sag.checks(subject, states));
    checks.sort_by_key(|check| check.kind);
    checks
}

fn strength_checks(
    subject: &Subject<'_>,
    resistance: &Resistance,
    best: &StrengthBest,
    states: &[State<'_>],
) -> Vec<Check> {
    type Rule = fn(&Resistance, f64, &SectionForces) -> Outcome;
    let kinds: [(CheckKind, &Option<Best>, Rule); 6] = [
        (CheckKind::TensionBending, &best.tension, tension::outcome),
        (CheckKind::CompressionBending, &best.compression, compression::outcome),
        (CheckKind::Bending, &best.bending, bending::outcome),
        (CheckKind::Shear, &best.shear, shear::outcome),
        (CheckKind::Column, &best.column, column::outcome),
        (CheckKind::Torsion, &best.torsion, torsion::outcome),
    ];
    let mut checks = Vec::with_capacity(kinds.len());
    let mut put = |kind, found: &Best, outcome: &dyn Fn(&Resistance, f64) -> Outcome| {
        let state = &states[found.state];
        let place = Place { at_mm: found.at_mm, combination: state.combination, forces: found.forces };
        let resistance = resistance.in_state(state.buckling_mm);
        checks.push(subject.check(kind, &place, outcome(&resistance, state.k_mod)));
    };
    for (kind, found, outcome) in kinds {
        if let Some(found) = found {
            put(kind, found, &|resistance, k_mod| outcome(resistance, k_mod, &found.forces));
        }
    }
    if let Some(found) = &best.lateral {
        put(CheckKind::LateralBuckling, &found.best, &|resistance, k_mod| {
            super::strength::lateral::outcome(resistance, k_mod, &found.best.forces, found.length_mm)
        });
    }
    checks
}

/// Where and when a check governs.
struct Place<'a> {
    at_mm: f64,
    combination: &'a str,
    forces: SectionForces,
}

impl Subject<'_> {
    fn check(&self, kind: CheckKind, place: &Place<'_>, outcome: Outcome) -> Check {
        let Outcome { utilisation, demand, resistance, unit, clause, factors } = outcome;
        Check {
            tag: self.tag.to_owned(),
            member_kind: self.kind.to_owned(),
            kind,
            clause: clause.to_owned(),
            at_mm: place.at_mm,
            point_mm: std::array::from_fn(|axis| self.from[axis] + self.along[axis] * place.at_mm),
            combination: place.combination.to_owned(),
            forces: place.forces,
            demand,
            resistance,
            unit: unit.to_owned(),
            utilisation,
            verdict: Verdict::of(utilisation),
            factors,
            mend: None,
        }
    }
}

/// Bounds of a polynomial on `[0, length]`: its Bernstein coefficients hold it between their least and greatest.
/// They are b_i = sum over j of C(i, j)/C(n, j) c_j length^j, summed up as a table of differences.
fn hull<const N: usize>(coefficients: &[f64; N], length: f64) -> [f64; 2] {
    let mut control = *coefficients;
    let mut power = 1.0;
    for (slot, inverse) in control.iter_mut().zip(&INVERSE_BINOMIAL[N - 1]) {
        *slot *= power * inverse;
        power *= length;
    }
    for first in (1..N).rev() {
        for i in first..N {
            control[i] += control[i - 1];
        }
    }
    control.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], c| [low.min(*c), high.max(*c)])
}

fn most(bounds: [f64; 2]) -> f64 {
    bounds[0].abs().max(bounds[1].abs())
}

/// 1/C(n, j).
const INVERSE_BINOMIAL: [[f64; 6]; 6] = [
    [1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [1.0, 1.0, 0.0, 0.0, 0.0, 0.0],
    [1.0, 0.5, 1.0, 0.0, 0.0, 0.0],
    [1.0, 1.0 / 3.0, 1.0 / 3.0, 1.0, 0.0, 0.0],
    [1.0, 0.25, 1.0 / 6.0, 0.25, 1.0, 0.0],
    [1.0, 0.2, 0.1, 0.1, 0.2, 1.0],
];

/// The piece a place lies in: the first that holds it.
fn piece_at(pieces: &[Piece], at_mm: f64) -> Option<&Piece> {
    let index = pieces.partition_point(|piece| piece.to_mm < at_mm);
    pieces.get(index).or_else(|| pieces.last())
}

/// Stress resultants at a place.
fn forces_at(pieces: &[Piece], at_mm: f64) -> SectionForces {
    piece_at(pieces, at_mm).map(|piece| piece.forces(at_mm - piece.from_mm)).unwrap_or_default()
}

fn factor(name: &str, value: f64) -> Factor {
    Factor { name: name.to_owned(), value }
}

/// Displacement along y (axis 0) or z (axis 1) at a place.
fn displacement_at(pieces: &[Piece], axis: usize, at_mm: f64) -> f64 {
    piece_at(pieces, at_mm).map_or(0.0, |piece| value(displacement(piece, axis), at_mm - piece.from_mm))
}

fn displacement(piece: &Piece, axis: usize) -> &[f64; 6] {
    if axis == 0 { &piece.uy } else { &piece.uz }
}

#[cfg(test)]
mod tests;
