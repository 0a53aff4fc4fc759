//! Which members of two lists are joined.

use crate::tags::Picked;
use battenboard_engine::design::{Member, Vector};

/// How two lists are paired.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Pair {
    /// Each with each.
    #[default]
    Every,
    /// First with first, second with second.
    InOrder,
    /// Each carried member with the nearest carrying one.
    Nearest,
}

/// The words of [`Pair`] in a file.
pub(crate) const PAIRS: [(&str, Pair); 3] =
    [("every", Pair::Every), ("in order", Pair::InOrder), ("nearest", Pair::Nearest)];

/// How many pairs there will be at most, without making them.
pub(crate) fn count(pair: Pair, members: usize, on: usize) -> usize {
    match pair {
        Pair::Every => members.saturating_mul(on),
        Pair::InOrder | Pair::Nearest => members,
    }
}

/// The pairs as indices into the two lists; a member is never paired with itself.
pub(crate) fn pairs(pair: Pair, design: &[Member], members: &[Picked], on: &[Picked]) -> Vec<(usize, usize)> {
    let differ = |(a, b): &(usize, usize)| members[*a].member != on[*b].member;
    match pair {
        Pair::Every => (0..members.len()).flat_map(|a| (0..on.len()).map(move |b| (a, b))).filter(differ).collect(),
        Pair::InOrder => (0..members.len().min(on.len())).map(|index| (index, index)).filter(differ).collect(),
        Pair::Nearest => {
            (0..members.len()).filter_map(|a| nearest(design, members[a].member, on).map(|b| (a, b))).collect()
        }
    }
}

fn nearest(design: &[Member], member: usize, on: &[Picked]) -> Option<usize> {
    let mut best: Option<(f64, usize)> = None;
    for (index, picked) in on.iter().enumerate().filter(|(_, picked)| picked.member != member) {
        let distance = distance_squared(&design[member], &design[picked.member]);
        if best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, index));
        }
    }
    best.map(|(_, index)| index)
}

fn sub(a: Vector, b: Vector) -> Vector {
    [0, 1, 2].map(|axis| a[axis] - b[axis])
}

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Least distance of two axes, squared, mm²: the closest points of two segments, held within both.
fn distance_squared(a: &Member, b: &Member) -> f64 {
    let (u, v, w) = (sub(a.to, a.from), sub(b.to, b.from), sub(a.from, b.from));
    let (uu, uv, vv, uw, vw) = (dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w));
    let determinant = uu * vv - uv * uv;
    let clamp = |value: f64| if value.is_finite() { value.clamp(0.0, 1.0) } else { 0.0 };
    let mut s = if determinant > 1e-12 * uu * vv { clamp((uv * vw - vv * uw) / determinant) } else { 0.0 };
    let t = clamp((uv * s + vw) / vv);
    s = clamp((uv * t - uw) / uu);
    let apart = [0, 1, 2].map(|axis| w[axis] + s * u[axis] - t * v[axis]);
    dot(apart, apart)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn member(from: Vector, to: Vector) -> Member {
        Member { from, to, ..Member::default() }
    }

    #[test]
    fn distances_of_axes() {
        let base = member([0.0, 0.0, 0.0], [10.0, 0.0, 0.0]);
        // crossing above, parallel beside, end to end, skew beyond the end
        assert!((distance_squared(&base, &member([5.0, -5.0, 3.0], [5.0, 5.0, 3.0])) - 9.0).abs() < 1e-12);
        assert!((distance_squared(&base, &member([2.0, 4.0, 0.0], [8.0, 4.0, 0.0])) - 16.0).abs() < 1e-12);
        assert!((distance_squared(&base, &member([13.0, 0.0, 0.0], [20.0, 0.0, 0.0])) - 9.0).abs() < 1e-12);
        assert!((distance_squared(&base, &member([13.0, 4.0, 0.0], [13.0, 9.0, 0.0])) - 25.0).abs() < 1e-12);
        // no length at all
        assert!((distance_squared(&base, &member([5.0, 2.0, 0.0], [5.0, 2.0, 0.0])) - 4.0).abs() < 1e-12);
    }
}
