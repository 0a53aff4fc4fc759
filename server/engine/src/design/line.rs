//! Straight axes, and the places on two of them that come nearest.

use super::Vector;
use super::vector::{add, dot, norm, scale, sub, unit};

/// A straight axis in vehicle axes.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    /// Its start, mm.
    pub from: Vector,
    /// Its direction, a unit vector.
    pub along: Vector,
    /// Its length, mm.
    pub length_mm: f64,
}

impl Line {
    /// From one point to another; `None` where they are one.
    pub fn between(from: Vector, to: Vector) -> Option<Self> {
        let along = unit(sub(to, from))?;
        Some(Self { from, along, length_mm: norm(sub(to, from)) })
    }

    /// The point at a place along it, mm from its start.
    pub fn point(&self, at_mm: f64) -> Vector {
        add(self.from, scale(self.along, at_mm))
    }

    /// The place on it that is nearest to a point, mm from its start.
    pub fn place_of(&self, point: Vector) -> f64 {
        dot(sub(point, self.from), self.along).clamp(0.0, self.length_mm)
    }
}

/// Places on two axes that come nearest (mm from their starts); with `at` given, only the second is sought. Parallel
/// members that run beside each other meet in the middle of the common part.
pub fn nearest(a: &Line, b: &Line, at: Option<f64>) -> (f64, f64) {
    if let Some(at) = at {
        return (at, b.place_of(a.point(at.clamp(0.0, a.length_mm))));
    }
    let along = dot(a.along, b.along);
    if 1.0 - along.abs() < 1e-9 {
        let (low, high) = (a.place_of(b.from), a.place_of(b.point(b.length_mm)));
        let middle = 0.5 * (low + high);
        return (middle, b.place_of(a.point(middle)));
    }
    let between = sub(a.from, b.from);
    let (d, e) = (dot(a.along, between), dot(b.along, between));
    let free = (along * e - d) / (1.0 - along * along);
    let first = snap(free.clamp(0.0, a.length_mm), a.length_mm);
    let second = snap(b.place_of(a.point(first)), b.length_mm);
    // When the second was held at an end, the first may still come nearer.
    (snap(a.place_of(b.point(second)), a.length_mm), second)
}

fn snap(at: f64, length: f64) -> f64 {
    let near = 1e-9 * length;
    if at < near {
        0.0
    } else if length - at < near {
        length
    } else {
        at
    }
}
