//! Shapes within a bar beside its own cubic ones, so that its buckling and its swinging are exact without cutting it.
//!
//! Inner shapes are clamped at both ends and orthonormal in the bar's own stiffness. On the bar's own shapes, which need
//! no load between the ends, they do no work: the equations of the frame stay as they are, and each inner shape adds one
//! unknown of stiffness one that nothing else is tied to. Only compression or mass couples them. (Hierarchical shapes:
//! Zienkiewicz and Taylor, The Finite Element Method, 5th ed. 2000, volume 1, 8.2; from memory, tested against closed
//! forms.) Those for a mass are [`super::vibration`]'s; those for a compression are here.
//!
//! Their moments are Legendre polynomials from the second on, with shear flexibility the odd ones less a part of the
//! first, so that both ends stay.

use super::element::Bar;
use super::krylov::Equations;
use super::system::System;
use crate::design::vector::{Triad, dot};
use std::ops::Range;

/// Points of the quadrature: exact for two shapes of [`INNER_MAX`] and a compression that changes along the bar.
const POINTS: usize = 12;
/// Most inner shapes of a bar and plane.
pub const INNER_MAX: usize = 7;
/// End displacements of a bar in one plane.
pub const ENDS: usize = 4;

/// Displacements, or forces on them, of a bar's bending in one plane; past its order nothing.
pub type Coordinates = [f64; ENDS + INNER_MAX];

/// Compression of a bar, N: `mean` + `half` at its start, `mean` - `half` at its end.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Press {
    /// At the middle.
    pub mean: f64,
    /// Half of what it loses along the bar.
    pub half: f64,
}

impl Press {
    /// From axial forces at both ends, tension positive.
    pub fn between([start, end]: [f64; 2]) -> Self {
        Self { mean: -0.5 * (start + end), half: 0.5 * (end - start) }
    }
}

/// Bending of a bar in one plane: two end displacements and turns (turned so that both planes look alike), then the
/// inner shapes.
#[derive(Clone, Debug)]
pub struct Bending {
    /// Number of coordinates.
    pub order: usize,
    /// Columns of the geometric matrix for a compression of 1 N, or of the mass matrix.
    even: Vec<Coordinates>,
    /// The same for a compression that goes from 1 N at the start to -1 N at the end.
    tilted: Vec<Coordinates>,
}

impl Bending {
    /// With `count` inner shapes for a bar of stiffness `ei` and shear parameter `phi`.
    fn new(points: &[Point; POINTS], length: f64, ei: f64, phi: f64, count: usize) -> Self {
        let order = ENDS + count;
        let inner = inner_slopes(points, ei / length, phi, count);
        let mut even = vec![[0.0; ENDS + INNER_MAX]; order];
        let mut tilted = even.clone();
        for (q, Point { s, weight, .. }) in points.iter().enumerate() {
            let mut slopes = [0.0; ENDS + INNER_MAX];
            slopes[..ENDS].copy_from_slice(&end_slopes(length, phi, *s));
            slopes[ENDS..order].iter_mut().zip(&inner).for_each(|(slope, shape)| *slope = shape[q]);
            for ((even, tilted), slope) in even.iter_mut().zip(&mut tilted).zip(slopes) {
                add_scaled(even, &slopes, weight * length * slope);
                add_scaled(tilted, &slopes, (1.0 - 2.0 * s) * weight * length * slope);
            }
        }
        Self { order, even, tilted }
    }

    /// Of masses, t, each with what the bar's first `order` shapes move it by.
    pub fn of_masses(masses: &[(f64, Coordinates)], order: usize) -> Self {
        let mut even = vec![[0.0; ENDS + INNER_MAX]; order];
        for (mass, shapes) in masses {
            even.iter_mut().zip(shapes).for_each(|(column, shape)| add_scaled(column, shapes, mass * shape));
        }
        Self { order, even, tilted: Vec::new() }
    }

    /// Mass matrix times coordinates.
    pub fn mass_forces(&self, moved: &[f64]) -> Coordinates {
        let mut forces = [0.0; ENDS + INNER_MAX];
        self.even.iter().zip(moved).for_each(|(column, moved)| add_scaled(&mut forces, column, *moved));
        forces
    }

