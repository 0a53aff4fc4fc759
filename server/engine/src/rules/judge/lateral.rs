//! The worst place of lateral buckling along a member: stretch by stretch between what holds it upright.

use super::strength::{Best, NEAR, PerUnit, beats};
use super::{State, hull, most};
use crate::findings::SectionForces;
use crate::rules::roots::{derivative, in_interval};
use crate::rules::strength::lateral::{self, Lateral, Row, effective_length_mm};
use crate::rules::strength::{AXIAL_LEAST, Resistance, bending, column, compression};
use crate::statics::line::{Piece, value};

/// A moment at an end of a stretch under this share of its greatest is none (P).
const END_MOMENT: f64 = 0.05;
/// Mean over greatest of a parabola; a moment no fuller than that has the row of an even load (table 6.1).
const PARABOLA: f64 = 2.0 / 3.0;

/// A stretch of a member over which it may tip sideways as it bends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unheld {
    /// Where it begins: at a place that holds the member upright, or at its free end.
    pub from_mm: f64,
    /// Where it ends.
    pub to_mm: f64,
    /// [`Row::Constant`] between two holds, which the moments may turn into [`Row::Parabola`]; else an overhang's.
    pub row: Row,
    /// Sign of the moment about the strong axis that presses an edge which a deck holds; 0: no edge is held.
    pub safe_sign: f64,
}

/// The worst so far with its effective length.
#[derive(Clone, Copy, Debug)]
pub(super) struct LateralBest {
    pub(super) best: Best,
    pub(super) length_mm: f64,
}

/// Shape of the strong moment over a stretch.
struct Shape {
    /// Absolute moment at its ends and the greatest within, N·mm.
    ends: [f64; 2],
    greatest: f64,
    /// Integral of the absolute moment, N·mm².
    area: f64,
    /// Whether a load acts within: the shear force changes.
    pressed: bool,
}

/// A piece cut to a stretch: the range of its own coordinate.
type Cut<'a> = (&'a Piece, [f64; 2]);

/// Takes in the pieces of one strength state.
pub(super) fn take(
    worst: &mut Option<LateralBest>,
    unheld: &[Unheld],
    resistance: &Resistance,
    unit: &PerUnit,
    index: usize,
    state: &State<'_>,
) {
    let Some(lateral) = &resistance.lateral else { return };
    for stretch in unheld {
        let length = stretch.to_mm - stretch.from_mm;
        let longest = effective_length_mm(stretch.row, length, lateral.depth_mm, true);
        let slender = resistance.k_crit(longest) < 1.0;
        let cuts = cuts(state.pieces, stretch);
        let pushed = cuts.clone().any(|(p, _)| -hull(&p.n, p.to_mm - p.from_mm)[0] * unit.compression >= AXIAL_LEAST);
        if !slender && !pushed {
            continue;
        }
        let at_least = lateral::per_unit(resistance, lateral, state.k_mod, resistance.k_crit(longest));
        if !cuts.clone().any(|cut| can_beat(bound(lateral, at_least, &cut), slender, worst)) {
            continue;
        }
        let length_mm = if slender { effective_length(stretch, lateral, cuts.clone()) } else { longest };
        let k_crit = resistance.k_crit(length_mm);
        let per_unit = lateral::per_unit(resistance, lateral, state.k_mod, k_crit);
        let search = Search { resistance, lateral, k_mod: state.k_mod, index, k_crit, length_mm, per_unit, stretch };
        for cut in cuts {
            if can_beat(bound(lateral, per_unit, &cut), slender, worst) {
                search.piece(&cut, worst);
            }
        }
    }
}

