//! How a bar swings between its two ends while these stand still: its inner shapes for a mass.
//!
//! Of all shapes that are clamped at both ends those are taken in which the bar, with what it carries, swings by itself
//! (Craig and Bampton, Coupling of Substructures for Dynamic Analyses, AIAA Journal 6, 1968, 1313 to 1319; from memory,
//! tested against closed forms). They are orthonormal in the bar's stiffness, and 1/omega² of each is its mass. What is
//! left out adds at most its greatest 1/omega² to that of the frame: both ways of swinging stay apart in the stiffness, and
//! the greatest eigenvalue of a sum is at most the sum of the greatest (Weyl).

use super::super::inner::{Bending, Coordinates, ENDS, INNER_MAX, end_displacements};
use super::super::krylov::symmetric_eigen;
use super::carried::Point;

/// A bar's bending in one plane.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    /// Length, mm.
    pub(super) length: f64,
    /// E I, N mm².
    pub(super) ei: f64,
    /// Shear parameter.
    pub(super) phi: f64,
}

impl Plane {
    /// Bending with masses, and with the inner shapes in which it has more than `quiet` of 1/omega², s².
    pub(super) fn bending(self, points: &[Point], quiet: f64) -> Bending {
        let mut moved: Vec<(f64, Coordinates)> = points
            .iter()
            .map(|Point { s, mass, .. }| {
                let mut shapes = [0.0; ENDS + INNER_MAX];
                shapes[..ENDS].copy_from_slice(&end_displacements(self.length, self.phi, *s));
                (*mass, shapes)
            })
            .collect();
        let order = ENDS + self.swing(&mut moved, points, quiet);
        Bending::of_masses(&moved, order)
    }

    /// Adds what the inner shapes move the points by; their number.
    fn swing(self, moved: &mut [(f64, Coordinates)], points: &[Point], quiet: f64) -> usize {
        // No eigenvalue is greater than the sum of all.
        let sum: f64 = points.iter().map(|point| point.mass * self.flexibility(point.s, point.s)).sum();
        if sum <= quiet {
            return 0;
        }
        let mut entries = Vec::with_capacity(points.len() * points.len());
        for one in points {
            let by = |other: &Point| (one.mass * other.mass).sqrt() * self.flexibility(one.s, other.s);
            entries.extend(points.iter().map(by));
        }
        for (index, point) in points.iter().enumerate() {
            entries[index * (points.len() + 1)] -= point.mass * self.peak(point.width);
        }
        let Some((values, vectors)) = symmetric_eigen(&entries, points.len()) else { return 0 };
        let each = values.iter().zip(vectors.chunks(points.len())).rev();
        let taken = each.take(INNER_MAX).take_while(|(value, _)| **value > quiet.max(0.0));
        let mut count = 0;
        for (value, vector) in taken {
            for ((mass, shapes), share) in moved.iter_mut().zip(vector) {
                shapes[ENDS + count] = share * (value / *mass).sqrt();
            }
            count += 1;
        }
        count
    }

    /// How much less than at its place a newton moves a line of which a point stands for a share of `width`. The bend of a
    /// clamped bar has a jump of its third derivative under a newton, its shear one of its first; a quadrature with a node
    /// there gives h²/12 of the one too much and takes h⁴/720 of the other (Euler and Maclaurin's sum).
    fn peak(self, width: f64) -> f64 {
        (self.phi / 144.0 * width + width.powi(3) / 720.0) * self.length.powi(3) / self.ei
    }

    /// What a newton at one place moves another by while both ends are clamped, mm: that of a cantilever, less what the
    /// movement of its end is of it.
    fn flexibility(self, one: f64, other: f64) -> f64 {
        let (s, t) = (one.min(other), one.max(other));
        let psi = self.phi / 12.0;
        let alone = s * s * (3.0 * t - s) / 6.0 + psi * s;
        let (end, turn) = (t * t * (3.0 - t) / 6.0 + psi * t, 0.5 * t * t);
        let [_, _, across, far] = end_displacements(1.0, self.phi, s);
        (alone - across * end - far * turn) * self.length.powi(3) / self.ei
    }
}

#[cfg(test)]
mod tests;