    /// Geometric matrix times coordinates.
    pub fn forces(&self, press: Press, moved: &[f64]) -> Coordinates {
        let mut forces = [0.0; ENDS + INNER_MAX];
        for (matrix, press) in [(&self.even, press.mean), (&self.tilted, press.half)] {
            if press == 0.0 {
                continue;
            }
            // Column by column: sums side by side.
            matrix.iter().zip(moved).for_each(|(column, moved)| add_scaled(&mut forces, column, press * moved));
        }
        forces
    }

    /// What a compression takes from the stiffness of the bar's ends while its inner shapes give way as they will; `None`
    /// where the bar buckles under it between clamped ends.
    pub fn taken(&self, press: Press) -> Option<[[f64; ENDS]; ENDS]> {
        let mut left: Vec<Coordinates> = Vec::with_capacity(self.order);
        for (column, even) in self.even.iter().enumerate() {
            let mut of = [0.0; ENDS + INNER_MAX];
            add_scaled(&mut of, even, -press.mean);
            self.tilted.get(column).iter().for_each(|tilted| add_scaled(&mut of, tilted, -press.half));
            // Inner shapes have a stiffness of one.
            of[column] += if column < ENDS { 0.0 } else { 1.0 };
            left.push(of);
        }
        for inner in (ENDS..self.order).rev() {
            let given = left[inner];
            if given[inner].is_nan() || given[inner] <= 0.0 {
                return None;
            }
            for column in &mut left[..inner] {
                let share = column[inner] / given[inner];
                add_scaled(column, &given, -share);
            }
        }
        Some(std::array::from_fn(|column| std::array::from_fn(|row| -left[column][row])))
    }
}

fn add_scaled(target: &mut Coordinates, column: &Coordinates, factor: f64) {
    target.iter_mut().zip(column).for_each(|(t, c)| *t += factor * c);
}

/// Slopes of the bar's own shapes at `s` of its length, for its end displacements and turns.
fn end_slopes(length: f64, phi: f64, s: f64) -> [f64; ENDS] {
    let over = 1.0 / (1.0 + phi);
    let across = (-phi - 6.0 * s + 6.0 * s * s) / length * over;
    let near = (1.0 + 0.5 * phi - (4.0 + phi) * s + 3.0 * s * s) * over;
    let far = (-0.5 * phi - (2.0 - phi) * s + 3.0 * s * s) * over;
    [across, near, -across, far]
}

/// Displacements of the bar's own shapes: the integrals of their slopes.
pub fn end_displacements(length: f64, phi: f64, s: f64) -> [f64; ENDS] {
    let over = 1.0 / (1.0 + phi);
    let across = s * (phi + s * (3.0 - 2.0 * s)) * over;
    let near = length * s * (1.0 + 0.5 * phi - s * (2.0 + 0.5 * phi - s)) * over;
    let far = -length * s * (0.5 * phi + s * (1.0 - 0.5 * phi - s)) * over;
    [1.0 - across, near, across, far]
}

/// Slopes of the inner shapes at the points of the quadrature, for a bar with E I / l = `stiffness`.
fn inner_slopes(points: &[Point; POINTS], stiffness: f64, phi: f64, count: usize) -> Vec<[f64; POINTS]> {
    let psi = phi / 12.0;
    // Curvature, shear strain's share of the work, and slope of each shape at the points.
    let mut shapes: Vec<[[f64; POINTS]; 3]> = Vec::with_capacity(count);
    for k in 2..2 + count {
        let part = if k % 2 == 1 { -phi / (1.0 + phi) } else { 0.0 };
        let mut shape = [[0.0; POINTS]; 3];
        for (q, Point { s, values, changes, .. }) in points.iter().enumerate() {
            let change = changes[k] + 2.0 * part;
            let turn = (values[k + 1] - values[k - 1]) / (4 * k + 2) as f64 + part * (s * s - s);
            shape[0][q] = values[k] + part * values[1];
            shape[1][q] = psi.sqrt() * change;
            shape[2][q] = turn - psi * change;
        }
        let work = |a: &[[f64; POINTS]; 3], b: &[[f64; POINTS]; 3]| -> f64 {
            let at = |q: usize| a[0][q] * b[0][q] + a[1][q] * b[1][q];
            points.iter().enumerate().map(|(q, point)| stiffness * point.weight * at(q)).sum()
        };
        for before in &shapes {
            let share = work(before, &shape);
            shape.iter_mut().flatten().zip(before.iter().flatten()).for_each(|(x, y)| *x -= share * y);
        }
        let size = work(&shape, &shape).sqrt().recip();
        shape.iter_mut().flatten().for_each(|x| *x *= size);
        shapes.push(shape);
    }
    shapes.into_iter().map(|shape| shape[2]).collect()
}

