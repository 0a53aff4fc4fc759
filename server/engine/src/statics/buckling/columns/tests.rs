//! Single columns by hand.
#![allow(clippy::unwrap_used, reason = "a failed test may panic")]

use super::*;
use crate::statics::divide::{Divided, divided};
use crate::statics::posts;

/// Euler, pi² E I/l² by hand: between holds at 2000 for bending about y, at 500 for bending about z.
#[test]
fn a_member_by_itself_buckles_between_its_holds() {
    let (stiffness, held) = ([2.0e10, 3.0e9], [2000.0, 500.0]);
    let columns = Columns { states: Vec::new(), members: Vec::new(), stiffness: vec![stiffness], held_mm: vec![held] };
    assert!(columns.is_empty());
    let pressed = Pressed { member: 0, state: 0, compression_n: 1000.0 };
    // 9.8696 x 2e10/4e6 = 49348 N; 9.8696 x 3e9/2.5e5 = 118435 N.
    for (axis, expected) in [49.348, 118.435].into_iter().enumerate() {
        assert!((columns.by_itself(&pressed, axis) - expected).abs() < 1e-3, "about {axis}");
    }
}

/// The start of a lone member's search: w = sin(pi x/l) + sin(2 pi x/l)/5 across, its places turned by its slope. By hand
/// the integral of w'² is pi²/(2 l) (1 + 0.4²): what 1 N of compression works on it, all in one plane.
#[test]
fn a_bow_is_a_smooth_wave_in_one_plane() {
    let mut design = posts::blank();
    posts::member(&mut design, "P", [0.0; 3], [600.0, 800.0, 1500.0]);
    posts::anchor(&mut design, "P", 0.0, posts::free_in(&[]));
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let parts = 16;
    let made = divided(&frame, &analysis.system.mesh, &[parts], Stiffness::Buckling, |_| Vec::new());
    let Divided { system, .. } = made.unwrap().unwrap();
    let refined = Refined::new(&system, &vec![0; parts]);
    let one = Press { mean: 1.0, half: 0.0 };
    let operator = Compression { frame: &frame, refined: &refined, pressed: vec![[one; 2]; parts] };
    let length = frame.members[0].length_mm;
    let expected = 0.58 * PI * PI / length;
    for axis in [0, 1] {
        let raw = bow(&frame, &refined, 0, axis);
        let works = work(&operator, 0, &raw);
        assert!((works[axis] / expected - 1.0).abs() < 1e-4, "{axis}: {}", works[axis] / expected);
        assert!(works[1 - axis].abs() < 1e-12 * expected, "{axis}: {works:?}");
        // Its ends stay, its middle moves by one across.
        let moved = |place: usize| [0, 1, 2].map(|i| raw[6 * place + i]);
        let across = frame.members[0].axes[if axis == 0 { 2 } else { 1 }];
        for (place, size) in [(0, 0.0), (parts / 2, 1.0), (parts, 0.0)] {
            for (found, one) in moved(place).into_iter().zip(across) {
                assert!((found - size * one).abs() < 1e-12, "{axis} at {place}");
            }
        }
    }
}

/// A length is decided in the combination that presses the member most, and in no other that presses it.
#[test]
fn a_length_is_decided_where_the_member_is_pressed_most() {
    let pressed = |member: usize, state: usize| Pressed { member, state, compression_n: 10.0 };
    let states = vec![vec![(0, 10.0), (1, 5.0)], vec![(0, 5.0), (1, 10.0)], vec![(0, 1.0)]];
    let members = vec![pressed(0, 0), pressed(1, 1)];
    let columns = Columns { states, members, stiffness: Vec::new(), held_mm: Vec::new() };
    assert_eq!(
        [0, 1, 2].map(|state| columns.decided_in(state).collect::<Vec<_>>()),
        [vec![(0, 10.0)], vec![(1, 10.0)], vec![]]
    );
    assert_eq!([0, 1, 2].map(|state| columns.any(state)), [true, true, false]);
}
