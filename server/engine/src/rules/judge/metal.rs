//! The worst place and state of each check of a metal member.
//!
//! Stresses that act together are no polynomial along the member. Ends of pieces and turning points of every resultant
//! are looked at exactly; then each stretch is halved while the check, with every resultant at its greatest on the
//! stretch, could still beat the worst so far by more than a ten-thousandth, down to a thousandth of the piece. Where
//! one resultant turns or jumps at the worst place (nearly always) the answer is exact; else it is low by at most
//! those shares. Buckling takes the greatest compression and moments along the member, which are exact.

use super::{Place, State, Subject, hull};
use crate::findings::{Check, CheckKind, SectionForces};
use crate::rules::metal::column::Greatest;
use crate::rules::metal::stress::Sizes;
use crate::rules::metal::{MetalResistance, SECTION_KINDS, SectionCheck, column, lateral};
use crate::rules::roots::{derivative, in_interval};
use crate::rules::strength::AXIAL_LEAST;
use crate::statics::line::Piece;

/// What a stretch must promise beyond the worst so far to be looked into.
const GAIN: f64 = 1.0 + 1e-4;
/// How often a piece is halved at most.
const HALVINGS: u32 = 10;

/// The worst of one section check so far.
#[derive(Clone, Copy, Debug)]
struct Found {
    utilisation: f64,
    state: usize,
    at_mm: f64,
    forces: SectionForces,
}

/// The worst of a buckling check so far.
#[derive(Clone, Copy, Debug)]
struct Buckled {
    utilisation: f64,
    state: usize,
    most: Most,
}

/// Greatest compression and moments along a member in one state, with their signs, and where the bending is.
#[derive(Clone, Copy, Debug, Default)]
struct Most {
    forces: SectionForces,
    at_mm: f64,
}

impl Most {
    fn greatest(&self) -> Greatest {
        Greatest { n: (-self.forces.n_n).max(0.0), my: self.forces.my_n_mm.abs(), mz: self.forces.mz_n_mm.abs() }
    }
}

/// The worst of each check so far.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct MetalBest {
    /// In the order of [`SECTION_KINDS`].
    section: [Option<Found>; SECTION_KINDS.len()],
    column: Option<Buckled>,
    lateral: Option<Buckled>,
}

impl MetalBest {
    /// Takes in one strength state.
    pub(super) fn take(&mut self, resistance: &MetalResistance, index: usize, state: &State<'_>) {
        for ((kind, asks), found) in SECTION_KINDS.into_iter().zip(&mut self.section) {
            let known = match asks {
                SectionCheck::Stress => true,
                SectionCheck::Shear => resistance.stresses.shear_known(),
                SectionCheck::Torsion => resistance.stresses.torsion_known(),
            };
            if known {
                for piece in state.pieces {
                    Stretch { resistance, kind, asks, state: index, piece }.search(found);
                }
            }
        }
        self.buckling(&resistance.in_state(state.buckling_mm), index, state);
    }

    fn buckling(&mut self, resistance: &MetalResistance, index: usize, state: &State<'_>) {
        let most = most(resistance, state.pieces);
        let greatest = most.greatest();
        let [by_force, ..] = resistance.stresses.normal();
        if greatest.n * by_force / resistance.section_limit() > AXIAL_LEAST {
            keep(&mut self.column, column::sum(resistance, &greatest).0, index, most);
        }
        let bent = if resistance.stiffer_about_y() { greatest.my } else { greatest.mz };
        if resistance.tips() && bent > 0.0 {
            keep(&mut self.lateral, lateral::sum(resistance, &greatest), index, most);
        }
    }

