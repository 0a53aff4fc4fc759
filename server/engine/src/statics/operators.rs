//! Compression and mass of a whole frame, bar by bar, as what [`super::krylov`] searches.

use super::assemble::{to_local, to_vehicle};
use super::element::Twelve;
use super::inner::{Coordinates, Press, Refined};
use super::krylov::Operator;
use super::mesh::Mesh;
use crate::design::Frame;
use crate::design::vector::Triad;

/// Geometric stiffness of bars pressed along their length.
pub struct Compression<'a> {
    /// The frame.
    pub frame: &'a Frame,
    /// Its equations, places and bars, with inner shapes.
    pub refined: &'a Refined<'a>,
    /// Per bar: compression for bending in its x-y and its x-z plane, N; negative: tension.
    pub pressed: Vec<[Press; 2]>,
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
        for (bar, pressed) in self.pressed.iter().enumerate().filter(|(_, pressed)| **pressed != [Press::default(); 2])
        {
            let axes = self.axes(bar);
            let bent = self.bent(bar, pressed, &self.refined.coordinates(bar, axes, raw));
            self.refined.add(bar, axes, &bent, forces);
        }
    }
}

impl Compression<'_> {
    fn axes(&self, bar: usize) -> &Triad {
        &self.frame.members[self.refined.system.mesh.elements[bar].member].axes
    }

    fn bent(&self, bar: usize, pressed: &[Press; 2], moved: &[Coordinates; 2]) -> [Coordinates; 2] {
        std::array::from_fn(|plane| self.refined.bars[bar][plane].forces(pressed[plane], &moved[plane]))
    }

    /// Work of a bar's compression in the two planes for displacements by raw degree of freedom, N mm.
    pub fn work_of(&self, bar: usize, raw: &[f64]) -> [f64; 2] {
        let moved = self.refined.coordinates(bar, self.axes(bar), raw);
        let bent = self.bent(bar, &self.pressed[bar], &moved);
        std::array::from_fn(|plane| bent[plane].iter().zip(&moved[plane]).map(|(f, u)| f * u).sum())
    }

    /// The same of every bar.
    pub fn work(&self, raw: &[f64]) -> Vec<[f64; 2]> {
        (0..self.pressed.len()).map(|bar| self.work_of(bar, raw)).collect()
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
