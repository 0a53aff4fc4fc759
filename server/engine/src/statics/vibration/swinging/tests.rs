//! How bars swing between clamps, against closed forms.

use super::*;

/// A bar of 2000 with E I = 8e9, without shear flexibility and with a good deal of it.
fn plane(phi: f64) -> Plane {
    Plane { length: 2000.0, ei: 8.0e9, phi }
}

fn even(mass: f64, rule: usize) -> Vec<Point> {
    super::super::super::inner::gauss(rule)
        .into_iter()
        .map(|[s, weight]| Point { s, mass: mass * weight, width: weight })
        .collect()
}

/// A force F amid a bar clamped at both ends moves it by F l³/192 E I + F l/4 G A; one at a under b beyond it by
/// F a³ b³/3 E I l³ (Roark's Formulas for Stress and Strain, table 8; from memory).
#[test]
fn flexibility_between_clamps() {
    for phi in [0.0, 0.7] {
        let plane = plane(phi);
        let (unit, shear) = (plane.length.powi(3) / plane.ei, phi / 12.0);
        let middle = plane.flexibility(0.5, 0.5) / unit;
        assert!((middle - 1.0 / 192.0 - shear / 4.0).abs() < 1e-15, "{middle}");
        // Maxwell: either way.
        assert!((plane.flexibility(0.2, 0.7) - plane.flexibility(0.7, 0.2)).abs() < 1e-15 * unit);
        assert!(plane.flexibility(1.0, 1.0).abs() < 1e-15 * unit);
    }
    let third = plane(0.0).flexibility(1.0 / 3.0, 1.0 / 3.0) * plane(0.0).ei / plane(0.0).length.powi(3);
    assert!((third - 8.0 / 729.0 / 3.0).abs() < 1e-15, "{third}");
}

/// beta l = 4.73004, 7.85320, 10.9956, 14.1372 of an even bar between clamps (Blevins, Formulas for Natural Frequency and
/// Mode Shape, table 8-1; from memory): 1/omega² is the mass of each inner shape.
#[test]
fn an_even_bar_swings_between_clamps() {
    let plane = plane(0.0);
    let mass = 0.006;
    let bending = plane.bending(&even(mass, 12), 0.0);
    assert_eq!(bending.order, ENDS + INNER_MAX);
    for (k, beta) in [4.730_04, 7.853_20, 10.995_6, 14.137_2_f64].into_iter().enumerate() {
        let mut moved = [0.0; ENDS + INNER_MAX];
        moved[ENDS + k] = 1.0;
        let found = bending.mass_forces(&moved)[ENDS + k];
        let closed = mass * plane.length.powi(3) / (plane.ei * beta.powi(4));
        // Twelve points stand for the bar: half of this in the frequency.
        let within = [2e-5, 3e-4, 2e-3, 8e-3][k];
        assert!((found / closed - 1.0).abs() < within, "{k}: {}", found / closed);
    }
    // Only what is asked for.
    let first = mass * plane.length.powi(3) / (plane.ei * 4.730_04_f64.powi(4));
    assert_eq!(plane.bending(&even(mass, 12), 0.9 * first).order, ENDS + 1);
    assert_eq!(plane.bending(&even(mass, 12), 1.3 * first).order, ENDS);
}

/// A mass of its own is all of what its place gives way: 1/omega² = m times the flexibility.
#[test]
fn one_mass_has_one_inner_shape() {
    let plane = plane(0.3);
    let bending = plane.bending(&[Point { s: 0.4, mass: 0.02, width: 0.0 }], 0.0);
    assert_eq!(bending.order, ENDS + 1);
    let mut moved = [0.0; ENDS + INNER_MAX];
    moved[ENDS] = 1.0;
    let found = bending.mass_forces(&moved)[ENDS];
    assert!((found / (0.02 * plane.flexibility(0.4, 0.4)) - 1.0).abs() < 1e-12);
}

/// A bar that moves and turns as a whole has the momentum of its mass and turns with its moment of inertia m l²/3 about its
/// end.
#[test]
fn the_mass_of_a_rigid_motion_is_the_bars() {
    let plane = plane(0.7);
    let bending = plane.bending(&even(0.006, 12), 1.0);
    let l = plane.length;
    let across = bending.mass_forces(&[1.0, 0.0, 1.0, 0.0]);
    assert!((across[0] + across[2] - 0.006).abs() < 1e-14);
    let turning = [0.0, 1.0, l, 1.0];
    let energy: f64 = bending.mass_forces(&turning).iter().zip(&turning).map(|(f, a)| f * a).sum();
    assert!((energy / (0.006 * l * l / 3.0) - 1.0).abs() < 1e-12);
}
