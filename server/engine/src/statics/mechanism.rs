//! What can move without resistance, found by the null vectors of the scaled stiffness matrix and said by member.

use super::constraint::Elimination;
use super::factor::{FactorError, Lower};
use super::mesh::Mesh;
use super::system::Parts;
use crate::design::vector::{add, cross, dot, norm, scale, sub, unit};
use crate::design::{Frame, Vector};
use crate::findings::{Fault, Motion};

/// Rayleigh quotient of the scaled matrix under which a motion counts as free (the quotient of a true null vector is
/// rounding only, about 1e-16; the softest sound motion of a long row of places stays above 1e-12).
const FREE: f64 = 1e-13;
/// Shift that makes the singular matrix definite; far under the softest sound motion, far over rounding.
const SHIFT: f64 = 1e-9;
/// Most motions that are told apart.
const MOTIONS_MAX: usize = 48;

/// Motions without resistance as displacement vectors by raw degree of freedom, each made as local as it can be.
///
/// # Errors
/// [`FactorError`] when even the shifted matrix has no factor.
pub fn motions(parts: &Parts) -> Result<Vec<Vec<f64>>, FactorError> {
    let Parts { mesh, elimination, matrix, scaling, scaled, shape } = parts;
    let factor = shape.factor(&matrix.scaled(scaling, SHIFT))?;
    let n = matrix.order;
    let mut count = 6.min(n);
    loop {
        let mut block = start_block(n, count);
        let mut quotients = Vec::new();
        for _ in 0..8 {
            factor.solve(&mut block, count);
            quotients = rayleigh_ritz(scaled, &mut block, count);
        }
        let free = quotients.iter().filter(|q| **q < FREE).count();
        if free == count && count < n && count < MOTIONS_MAX {
            count = (2 * count).min(n).min(MOTIONS_MAX);
            continue;
        }
        let vectors: Vec<Vec<f64>> =
            (0..free).map(|k| raw_motion(&block[k * n..(k + 1) * n], scaling, elimination)).collect();
        return Ok(localise(vectors, mesh.arm));
    }
}

/// A fixed, spread-out block: no random numbers, so the same frame gives the same findings.
fn start_block(n: usize, count: usize) -> Vec<f64> {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    (0..n * count)
        .map(|_| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        })
        .collect()
}

/// Orthonormalises a block and turns it to the Ritz vectors of `matrix`, least quotient first.
fn rayleigh_ritz(matrix: &Lower, block: &mut [f64], count: usize) -> Vec<f64> {
    let n = matrix.order;
    orthonormalise(block, n, count);
    let images: Vec<Vec<f64>> = (0..count).map(|k| matrix.multiply(&block[k * n..(k + 1) * n])).collect();
    let mut small = vec![0.0; count * count];
    for i in 0..count {
        for j in 0..count {
            small[i * count + j] = product(&block[i * n..(i + 1) * n], &images[j]);
        }
    }
    let (values, vectors) = symmetric_eigen(small, count);
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let old = block.to_vec();
    for (k, source) in order.iter().enumerate() {
        for row in 0..n {
            block[k * n + row] = (0..count).map(|j| old[j * n + row] * vectors[j * count + source]).sum();
        }
    }
    // Quotients anew from the turned vectors: differences of large numbers above would hide a true zero.
    (0..count)
        .map(|k| {
            let vector = &block[k * n..(k + 1) * n];
            product(vector, &matrix.multiply(vector)).abs() / product(vector, vector)
        })
        .collect()
}

fn product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn orthonormalise(block: &mut [f64], n: usize, count: usize) {
    for k in 0..count {
        for _ in 0..2 {
            for j in 0..k {
                let (before, rest) = block.split_at_mut(k * n);
                let (earlier, current) = (&before[j * n..(j + 1) * n], &mut rest[..n]);
                let share = product(earlier, current);
                current.iter_mut().zip(earlier).for_each(|(c, e)| *c -= share * e);
            }
        }
        let current = &mut block[k * n..(k + 1) * n];
        let size = product(current, current).sqrt().max(f64::MIN_POSITIVE);
        current.iter_mut().for_each(|c| *c /= size);
    }
}

/// Eigenvalues and vectors (columns) of a small symmetric matrix by Jacobi's rotations.
fn symmetric_eigen(mut a: Vec<f64>, n: usize) -> (Vec<f64>, Vec<f64>) {
    let mut v = vec![0.0; n * n];
    (0..n).for_each(|i| v[i * n + i] = 1.0);
    for _sweep in 0..40 {
        let off: f64 = (0..n).flat_map(|i| (0..i).map(move |j| (i, j))).map(|(i, j)| a[i * n + j].powi(2)).sum();
        let size: f64 = (0..n).map(|i| a[i * n + i].powi(2)).sum();
        if off <= 1e-32 * size {
            break;
        }
        for p in 0..n {
            for q in p + 1..n {
                rotate(&mut a, &mut v, n, p, q);
            }
        }
    }
    ((0..n).map(|i| a[i * n + i]).collect(), v)
}

fn rotate(a: &mut [f64], v: &mut [f64], n: usize, p: usize, q: usize) {
    let off = a[p * n + q];
    if off == 0.0 {
        return;
    }
    let theta = (a[q * n + q] - a[p * n + p]) / (2.0 * off);
    let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
    let c = 1.0 / (t * t + 1.0).sqrt();
    let s = t * c;
    for k in 0..n {
        let (x, y) = (a[k * n + p], a[k * n + q]);
        a[k * n + p] = c * x - s * y;
        a[k * n + q] = s * x + c * y;
    }
    for k in 0..n {
        let (x, y) = (a[p * n + k], a[q * n + k]);
        a[p * n + k] = c * x - s * y;
        a[q * n + k] = s * x + c * y;
        let (x, y) = (v[k * n + p], v[k * n + q]);
        v[k * n + p] = c * x - s * y;
        v[k * n + q] = s * x + c * y;
    }
}