/// Legendre polynomials of `s` in 0 to 1, and how they change with it.
fn legendre(s: f64) -> ([f64; POINTS + 1], [f64; POINTS + 1]) {
    let x = 2.0 * s - 1.0;
    let (mut values, mut changes) = ([1.0; POINTS + 1], [0.0; POINTS + 1]);
    values[1] = x;
    changes[1] = 2.0;
    for k in 1..POINTS {
        let n = k as f64;
        values[k + 1] = ((2.0 * n + 1.0) * x * values[k] - n * values[k - 1]) / (n + 1.0);
        changes[k + 1] = changes[k - 1] + 2.0 * (2.0 * n + 1.0) * values[k];
    }
    (values, changes)
}

/// A point of the quadrature, with Legendre's polynomials there and how they change.
struct Point {
    s: f64,
    weight: f64,
    values: [f64; POINTS + 1],
    changes: [f64; POINTS + 1],
}

/// Gauss and Legendre on 0 to 1.
fn quadrature() -> [Point; POINTS] {
    std::array::from_fn(|i| gauss_point(POINTS, i))
}

/// The same of another number of points, at most 12: place and weight of each.
pub fn gauss(count: usize) -> Vec<[f64; 2]> {
    let count = count.min(POINTS);
    (0..count).map(|i| gauss_point(count, i)).map(|point| [point.s, point.weight]).collect()
}

fn gauss_point(count: usize, i: usize) -> Point {
    let turn = std::f64::consts::PI * (i as f64 + 0.75) / (count as f64 + 0.5);
    let mut s = 0.5 - 0.5 * turn.cos();
    for _ in 0..6 {
        let (values, changes) = legendre(s);
        s -= values[count] / changes[count];
    }
    let (values, changes) = legendre(s);
    let weight = 1.0 / (s * (1.0 - s) * changes[count] * changes[count]);
    Point { s, weight, values, changes }
}

/// A system whose bars have inner shapes. Its unknowns are those of the system, then the inner ones; its raw degrees of
/// freedom likewise.
pub struct Refined<'a> {
    /// The frame's equations.
    pub system: &'a System,
    /// Per bar: bending in x-y and in x-z.
    pub bars: Vec<[Bending; 2]>,
    /// Per bar: first raw degree of freedom of its inner shapes, those in x-y before those in x-z.
    first: Vec<usize>,
    inner: usize,
}

impl<'a> Refined<'a> {
    /// With a number of inner shapes for each bar and plane (at most [`INNER_MAX`]).
    pub fn new(system: &'a System, counts: &[usize]) -> Self {
        let points = quadrature();
        let bending = |bar: &Bar, count: usize| {
            let of = |ei, phi| Bending::new(&points, bar.length, ei, phi, count.min(INNER_MAX));
            [of(bar.eiz, bar.phi_y()), of(bar.eiy, bar.phi_z())]
        };
        let bars = system.mesh.elements.iter().zip(counts).map(|(element, count)| bending(&element.bar, *count));
        Self::with(system, bars.collect())
    }

