//! Where members are cut, by hand.

use super::*;
use crate::design::Hold;
use crate::statics::small_frames::{anchor, crossing, design, frame};

fn places(mesh: &Mesh, member: usize) -> Vec<f64> {
    mesh.places.iter().filter(|p| p.member == member).map(|p| p.at_mm).collect()
}

/// A member of 1000: places under 0.001 apart (1e-6 of its length) are one, and its end stays its end.
#[test]
fn places_a_hair_apart_are_one() {
    let mut design = design(&[("A", "C24", [0.0, 0.0, 0.0], [1_000.0, 0.0, 0.0])]);
    for at_mm in [500.0, 500.000_5, 700.0, 700.002, 999.999_5] {
        design.anchors.push(anchor("A", at_mm, Hold::Pinned));
    }
    let mesh = Mesh::new(&frame(&design), &Plan::plain(&[false]));
    assert_eq!(places(&mesh, 0), [0.0, 500.0, 700.0, 700.002, 1_000.0]);
    assert_eq!(mesh.elements.len(), 4);
}

/// A rail of 1000 cut in its middle has places 0, 500, 1000; each measure belongs to the nearest.
#[test]
fn the_nearest_place_is_found() {
    let mesh = Mesh::new(&crossing("C24", "C24"), &Plan::plain(&[false, false]));
    assert_eq!(places(&mesh, 0), [0.0, 500.0, 1_000.0]);
    let found =
        [-1.0, 0.0, 249.0, 251.0, 500.0, 501.0, 749.0, 751.0, 900.0, 1_000.0, 1_001.0].map(|at| mesh.place(0, at));
    assert_eq!(found, [0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2]);
    // The bearer's places come after: 0, 400, 800.
    let found = [1.0, 399.0, 401.0, 799.0].map(|at| mesh.place(1, at));
    assert_eq!(found, [3, 4, 4, 5]);
}

/// The length that turns are compared with is the mean of the members: of 1000 and 800 it is 900.
#[test]
fn the_arm_is_the_mean_length() {
    assert!((arm(&crossing("C24", "C24")) - 900.0).abs() < 1e-9);
}