    /// The checks, each with its evidence.
    pub(super) fn checks(
        &self,
        subject: &Subject<'_>,
        resistance: &MetalResistance,
        states: &[State<'_>],
    ) -> Vec<Check> {
        let mut checks = Vec::new();
        for ((kind, asks), found) in SECTION_KINDS.into_iter().zip(&self.section) {
            let Some(found) = found else { continue };
            let place =
                Place { at_mm: found.at_mm, combination: states[found.state].combination, forces: found.forces };
            let counted = counted(kind, Sizes::of(&found.forces));
            checks.push(subject.check(kind, &place, resistance.section_outcome(asks, &counted)));
        }
        type Rule = fn(&MetalResistance, &Greatest) -> crate::rules::strength::Outcome;
        let buckled: [(CheckKind, &Option<Buckled>, Rule); 2] = [
            (CheckKind::Column, &self.column, column::outcome),
            (CheckKind::LateralBuckling, &self.lateral, lateral::outcome),
        ];
        for (kind, found, outcome) in buckled {
            let Some(found) = found else { continue };
            let state = &states[found.state];
            let place = Place { at_mm: found.most.at_mm, combination: state.combination, forces: found.most.forces };
            let resistance = resistance.in_state(state.buckling_mm);
            checks.push(subject.check(kind, &place, outcome(&resistance, &found.most.greatest())));
        }
        checks
    }
}

fn keep(best: &mut Option<Buckled>, utilisation: f64, state: usize, most: Most) {
    if utilisation.is_finite() && best.is_none_or(|best| utilisation > best.utilisation * super::MARGIN) {
        *best = Some(Buckled { utilisation, state, most });
    }
}

/// Greatest compression and moments along all pieces.
fn most(resistance: &MetalResistance, pieces: &[Piece]) -> Most {
    let mut most = Most::default();
    let [_, by_y, by_z] = resistance.stresses.normal();
    let mut bent = -1.0;
    for piece in pieces {
        let mut visit = |s: f64| {
            let here = piece.forces(s);
            let kept = &mut most.forces;
            kept.n_n = kept.n_n.min(here.n_n);
            for (kept, here) in [(&mut kept.my_n_mm, here.my_n_mm), (&mut kept.mz_n_mm, here.mz_n_mm)] {
                if here.abs() > kept.abs() {
                    *kept = here;
                }
            }
            let share = here.my_n_mm.abs() * by_y + here.mz_n_mm.abs() * by_z;
            if share > bent * super::MARGIN {
                (bent, most.at_mm) = (share, piece.from_mm + s);
            }
        };
        let length = piece.to_mm - piece.from_mm;
        visit(0.0);
        visit(length);
        for slope in [derivative(&piece.n), derivative(&piece.my), derivative(&piece.mz)] {
            in_interval(&slope, 0.0, length).as_slice().iter().for_each(|s| visit(*s));
        }
    }
    most
}

/// The forces that count in a kind of check.
fn counted(kind: CheckKind, sizes: Sizes) -> Sizes {
    match kind {
        CheckKind::Bending => Sizes { n: 0.0, ..sizes },
        _ => sizes,
    }
}

/// One piece in one state for one check.
struct Stretch<'a> {
    resistance: &'a MetalResistance,
    kind: CheckKind,
    asks: SectionCheck,
    state: usize,
    piece: &'a Piece,
}

