//! The combinations' geometric matrices in the common space, as sums over load cases.

use super::super::inner::{Bending, Coordinates, Press, Refined};
use super::super::krylov::{Ritz, Space};
use super::{Axial, SETTLED};
use crate::design::Frame;

/// Work of each load case's compression on the space's vectors.
pub(super) struct Shares {
    count: usize,
    /// Entries of each load case, row by row.
    cases: Vec<Vec<f64>>,
}

impl Shares {
    pub(super) fn new(frame: &Frame, refined: &Refined<'_>, space: &Space, axial: &Axial, envelope: &[f64]) -> Self {
        let count = space.len();
        let mut cases = vec![vec![0.0; count * count]; axial.0.len()];
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
        cases.iter_mut().for_each(|case| mirror(case, count));
        Self { count, cases }
    }

    /// Modes of a combination in the space, greatest 1/alpha first. Where they are not `wanted` whatever they are and none
    /// can come under [`SETTLED`], none: the greatest eigenvalue is at most the root of the sum of all entries squared.
    pub(super) fn ritz(&self, space: &Space, terms: &[(usize, f64)], wanted: bool) -> Vec<Ritz> {
        let mut sum = vec![0.0; self.count * self.count];
        for (case, factor) in terms {
            sum.iter_mut().zip(&self.cases[*case]).for_each(|(s, c)| *s += factor * c);
        }
        let most = sum.iter().map(|entry| entry * entry).sum::<f64>().sqrt();
        if !wanted && most < 1.0 / SETTLED {
            return Vec::new();
        }
        space.ritz(&sum)
    }
}

/// Work of a compression in a bar on pairs of vectors, both planes together; the lower triangle.
fn works(bar: &[Bending; 2], unit: Press, moved: &[[Coordinates; 2]]) -> Vec<f64> {
    let count = moved.len();
    let mut entries = vec![0.0; count * count];
    for (plane, bending) in bar.iter().enumerate() {
        for (i, one) in moved.iter().enumerate() {
            let forces = bending.forces(unit, &one[plane]);
            for (j, other) in moved[..=i].iter().enumerate() {
                let both = forces[..bending.order].iter().zip(&other[plane]);
                entries[i * count + j] += both.map(|(f, u)| f * u).sum::<f64>();
            }
        }
    }
    entries
}

fn mirror(entries: &mut [f64], count: usize) {
    for i in 0..count {
        for j in 0..i {
            entries[j * count + i] = entries[i * count + j];
        }
    }
}
