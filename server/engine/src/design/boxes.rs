//! Solid boxes in space: how far apart two of them are.

use super::Vector;
use super::vector::{Triad, cross, dot, sub, unit};

/// A box by its middle, axes and half sizes (mm).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Its middle.
    pub middle: Vector,
    /// Its axes.
    pub axes: Triad,
    /// Half its size along each axis.
    pub half: [f64; 3],
}

impl Block {
    fn reach(&self, direction: Vector) -> f64 {
        (0..3).map(|i| self.half[i] * dot(self.axes[i], direction).abs()).sum()
    }
}

/// Clear distance between two boxes along the direction that separates them most, mm: exact where faces or edges face
/// each other, a lower bound between corners. Zero or below where they touch or overlap (separating axes: Gottschalk,
/// Lin and Manocha, OBBTree, SIGGRAPH 1996; from memory).
pub fn separation(a: &Block, b: &Block) -> f64 {
    let between = sub(b.middle, a.middle);
    let crossed = a.axes.iter().flat_map(|p| {
        b.axes.iter().filter_map(|q| {
            let axis = cross(*p, *q);
            // Nearly parallel edges give no direction of their own.
            (dot(axis, axis) > 1e-6).then(|| unit(axis)).flatten()
        })
    });
    a.axes
        .iter()
        .chain(b.axes.iter())
        .copied()
        .chain(crossed)
        .map(|axis| dot(between, axis).abs() - a.reach(axis) - b.reach(axis))
        .fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::vector::{VEHICLE, member_axes};

    #[test]
    fn faces_touch_gaps_are_measured_and_crossed_edges_too() {
        let a = Block { middle: [0.0; 3], axes: VEHICLE, half: [100.0, 20.0, 35.0] };
        let resting = Block { middle: [0.0, 0.0, 55.0], axes: VEHICLE, half: [30.0, 300.0, 20.0] };
        assert!(separation(&a, &resting).abs() < 1e-12);
        let apart = Block { middle: [140.0, 0.0, 0.0], axes: VEHICLE, half: [10.0, 10.0, 10.0] };
        assert!((separation(&a, &apart) - 30.0).abs() < 1e-12);
        // Two boxes turned by 45 degrees about x and about y: their edges cross at z = r sqrt(2) each.
        let Some(x) = member_axes([0.0; 3], [1.0, 0.0, 0.0], None, 45.0) else { return };
        let Some(y) = member_axes([0.0; 3], [0.0, 1.0, 0.0], None, 45.0) else { return };
        let low = Block { middle: [0.0; 3], axes: x, half: [500.0, 10.0, 10.0] };
        let high = Block { middle: [0.0, 0.0, 50.0], axes: y, half: [500.0, 10.0, 10.0] };
        assert!((separation(&low, &high) - (50.0 - 20.0 * 2.0_f64.sqrt())).abs() < 1e-9);
    }
}