impl Stretch<'_> {
    fn search(&self, best: &mut Option<Found>) {
        let length = self.piece.to_mm - self.piece.from_mm;
        if !self.promises(0.0, length, best, super::MARGIN) {
            return;
        }
        self.visit(0.0, best);
        self.visit(length, best);
        let Piece { n, vy, vz, my, mz, .. } = self.piece;
        for slope in [derivative(n), derivative(vy), derivative(vz), derivative(my), derivative(mz)] {
            in_interval(&slope, 0.0, length).as_slice().iter().for_each(|s| self.visit(*s, best));
        }
        self.halve(0.0, length, HALVINGS, best);
    }

    fn halve(&self, from: f64, to: f64, left: u32, best: &mut Option<Found>) {
        if left == 0 || !self.promises(from, to, best, GAIN) {
            return;
        }
        let middle = 0.5 * (from + to);
        self.visit(middle, best);
        self.halve(from, middle, left - 1, best);
        self.halve(middle, to, left - 1, best);
    }

    /// Whether the check, with each resultant at its greatest between two places, could beat the worst so far.
    fn promises(&self, from: f64, to: f64, best: &Option<Found>, gain: f64) -> bool {
        let axial = bounds(&self.piece.n, from, to);
        let n = match self.kind {
            CheckKind::TensionBending if !self.felt(axial[1]) => return false,
            CheckKind::CompressionBending if !self.felt(-axial[0]) => return false,
            CheckKind::TensionBending => axial[1],
            CheckKind::CompressionBending => -axial[0],
            _ => super::most(axial),
        };
        let most = |coefficients: &[f64]| super::most(bounds(coefficients, from, to));
        let Piece { vy, vz, t, my, mz, .. } = self.piece;
        let sizes = Sizes { n, my: most(my), mz: most(mz), vy: most(vy), vz: most(vz), t: most(t) };
        if self.asks == SectionCheck::Torsion && !self.twists(&sizes) {
            return false;
        }
        let bound = self.resistance.section_utilisation(self.asks, &counted(self.kind, sizes));
        best.is_none_or(|best| bound > best.utilisation * gain)
    }

    fn visit(&self, s: f64, best: &mut Option<Found>) {
        let forces = self.piece.forces(s);
        let counts = match self.kind {
            CheckKind::TensionBending => self.felt(forces.n_n),
            CheckKind::CompressionBending => self.felt(-forces.n_n),
            _ => true,
        };
        let sizes = counted(self.kind, Sizes::of(&forces));
        if !counts || (self.asks == SectionCheck::Torsion && !self.twists(&sizes)) {
            return;
        }
        let utilisation = self.resistance.section_utilisation(self.asks, &sizes);
        let better = best.is_none_or(|best| utilisation > best.utilisation * super::MARGIN);
        if better && utilisation.is_finite() {
            *best = Some(Found { utilisation, state: self.state, at_mm: self.piece.from_mm + s, forces });
        }
    }

    /// Whether an axial force uses more than a millionth of the section.
    fn felt(&self, force_n: f64) -> bool {
        let [by_force, ..] = self.resistance.stresses.normal();
        force_n * by_force / self.resistance.section_limit() > AXIAL_LEAST
    }

    /// Whether torsion uses more than a millionth of the section.
    fn twists(&self, sizes: &Sizes) -> bool {
        self.resistance.stresses.torsion(sizes) / self.resistance.section_limit() > AXIAL_LEAST
    }
}

/// Bounds of a polynomial of at most the third power between two places of its piece.
fn bounds(coefficients: &[f64], from: f64, to: f64) -> [f64; 2] {
    let mut shifted = [0.0; 4];
    shifted[..coefficients.len()].copy_from_slice(coefficients);
    // Taylor shift to `from`, by Horner's rule repeated.
    for first in 0..3 {
        for power in (first..3).rev() {
            shifted[power] += from * shifted[power + 1];
        }
    }
    hull(&shifted, to - from)
}

#[cfg(test)]
mod tests {
    use super::bounds;

    #[test]
    fn bounds_hold_and_close_in() {
        let cubic = [3.0, -2.0, 0.5, 0.25];
        let value = |s: f64| crate::statics::line::value(&cubic, s);
        for (from, to) in [(0.0, 4.0), (1.0, 1.5), (2.0, 2.001)] {
            let [low, high] = bounds(&cubic, from, to);
            for step in 0..=20 {
                let here = value(from + (to - from) * f64::from(step) / 20.0);
                assert!(here >= low - 1e-12 && here <= high + 1e-12, "{here} in {low} to {high}");
            }
        }
        let [low, high] = bounds(&cubic, 2.0, 2.001);
        assert!(high - low < 0.01);
    }
}
