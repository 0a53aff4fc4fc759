//! Inner shapes against closed forms.

use super::*;
use crate::statics::krylov::symmetric_eigen;
use std::f64::consts::PI;

/// Degrees of freedom of bending in x-y and in x-z, with the sign of the turn (see [`crate::statics::element`]).
const PLANES: [([usize; ENDS], f64); 2] = [([1, 5, 7, 11], 1.0), ([2, 4, 8, 10], -1.0)];

fn bar(gay: f64) -> Bar {
    Bar { length: 700.0, ea: 4.0e7, gj: 1.3e9, eiy: 3.5e10, eiz: 0.8e10, gay, gaz: 2.4e6 }
}

fn greatest(entries: &[f64], count: usize) -> f64 {
    symmetric_eigen(entries, count).map_or(f64::NAN, |(values, _)| values.into_iter().fold(0.0, f64::max))
}

/// Lowest buckling load of a bar clamped at both ends: its inner shapes alone.
fn clamped(bar: &Bar, count: usize) -> f64 {
    let bending = Bending::new(&quadrature(), bar.length, bar.eiz, bar.phi_y(), count);
    let mut entries = Vec::new();
    for column in &bending.even[ENDS..] {
        entries.extend_from_slice(&column[ENDS..bending.order]);
    }
    1.0 / greatest(&entries, count)
}

/// Clamped at both ends 4 pi² E I / l², with shear flexibility lowered by Engesser's 1 / (1 + P_E / G A_s) (Timoshenko
/// and Gere, Theory of Elastic Stability, 1961, 2.4 and 2.17; from memory).
#[test]
fn a_clamped_bar_buckles_by_its_inner_shapes() {
    for shear in [f64::INFINITY, 2.0e6] {
        let bar = bar(shear);
        let euler = 4.0 * PI * PI * bar.eiz / (bar.length * bar.length);
        let closed = euler / (1.0 + euler / shear);
        for (count, within) in [(3, 2.5e-3), (5, 2e-5), (7, 1e-6)] {
            let found = clamped(&bar, count);
            assert!(found > closed * (1.0 - 1e-9) && found < closed * (1.0 + within), "{count}: {}", found / closed);
        }
    }
}

/// The quadrature gives the same terms as the closed form of [`Bar::geometric_forces`].
#[test]
fn the_ends_are_those_of_the_closed_form() {
    let bar = bar(2.0e5);
    let bending = [
        Bending::new(&quadrature(), bar.length, bar.eiz, bar.phi_y(), 0),
        Bending::new(&quadrature(), bar.length, bar.eiy, bar.phi_z(), 0),
    ];
    let u: [f64; 12] = std::array::from_fn(|i| [0.7, -0.3, 1.1, 0.0, 0.002, -0.003][i % 6] * (1.0 + i as f64 / 7.0));
    for (plane, (dof, turn)) in PLANES.into_iter().enumerate() {
        let weights = if plane == 0 { [1.0, 0.0] } else { [0.0, 1.0] };
        let closed = bar.geometric_forces(&u, weights);
        let [w1, t1, w2, t2] = dof.map(|i| u[i]);
        let found = bending[plane].forces(Press { mean: 1.0, half: 0.0 }, &[w1, turn * t1, w2, turn * t2]);
        for (i, sign) in dof.into_iter().zip([1.0, turn, 1.0, turn]).enumerate().map(|(n, (i, s))| ((n, i), s)) {
            assert!((sign * found[i.0] - closed[i.1]).abs() < 1e-12 * closed[i.1].abs().max(1.0), "{i:?}");
        }
    }
}

