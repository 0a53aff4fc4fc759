//! Compression and mass of a whole frame, bar by bar, as what [`super::krylov`] searches.

use super::assemble::{to_local, to_vehicle};
use super::element::Twelve;
use super::inner::{Coordinates, Press, Refined};
use super::krylov::Operator;
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

/// Inertia of what is on the bars of a frame that shakes.
pub struct Inertia<'a> {
    /// The frame.
    pub frame: &'a Frame,
    /// Its equations, places and bars; their bending with its masses.
    pub refined: &'a Refined<'a>,
    /// Per bar: its inertia along itself, t, and about its axis, t mm².
    pub lengthwise: &'a [[Pair; 2]],
}

/// Inertia of a bar's two ends where what is between moves in proportion: start alone, start with end, end alone.
pub type Pair = [f64; 3];

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

impl Operator for Inertia<'_> {
    fn apply(&self, raw: &[f64], forces: &mut [f64]) {
        for (bar, element) in self.refined.system.mesh.elements.iter().enumerate() {
            let axes = &self.frame.members[element.member].axes;
            let bent = self.bent(bar, &self.refined.coordinates(bar, axes, raw));
            self.refined.add(bar, axes, &bent, forces);
            let lengthwise = self.along(bar, &local(axes, raw, element.start));
            add(forces, axes, element.start, &lengthwise);
        }
    }
}

impl Inertia<'_> {
    fn bent(&self, bar: usize, moved: &[Coordinates; 2]) -> [Coordinates; 2] {
        std::array::from_fn(|plane| self.refined.bars[bar][plane].mass_forces(&moved[plane]))
    }

    fn along(&self, bar: usize, moved: &Twelve) -> Twelve {
        let mut forces = [0.0; 12];
        for (i, [near, both, far]) in [0, 3].into_iter().zip(self.lengthwise[bar]) {
            forces[i] = near * moved[i] + both * moved[i + 6];
            forces[i + 6] = both * moved[i] + far * moved[i + 6];
        }
        forces
    }

    /// Twice the kinetic energy of what is on each member, for velocities by raw degree of freedom.
    pub fn energy(&self, raw: &[f64]) -> Vec<f64> {
        let mut energy = vec![0.0; self.frame.members.len()];
        let work = |forces: &[f64], moved: &[f64]| forces.iter().zip(moved).map(|(f, u)| f * u).sum::<f64>();
        for (bar, element) in self.refined.system.mesh.elements.iter().enumerate() {
            let axes = &self.frame.members[element.member].axes;
            let moved = self.refined.coordinates(bar, axes, raw);
            let bending = work(self.bent(bar, &moved).as_flattened(), moved.as_flattened());
            let ends = local(axes, raw, element.start);
            energy[element.member] += bending + work(&self.along(bar, &ends), &ends);
        }
        energy
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statics::inner::{Bending, ENDS, INNER_MAX, end_displacements, gauss};
    use crate::statics::posts::{self, LENGTH};

    /// Twice the kinetic energy of what moves as one is m v², member by member (by hand): 2 t and 5 t, even along two posts.
    #[test]
    fn energy_of_what_moves_as_one() {
        let mut design = posts::blank();
        posts::stand(&mut design, "P", 0.0, posts::free_in(&[]), None);
        posts::stand(&mut design, "Q", 900.0, posts::free_in(&[]), None);
        let frame = posts::frame(&design);
        let analysis = posts::solved(&frame);
        let masses = [2.0, 5.0];
        let bending = |mass: f64| {
            let point = |[s, share]: [f64; 2]| {
                let mut shapes = [0.0; ENDS + INNER_MAX];
                shapes[..ENDS].copy_from_slice(&end_displacements(LENGTH, 0.0, s));
                (mass * share, shapes)
            };
            let points: Vec<_> = gauss(6).into_iter().map(point).collect();
            [(); 2].map(|()| Bending::of_masses(&points, ENDS))
        };
        let refined = Refined::with(&analysis.system, masses.into_iter().map(bending).collect());
        let lengthwise: Vec<[Pair; 2]> = masses.iter().map(|m| [[m / 3.0, m / 6.0, m / 3.0], [0.0; 3]]).collect();
        let inertia = Inertia { frame: &frame, refined: &refined, lengthwise: &lengthwise };
        for speed in [[3.0, 0.0, 0.0], [0.0, 0.5, 0.0], [0.0, 0.0, 7.0], [1.0, 2.0, -2.0]] {
            let raw: Vec<f64> = (0..24).map(|dof| if dof % 6 < 3 { speed[dof % 6] } else { 0.0 }).collect();
            let squared: f64 = speed.iter().map(|v| v * v).sum();
            let found = inertia.energy(&raw);
            assert_eq!(found.len(), 2);
            for (found, mass) in found.iter().zip(masses) {
                assert!((found / (mass * squared) - 1.0).abs() < 1e-12, "{found}");
            }
        }
    }
}