/// No place of a piece has a greater utilisation than this with those shares by 1 N·mm and 1 N, or with lesser ones.
fn bound(lateral: &Lateral, [by_strong, by_weak, by_axial]: [f64; 3], (piece, _): &Cut<'_>) -> f64 {
    let length = piece.to_mm - piece.from_mm;
    let (strong, weak) = if lateral.strong_y { (&piece.my, &piece.mz) } else { (&piece.mz, &piece.my) };
    let (strong, weak) = (by_strong * most(hull(strong, length)), by_weak * most(hull(weak, length)));
    let pressed = by_axial * (-hull(&piece.n, length)[0]).max(0.0);
    (strong + weak).max(strong * strong + weak + pressed) * (1.0 + 1e-9)
}

/// Whether so much could be the worst; where k_crit is 1 less than [`NEAR`] is left unsaid.
fn can_beat(bound: f64, slender: bool, worst: &Option<LateralBest>) -> bool {
    (slender || bound > NEAR) && beats(bound, &worst.as_ref().map(|w| w.best))
}

fn cuts<'a>(pieces: &'a [Piece], stretch: &Unheld) -> impl Iterator<Item = Cut<'a>> + Clone + use<'a> {
    let (from, to) = (stretch.from_mm, stretch.to_mm);
    pieces.iter().filter_map(move |piece| {
        let ends = [from.max(piece.from_mm) - piece.from_mm, to.min(piece.to_mm) - piece.from_mm];
        (ends[1] - ends[0] > 1e-9 * (to - from)).then_some((piece, ends))
    })
}

fn strong_moment<'a>(lateral: &Lateral, piece: &'a Piece) -> &'a [f64; 4] {
    if lateral.strong_y { &piece.my } else { &piece.mz }
}

fn effective_length<'a>(stretch: &Unheld, lateral: &Lateral, cuts: impl Iterator<Item = Cut<'a>>) -> f64 {
    let length = stretch.to_mm - stretch.from_mm;
    let shape = shape(lateral, cuts);
    let simple = shape.ends.iter().all(|end| *end <= END_MOMENT * shape.greatest)
        && shape.area <= PARABOLA * (1.0 + 1e-9) * shape.greatest * length;
    let row = match stretch.row {
        Row::Constant if simple && shape.pressed => Row::Parabola,
        row => row,
    };
    effective_length_mm(row, length, lateral.depth_mm, shape.pressed)
}

/// Exact: between the roots of the moment and of its slope it neither changes sign nor turns.
fn shape<'a>(lateral: &Lateral, cuts: impl Iterator<Item = Cut<'a>>) -> Shape {
    let mut shape = Shape { ends: [0.0; 2], greatest: 0.0, area: 0.0, pressed: false };
    let (mut least, mut most_shear) = (f64::INFINITY, f64::NEG_INFINITY);
    for (number, (piece, [from, to])) in cuts.enumerate() {
        let moment = strong_moment(lateral, piece);
        let shear = if lateral.strong_y { &piece.vz } else { &piece.vy };
        if number == 0 {
            shape.ends[0] = value(moment, from).abs();
        }
        shape.ends[1] = value(moment, to).abs();
        let slope = derivative(moment);
        let turns = in_interval(&slope[..3], from, to);
        for s in turns.as_slice().iter().chain([&from, &to]) {
            shape.greatest = shape.greatest.max(value(moment, *s).abs());
        }
        let mut before = from;
        let zeros = in_interval(moment, from, to);
        for s in zeros.as_slice().iter().chain([&to]) {
            shape.area += (integral(moment, *s) - integral(moment, before)).abs();
            before = *s;
        }
        // Its hull over the whole piece bounds the shear force; all that matters is whether it changes.
        let [low, high] = hull(shear, piece.to_mm - piece.from_mm);
        (least, most_shear) = (least.min(low), most_shear.max(high));
    }
    let size = most([least, most_shear]);
    shape.pressed = most_shear - least > 1e-6 * size;
    shape
}

fn integral(c: &[f64; 4], s: f64) -> f64 {
    s * value(&[c[0], c[1] / 2.0, c[2] / 3.0, c[3] / 4.0], s)
}

