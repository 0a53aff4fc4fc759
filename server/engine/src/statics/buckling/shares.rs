//! The combinations' geometric matrices in the common space, bar by bar.

use super::super::divide::Divided;
use super::super::krylov::{Ritz, Space};
use super::super::operators::local;
use super::{Axial, pressed};
use crate::design::Frame;

/// Work of a compression of 1 N in each divided bar on the space's vectors.
pub(super) struct Shares {
    count: usize,
    /// Per divided bar that is pressed in some combination: entries for bending in x-y and in x-z, row by row.
    bars: Vec<Option<[Vec<f64>; 2]>>,
    /// Entries of each load case, both planes.
    cases: Vec<Vec<f64>>,
}

impl Shares {
    pub(super) fn new(frame: &Frame, divided: &Divided, space: &Space, axial: &Axial, envelope: &[f64]) -> Self {
        let count = space.len();
        let mesh = &divided.system.mesh;
        let bars: Vec<Option<[Vec<f64>; 2]>> = mesh
            .elements
            .iter()
            .zip(&divided.within)
            .map(|(element, (bar, _))| {
                if envelope[*bar] <= 0.0 {
                    return None;
                }
                let axes = &frame.members[element.member].axes;
                let moves: Vec<_> = space.raw.iter().map(|raw| local(axes, raw, element.start)).collect();
                Some([[1.0, 0.0], [0.0, 1.0]].map(|unit| {
                    let mut entries = vec![0.0; count * count];
                    for (i, one) in moves.iter().enumerate() {
                        let forces = element.bar.geometric_forces(one, unit);
                        for (j, other) in moves[..=i].iter().enumerate() {
                            let entry: f64 = forces.iter().zip(other).map(|(f, u)| f * u).sum();
                            entries[i * count + j] = entry;
                            entries[j * count + i] = entry;
                        }
                    }
                    entries
                }))
            })
            .collect();
        let cases = axial.0.iter().map(|forces| case(count, &bars, &pressed(&divided.within, forces))).collect();
        Self { count, bars, cases }
    }

    /// Modes of a combination in the space, greatest 1/alpha first.
    pub(super) fn ritz(&self, space: &Space, terms: &[(usize, f64)]) -> Vec<Ritz> {
        let mut sum = vec![0.0; self.count * self.count];
        for (case, factor) in terms {
            sum.iter_mut().zip(&self.cases[*case]).for_each(|(s, c)| *s += factor * c);
        }
        space.ritz(&sum)
    }

    /// Work of a member's compression in a mode, for bending in its x-y and its x-z plane.
    pub(super) fn work(&self, divided: &Divided, member: usize, axial: &[[f64; 2]], shares: &[f64]) -> [f64; 2] {
        let mesh = &divided.system.mesh;
        let (first, last) = mesh.spans[member];
        let from = mesh.elements.partition_point(|e| e.start < first);
        let to = from + (last - first).saturating_sub(1);
        let compression = pressed(&divided.within[from..to], axial);
        let mut work = [0.0; 2];
        for (entries, compression) in self.bars[from..to].iter().zip(compression) {
            let Some(entries) = entries else { continue };
            for (work, entries) in work.iter_mut().zip(entries) {
                let rows = entries.chunks(self.count).zip(shares);
                let square: f64 =
                    rows.map(|(row, s)| s * row.iter().zip(shares).map(|(e, t)| e * t).sum::<f64>()).sum();
                *work += compression * square;
            }
        }
        work
    }
}

fn case(count: usize, bars: &[Option<[Vec<f64>; 2]>], pressed: &[f64]) -> Vec<f64> {
    let mut sum = vec![0.0; count * count];
    for (entries, pressed) in bars.iter().zip(pressed) {
        let Some([y, z]) = entries else { continue };
        sum.iter_mut().zip(y.iter().zip(z)).for_each(|(s, (y, z))| *s += pressed * (y + z));
    }
    sum
}