    /// With each bar's bending in x-y and in x-z.
    pub fn with(system: &'a System, bars: Vec<[Bending; 2]>) -> Self {
        let mut next = system.mesh.raw_count();
        let mut first = Vec::with_capacity(bars.len());
        for bar in &bars {
            first.push(next);
            next += bar.iter().map(|plane| plane.order - ENDS).sum::<usize>();
        }
        let inner = next - system.mesh.raw_count();
        Self { system, bars, first, inner }
    }

    /// Bends bars within one plane (0: x-y, 1: x-z), each by its first inner shapes.
    pub fn bend(&self, bars: Range<usize>, plane: usize, raw: &mut [f64]) {
        for bar in bars {
            let count = self.bars[bar].each_ref().map(|plane| plane.order - ENDS);
            let first = self.first[bar] + plane * count[0];
            raw[first..first + count[plane]].iter_mut().take(2).for_each(|r| *r = 1.0);
        }
    }

    /// Coordinates of a bar's bending in both planes, from displacements by raw degree of freedom.
    pub fn coordinates(&self, bar: usize, axes: &Triad, raw: &[f64]) -> [Coordinates; 2] {
        let start = 6 * self.system.mesh.elements[bar].start;
        let mut moved = [[0.0; ENDS + INNER_MAX]; 2];
        for (end, of) in raw[start..start + 12].as_chunks::<3>().0.as_chunks::<2>().0.iter().enumerate() {
            let [by, turned] = of;
            // In x-y a positive turn about z raises y along x; in x-z a positive turn about y lowers z.
            moved[0][2 * end] = dot(axes[1], *by);
            moved[0][2 * end + 1] = dot(axes[2], *turned);
            moved[1][2 * end] = dot(axes[2], *by);
            moved[1][2 * end + 1] = -dot(axes[1], *turned);
        }
        let mut first = self.first[bar];
        for (moved, bending) in moved.iter_mut().zip(&self.bars[bar]) {
            let count = bending.order - ENDS;
            moved[ENDS..ENDS + count].copy_from_slice(&raw[first..first + count]);
            first += count;
        }
        moved
    }

    /// Adds forces on a bar's coordinates to those by raw degree of freedom.
    pub fn add(&self, bar: usize, axes: &Triad, of: &[Coordinates; 2], raw: &mut [f64]) {
        let start = 6 * self.system.mesh.elements[bar].start;
        for (end, raw) in raw[start..start + 12].as_chunks_mut::<6>().0.iter_mut().enumerate() {
            let [[y, about_z], [z, about_y]] = of.map(|of| [of[2 * end], of[2 * end + 1]]);
            for i in 0..3 {
                raw[i] += axes[1][i] * y + axes[2][i] * z;
                raw[3 + i] += axes[2][i] * about_z - axes[1][i] * about_y;
            }
        }
        let mut first = self.first[bar];
        for (of, bending) in of.iter().zip(&self.bars[bar]) {
            let count = bending.order - ENDS;
            raw[first..first + count].iter_mut().zip(&of[ENDS..]).for_each(|(r, f)| *r += f);
            first += count;
        }
    }
}

impl Equations for Refined<'_> {
    fn order(&self) -> usize {
        self.system.order() + self.inner
    }

    fn raw_count(&self) -> usize {
        self.system.mesh.raw_count() + self.inner
    }

    fn reduce(&self, raw: &[f64], reduced: &mut [f64]) {
        let (frame, inner) = raw.split_at(self.system.mesh.raw_count());
        let (of_frame, of_inner) = reduced.split_at_mut(self.system.order());
        self.system.reduce(frame, of_frame);
        of_inner.copy_from_slice(inner);
    }

    fn expand(&self, unknowns: &[f64], raw: &mut [f64]) {
        let (frame, inner) = unknowns.split_at(self.system.order());
        let (of_frame, of_inner) = raw.split_at_mut(self.system.mesh.raw_count());
        self.system.expand(frame, of_frame);
        of_inner.copy_from_slice(inner);
    }

    fn solve(&self, right: &mut [f64], columns: usize) {
        // Inner unknowns have a stiffness of one.
        self.system.factor.solve_apart(right, columns, self.order());
    }
}

#[cfg(test)]
mod tests;