/// One stretch in one state.
struct Search<'a> {
    resistance: &'a Resistance,
    lateral: &'a Lateral,
    k_mod: f64,
    index: usize,
    k_crit: f64,
    length_mm: f64,
    /// Shares by 1 N·mm of strong and of weak moment and 1 N of compression.
    per_unit: [f64; 3],
    stretch: &'a Unheld,
}

impl Search<'_> {
    fn piece(&self, (piece, [from, to]): &Cut<'_>, worst: &mut Option<LateralBest>) {
        let (strong, weak) = if self.lateral.strong_y { (&piece.my, &piece.mz) } else { (&piece.mz, &piece.my) };
        self.place(piece, *from, worst);
        self.place(piece, *to, worst);
        let (strong_slope, weak_slope) = (derivative(strong), derivative(weak));
        let [by_strong, by_weak, by_axial] = self.per_unit;
        let weak_signs: &[f64] = if weak.iter().any(|c| *c != 0.0) { &[1.0, -1.0] } else { &[1.0] };
        for sign in weak_signs {
            // (6.33): the overall sign moves no root.
            let linear: [f64; 3] =
                std::array::from_fn(|power| by_strong * strong_slope[power] + sign * by_weak * weak_slope[power]);
            self.roots(&linear, piece, [*from, *to], worst);
            // (6.35): half the slope of (c M)² is c² M M', of fifth degree.
            let axial_slope = derivative(&piece.n);
            let square: [f64; 6] = std::array::from_fn(|power| {
                let products: f64 =
                    (0..=power.min(3)).filter(|i| power - i < 3).map(|i| strong[i] * strong_slope[power - i]).sum();
                let rest =
                    if power < 3 { sign * by_weak * weak_slope[power] - by_axial * axial_slope[power] } else { 0.0 };
                2.0 * by_strong * by_strong * products + rest
            });
            self.roots(&square, piece, [*from, *to], worst);
        }
    }

    fn roots(&self, slope: &[f64], piece: &Piece, [from, to]: [f64; 2], worst: &mut Option<LateralBest>) {
        in_interval(slope, from, to).as_slice().iter().for_each(|s| self.place(piece, *s, worst));
    }

    fn place(&self, piece: &Piece, s: f64, worst: &mut Option<LateralBest>) {
        let forces = piece.forces(s);
        if self.lateral.moments(&forces)[0] * self.stretch.safe_sign > 0.0 {
            return;
        }
        let utilisation = self.utilisation(&forces);
        let so_far = worst.as_ref().map(|w| w.best);
        if utilisation >= AXIAL_LEAST && utilisation.is_finite() && beats(utilisation, &so_far) {
            let best = Best { utilisation, state: self.index, at_mm: piece.from_mm + s, forces };
            *worst = Some(LateralBest { best, length_mm: self.length_mm });
        }
    }

    /// With k_crit = 1 (6.33) is plain bending, and (6.35) is said only where it comes near its limit and asks more than
    /// the checks of bending and of columns do, so that no verdict depends on what is left unsaid.
    fn utilisation(&self, forces: &SectionForces) -> f64 {
        let [alone, pressed] = lateral::both(self.resistance, self.k_mod, forces, self.length_mm);
        if self.k_crit < 1.0 {
            return alone.max(pressed);
        }
        let stocky = self.resistance.column_y.stocky() && self.resistance.column_z.stocky();
        let others = if stocky {
            compression::utilisation(self.resistance, self.k_mod, forces)
        } else {
            column::utilisation(self.resistance, self.k_mod, forces)
        };
        let others = others.max(bending::utilisation(self.resistance, self.k_mod, forces));
        if pressed > NEAR && pressed > others * (1.0 + 1e-9) { pressed } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::integral;

    /// 1 + 2 s + 3 s² + 4 s³ from 0 to 2: 2 + 4 + 8 + 16.
    #[test]
    fn area_of_a_cubic() {
        assert_eq!(integral(&[1.0, 2.0, 3.0, 4.0], 2.0), 30.0);
    }
}
