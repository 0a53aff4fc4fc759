//! Slices of a member's pieces.

use super::{shifted, slice};
use crate::statics::line::{Piece, value};

#[test]
fn a_shifted_polynomial_has_the_same_values() {
    let polynomial = [3.0, -2.0, 0.5, 0.25];
    let moved = shifted(&polynomial, 1.5);
    for s in [-1.0, 0.0, 0.7, 4.0] {
        assert!((value(&moved, s) - value(&polynomial, s + 1.5)).abs() < 1e-12, "{s}");
    }
}

#[test]
fn a_slice_keeps_its_forces_and_moves_its_moments() {
    // N = 100 + s, My = 50 - s², about an axis 6 higher and 2 to the right: My - 6 N, Mz + 2 N (by hand).
    let first =
        Piece { from_mm: 0.0, to_mm: 10.0, n: [100.0, 1.0, 0.0], my: [50.0, 0.0, -1.0, 0.0], ..Piece::default() };
    let second = Piece { from_mm: 10.0, to_mm: 30.0, vz: [7.0, 0.0, 0.0], ..Piece::default() };
    let found = slice(&[first, second], 4.0, 12.0, [2.0, 6.0]);
    assert_eq!((found.len(), found[0].from_mm, found[0].to_mm, found[1].to_mm), (2, 4.0, 10.0, 12.0));
    let forces = found[0].forces(1.0);
    assert!((forces.n_n - 105.0).abs() < 1e-12);
    assert!((forces.my_n_mm - (25.0 - 630.0)).abs() < 1e-9 && (forces.mz_n_mm - 210.0).abs() < 1e-9);
    assert_eq!(found[1].forces(0.0).vz_n, 7.0);
}