/// A column under its own weight: 7.837 E I / l² of the whole (Timoshenko and Gere 2.12; from memory), foot clamped, head
/// free: one bar with the compression falling to nothing along it.
#[test]
fn compression_that_changes_along_the_bar() {
    let bar = bar(f64::INFINITY);
    let bending = Bending::new(&quadrature(), bar.length, bar.eiz, 0.0, 5);
    // Clamped at the start: the end's displacement and turn have the bar's own stiffness, the rest one.
    let (l, ei) = (bar.length, bar.eiz);
    let k = [[12.0 * ei / l.powi(3), -6.0 * ei / (l * l)], [-6.0 * ei / (l * l), 4.0 * ei / l]];
    // Cholesky factor of the two.
    let a = k[0][0].sqrt();
    let b = k[1][0] / a;
    let c = (k[1][1] - b * b).sqrt();
    let order = bending.order - 2;
    let mut entries = vec![0.0; order * order];
    for column in 0..order {
        // Columns of the inverse factor, transposed: K-orthonormal end shapes.
        let mut moved = vec![0.0; bending.order];
        match column {
            0 => moved[2] = 1.0 / a,
            1 => (moved[2], moved[3]) = (-b / (a * c), 1.0 / c),
            _ => moved[column + 2] = 1.0,
        }
        let forces = bending.forces(Press { mean: 0.5, half: 0.5 }, &moved);
        entries[column * order] = forces[2] / a;
        entries[column * order + 1] = -b / (a * c) * forces[2] + forces[3] / c;
        entries[column * order + 2..(column + 1) * order].copy_from_slice(&forces[4..bending.order]);
    }
    let whole = 1.0 / greatest(&entries, order) * l * l / ei;
    assert!((whole - 7.837).abs() < 1e-3, "{whole}");
}

/// Between clamps the second mode of a bar with shear flexibility is an odd one: tan u = u (1 - P/G A), u = k l/2,
/// k² = P/(E I (1 - P/G A)); by hand from E I psi'' = -(R + P w'), w' = psi + (R + P w')/G A with psi = 0 and w = 0 at both
/// ends. Without shear u = 4.493409, P = 80.76 E I/l². The odd inner shapes alone give it.
#[test]
fn odd_inner_shapes_stay_at_both_ends() {
    for shear in [f64::INFINITY, 2.0e6, 4.0e5] {
        let bar = bar(shear);
        let load = |u: f64| {
            let euler = 4.0 * u * u * bar.eiz / (bar.length * bar.length);
            euler / (1.0 + euler / shear)
        };
        let (mut low, mut high) = (PI, 1.5 * PI);
        for _ in 0..100 {
            let u: f64 = 0.5 * (low + high);
            if u.tan() < u * (1.0 - load(u) / shear) { low = u } else { high = u }
        }
        let closed = load(low);
        let bending = Bending::new(&quadrature(), bar.length, bar.eiz, bar.phi_y(), 7);
        let mut entries = Vec::new();
        // Every other one: the first, third ... are even.
        for column in [1, 3, 5] {
            entries.extend([1, 3, 5].map(|row| bending.even[ENDS + column][ENDS + row]));
        }
        let found = 1.0 / greatest(&entries, 3);
        assert!(found > closed * (1.0 - 1e-9) && found < closed * (1.0 + 1e-4), "{shear}: {}", found / closed);
    }
}

/// Gauss and Legendre of n points: powers up to 2n - 1 are integrated exactly, 1/(k + 1) on 0 to 1; the points run from the
/// start to the end.
#[test]
fn the_quadrature_is_exact() {
    for count in 1..=POINTS {
        let points = gauss(count);
        assert!(points.windows(2).all(|pair| pair[0][0] < pair[1][0]), "{points:?}");
        for power in 0..2 * count as i32 {
            let sum: f64 = points.iter().map(|[s, weight]| weight * s.powi(power)).sum();
            assert!((sum * f64::from(power + 1) - 1.0).abs() < 1e-11, "{count} points, power {power}: {sum}");
        }
    }
}

/// A bar bent in one plane has inner shapes in that plane alone, and its ends stay.
#[test]
fn a_bent_bar_bends_in_one_plane() {
    use crate::statics::posts;
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, posts::free_in(&[]), None);
    posts::stand(&mut design, "Q", 900.0, posts::free_in(&[]), None);
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let refined = Refined::new(&analysis.system, &[3, 4]);
    for (bar, plane) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
        let mut raw = vec![0.0; refined.raw_count()];
        refined.bend(bar..bar + 1, plane, &mut raw);
        let still = [0.0; ENDS + INNER_MAX];
        let mut bent = still;
        (bent[ENDS], bent[ENDS + 1]) = (1.0, 1.0);
        let expected = if plane == 0 { [bent, still] } else { [still, bent] };
        assert_eq!(refined.coordinates(bar, &frame.members[bar].axes, &raw), expected);
        assert_eq!(refined.coordinates(1 - bar, &frame.members[1 - bar].axes, &raw), [still; 2]);
    }
}
