//! The combinations' geometric matrices in the common space, as sums over load cases.

use super::super::inner::{Bending, Coordinates, Press, Refined};
use super::super::krylov::{Ritz, Space};
use super::{Axial, SETTLED};
use crate::design::Frame;

/// Work of each load case's compression on the space's vectors.
pub(super) struct Shares {
    count: usize,
    /// Entries of each load case: the lower triangle, row by row.
    cases: Vec<Vec<f64>>,
}

impl Shares {
    pub(super) fn new(frame: &Frame, refined: &Refined<'_>, space: &Space, axial: &Axial, envelope: &[f64]) -> Self {
        let count = space.len();
        let mut cases = vec![vec![0.0; count * (count + 1) / 2]; axial.0.len()];
        let pressed = refined.system.mesh.elements.iter().enumerate().filter(|(bar, _)| envelope[*bar] > 0.0);
        for (bar, element) in pressed {
            let axes = &frame.members[element.member].axes;
            let moved: Vec<[Coordinates; 2]> =
                space.raw.iter().map(|raw| refined.coordinates(bar, axes, raw)).collect();
            let press: Vec<Press> = axial.0.iter().map(|case| Press::between(case[bar])).collect();
            let units = [Press { mean: 1.0, half: 0.0 }, Press { mean: 0.0, half: 1.0 }];
            for (unit, share) in units.into_iter().zip([|p: &Press| p.mean, |p: &Press| p.half]) {
                let shares: Vec<f64> = press.iter().map(share).collect();
                if shares.iter().any(|share| *share != 0.0) {
                    let entries = works(&refined.bars[bar], unit, &moved);
                    for (case, share) in cases.iter_mut().zip(shares) {
                        case.iter_mut().zip(&entries).for_each(|(sum, entry)| *sum += share * entry);
                    }
                }
            }
        }
        Self { count, cases }
    }

    /// Modes of a combination in the space, greatest 1/alpha first. Where they are not `wanted` whatever they are and none
    /// can come under [`SETTLED`], none: the greatest eigenvalue is at most the root of the sum of all entries squared.
    pub(super) fn ritz(&self, space: &Space, terms: &[(usize, f64)], wanted: bool) -> Vec<Ritz> {
        let mut sum = vec![0.0; self.count * (self.count + 1) / 2];
        for (case, factor) in terms {
            sum.iter_mut().zip(&self.cases[*case]).for_each(|(s, c)| *s += factor * c);
        }
        let entries = mirrored(&sum, self.count);
        let most = entries.iter().map(|entry| entry * entry).sum::<f64>().sqrt();
        if !wanted && most < 1.0 / SETTLED {
            return Vec::new();
        }
        space.ritz(&entries)
    }
}

/// Work of a compression in a bar on pairs of vectors, both planes together; the lower triangle.
fn works(bar: &[Bending; 2], unit: Press, moved: &[[Coordinates; 2]]) -> Vec<f64> {
    let mut entries = vec![0.0; moved.len() * (moved.len() + 1) / 2];
    for (plane, bending) in bar.iter().enumerate() {
        // Of all vectors coordinate by coordinate: sums side by side.
        let mut coordinates = vec![0.0; bending.order * moved.len()];
        for (c, of_all) in coordinates.chunks_exact_mut(moved.len()).enumerate() {
            of_all.iter_mut().zip(moved).for_each(|(slot, one)| *slot = one[plane][c]);
        }
        let mut rows = entries.as_mut_slice();
        for (i, one) in moved.iter().enumerate() {
            let (row, below) = rows.split_at_mut(i + 1);
            let forces = bending.forces(unit, &one[plane]);
            for (force, others) in forces.iter().zip(coordinates.chunks_exact(moved.len())) {
                row.iter_mut().zip(others).for_each(|(entry, moved)| *entry += force * moved);
            }
            rows = below;
        }
    }
    entries
}

/// The whole of a symmetric matrix given by its lower triangle.
fn mirrored(lower: &[f64], count: usize) -> Vec<f64> {
    let mut whole = vec![0.0; count * count];
    let mut entries = lower.iter();
    for i in 0..count {
        for (j, entry) in entries.by_ref().take(i + 1).enumerate() {
            whole[i * count + j] = *entry;
            whole[j * count + i] = *entry;
        }
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: row by row 1, 2 3, 4 5 6 is the lower triangle.
    #[test]
    fn a_lower_triangle_is_mirrored() {
        let whole = mirrored(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0], 3);
        assert_eq!(whole, [1.0, 2.0, 4.0, 2.0, 3.0, 5.0, 4.0, 5.0, 6.0]);
    }
}