fn raw_motion(scaled: &[f64], scaling: &[f64], elimination: &Elimination) -> Vec<f64> {
    elimination.terms.iter().map(|terms| terms.iter().map(|(u, f)| f * scaled[*u] * scaling[*u]).sum()).collect()
}

/// Brings the motions to echelon form with full pivoting, so that independent motions separate: a loose post and a
/// loose bearer come out as two motions, not as two mixtures.
fn localise(mut vectors: Vec<Vec<f64>>, arm: f64) -> Vec<Vec<f64>> {
    let weigh = |dof: usize, value: f64| if dof % 6 < 3 { value.abs() } else { value.abs() * arm };
    let largest = |vector: &Vec<f64>| {
        vector.iter().enumerate().map(|(d, v)| (weigh(d, *v), d)).fold((0.0, 0), |a, b| if b.0 > a.0 { b } else { a })
    };
    for k in 0..vectors.len() {
        let best = (k..vectors.len()).max_by(|a, b| largest(&vectors[*a]).0.total_cmp(&largest(&vectors[*b]).0));
        vectors.swap(k, best.unwrap_or(k));
        let (_, dof) = largest(&vectors[k]);
        let pivot = vectors[k][dof];
        if pivot == 0.0 {
            continue;
        }
        let row: Vec<f64> = vectors[k].iter().map(|v| v / pivot).collect();
        for (j, other) in vectors.iter_mut().enumerate() {
            if j == k {
                other.copy_from_slice(&row);
            } else {
                let share = other[dof];
                other.iter_mut().zip(&row).for_each(|(o, r)| *o -= share * r);
            }
        }
    }
    vectors
}

/// How one member moves: displacement of its middle, and turn.
struct Moving {
    member: usize,
    middle: Vector,
    shift: Vector,
    turn: Vector,
}

/// Says a motion: who moves, how, in which direction. Members under a hundredth of the largest movement stand still.
pub fn describe(frame: &Frame, mesh: &Mesh, motion: &[f64]) -> (Fault, Vec<usize>) {
    let moving: Vec<Moving> = mesh
        .spans
        .iter()
        .enumerate()
        .filter(|(_, (first, last))| last > first)
        .map(|(member, (first, last))| whole_motion(frame, motion, member, *first, *last))
        .collect();
    let size = |m: &Moving| norm(m.shift).max(norm(m.turn) * 0.5 * frame.members[m.member].length_mm);
    let largest = moving.iter().map(size).fold(0.0, f64::max);
    let movers: Vec<&Moving> = moving.iter().filter(|m| size(m) > 0.01 * largest).collect();
    let members: Vec<usize> = movers.iter().map(|m| m.member).collect();
    let (motion, direction) = kind(frame, &movers, largest);
    let tags = members.iter().map(|m| frame.design().members[*m].tag.clone()).collect();
    (Fault::Mechanism { members: tags, motion, direction }, members)
}

fn whole_motion(frame: &Frame, motion: &[f64], member: usize, first: usize, last: usize) -> Moving {
    let at = |place: usize, k: usize| -> Vector { std::array::from_fn(|i| motion[6 * place + k + i]) };
    let (start, end) = (at(first, 0), at(last - 1, 0));
    let axis = frame.members[member].axes[0];
    let length = frame.members[member].length_mm;
    // Turn across the member from its ends, about it from its first place.
    let across = scale(cross(axis, sub(end, start)), 1.0 / length);
    let spin = scale(axis, dot(at(first, 3), axis));
    Moving {
        member,
        middle: frame.members[member].point(0.5 * length),
        shift: scale(add(start, end), 0.5),
        turn: add(across, spin),
    }
}

fn kind(frame: &Frame, movers: &[&Moving], largest: f64) -> (Motion, Vector) {
    let Some(lead) = movers.iter().max_by(|a, b| norm(a.shift).total_cmp(&norm(b.shift))) else {
        return (Motion::Fold, [0.0; 3]);
    };
    let tolerance = 1e-3 * largest;
    let same_shift = movers.iter().all(|m| norm(sub(m.shift, lead.shift)) < tolerance);
    let arm = |m: &Moving| 0.5 * frame.members[m.member].length_mm;
    if same_shift && movers.iter().all(|m| norm(m.turn) * arm(m) < tolerance) {
        return (Motion::Slide, signed(lead.shift));
    }
    let rigid = movers.iter().all(|m| {
        let expected = add(lead.shift, cross(lead.turn, sub(m.middle, lead.middle)));
        norm(sub(m.shift, expected)) < tolerance && norm(sub(m.turn, lead.turn)) * arm(m) < tolerance
    });
    if rigid { (Motion::Turn, signed(lead.turn)) } else { (Motion::Fold, signed(lead.shift)) }
}

/// Unit vector with its largest component positive: a free motion goes both ways.
fn signed(direction: Vector) -> Vector {
    let direction = unit(direction).unwrap_or([0.0; 3]);
    let largest = direction.iter().copied().fold(0.0, |a: f64, b| if b.abs() > a.abs() + 1e-9 { b } else { a });
    scale(direction, if largest < 0.0 { -1.0 } else { 1.0 }).map(|c| if c.abs() < 1e-9 { 0.0 } else { c })
}

#[cfg(test)]
mod tests;
