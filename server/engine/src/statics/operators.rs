//! Compression and mass of a whole frame, bar by bar, as what [`super::krylov`] searches.

use super::assemble::{to_local, to_vehicle};
use super::element::Twelve;
use super::krylov::Operator;
use super::mesh::Mesh;
use crate::design::Frame;
use crate::design::vector::Triad;

/// Geometric stiffness of bars pressed along their length.
pub struct Compression<'a> {
    /// The frame.
    pub frame: &'a Frame,
    /// Its places and bars.
    pub mesh: &'a Mesh,
    /// Per bar: compression for bending in its x-y and its x-z plane, N; negative: tension.
    pub pressed: Vec<[f64; 2]>,
}

/// Masses of bars and of what stands at places.
pub struct Masses<'a> {
    /// The frame.
    pub frame: &'a Frame,
    /// Its places and bars.
    pub mesh: &'a Mesh,
    /// Per bar: tonnes per mm, and mass moment of inertia about its axis, t mm² per mm.
    pub bars: Vec<[f64; 2]>,
    /// Per place: tonnes.
    pub places: Vec<f64>,
}

/// Displacements of a bar's two ends, local axes.
pub fn local(axes: &Triad, raw: &[f64], start: usize) -> Twelve {
    let mut vehicle = [0.0; 12];
    vehicle.copy_from_slice(&raw[6 * start..6 * start + 12]);
    to_local(axes, &vehicle)
}

fn add(forces: &mut [f64], axes: &Triad, start: usize, of: &Twelve) {
    forces[6 * start..6 * start + 12].iter_mut().zip(to_vehicle(axes, of)).for_each(|(f, more)| *f += more);
}

impl Operator for Compression<'_> {
    fn apply(&self, raw: &[f64], forces: &mut [f64]) {
        for (element, pressed) in self.mesh.elements.iter().zip(&self.pressed) {
            if *pressed != [0.0; 2] {
                let axes = &self.frame.members[element.member].axes;
                let of = element.bar.geometric_forces(&local(axes, raw, element.start), *pressed);
                add(forces, axes, element.start, &of);
            }
        }
    }
}

impl Compression<'_> {
    /// Work of each bar's compression in the two planes for displacements by raw degree of freedom, N mm.
    pub fn work(&self, raw: &[f64]) -> Vec<[f64; 2]> {
        let bars = self.mesh.elements.iter().zip(&self.pressed);
        bars.map(|(element, [y, z])| {
            let u = local(&self.frame.members[element.member].axes, raw, element.start);
            let of = |pressed: [f64; 2]| {
                element.bar.geometric_forces(&u, pressed).iter().zip(&u).map(|(f, u)| f * u).sum::<f64>()
            };
            [of([*y, 0.0]), of([0.0, *z])]
        })
        .collect()
    }
}

impl Operator for Masses<'_> {
    fn apply(&self, raw: &[f64], forces: &mut [f64]) {
        for (element, [mass, polar]) in self.mesh.elements.iter().zip(&self.bars) {
            let axes = &self.frame.members[element.member].axes;
            let of = element.bar.mass_forces(&local(axes, raw, element.start), *mass, *polar);
            add(forces, axes, element.start, &of);
        }
        for (place, mass) in self.places.iter().enumerate().filter(|(_, mass)| **mass != 0.0) {
            (6 * place..6 * place + 3).for_each(|i| forces[i] += mass * raw[i]);
        }
    }
}
