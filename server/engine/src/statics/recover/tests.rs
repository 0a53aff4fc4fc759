//! Pieces of members against closed forms.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;
use crate::design::{Anchor, Design, Grading, Hold, Material, Member, Section, Stock};
use crate::statics::mesh::Plan;

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * other.abs().max(1e-9)
}

/// Closed forms of a bar by hand, from a start that has moved already: even line loads along all axes, N = N0 - q x,
/// u = u0 + (N0 l - q l²/2)/EA, the twist T l/GJ, and Mz' = -Vy, My' = Vz from the sign rules of the module.
#[test]
fn a_piece_ends_where_the_closed_forms_say() {
    let l = 800.0;
    let bar = Bar { length: l, ea: 4.0e6, gj: 1.3e9, eiy: 3.5e10, eiz: 0.8e10, gay: 2.0e6, gaz: 2.4e6 };
    let start = Start { forces: [500.0, 90.0, -60.0, 7.0e4, 2.0e4, -3.0e4], moves: [0.7, 0.2, -0.3, 0.01, 0.0, 0.0] };
    let (qx, qy, qz) = (0.4, 0.25, -0.15);
    let mut piece = Piece { from_mm: 100.0, to_mm: 100.0 + l, ..Piece::default() };
    let end = integrate(&mut piece, &bar, start, [[qx, 0.0], [qy, 0.0], [qz, 0.0]]);
    let forces = [
        500.0 - qx * l,
        90.0 - qy * l,
        -60.0 - qz * l,
        7.0e4,
        2.0e4 - 60.0 * l - 0.5 * qz * l * l,
        -3.0e4 - 90.0 * l + 0.5 * qy * l * l,
    ];
    assert!((0..6).all(|i| near(end.forces[i], forces[i])), "{:?} {forces:?}", end.forces);
    assert!(near(end.moves[0], 0.7 + (500.0 * l - 0.5 * qx * l * l) / 4.0e6), "{}", end.moves[0]);
    assert!(near(end.moves[3], 0.01 + 7.0e4 * l / 1.3e9), "{}", end.moves[3]);
    // Turns are the moments' areas over the stiffness.
    let turn_y = (2.0e4 * l - 60.0 * l * l / 2.0 - qz * l.powi(3) / 6.0) / 3.5e10;
    let turn_z = (-3.0e4 * l - 90.0 * l * l / 2.0 + qy * l.powi(3) / 6.0) / 0.8e10;
    assert!(near(end.moves[4], turn_y) && near(end.moves[5], turn_z), "{:?}", end.moves);
    // Bending by the first moment of the moments' areas about the end, shear by the shear forces' area.
    let bent_y = (-3.0e4 * l * l / 2.0 - 90.0 * l.powi(3) / 6.0 + qy * l.powi(4) / 24.0) / 0.8e10;
    let bent_z = -(2.0e4 * l * l / 2.0 - 60.0 * l.powi(3) / 6.0 - qz * l.powi(4) / 24.0) / 3.5e10;
    assert!(near(end.moves[1], 0.2 + bent_y + (90.0 * l - 0.5 * qy * l * l) / 2.0e6), "{}", end.moves[1]);
    assert!(near(end.moves[2], -0.3 + bent_z + (-60.0 * l - 0.5 * qz * l * l) / 2.4e6), "{}", end.moves[2]);
}

/// By hand, for loads that grow from nothing by g a mm on a bar that starts free and still: V = -g l²/2, Mz = g l³/6 and
/// My = -g l³/6, the turns g l⁴/24 and the bends g l⁵/120 over the stiffness, the shear and the stretch g l³/6 over theirs.
#[test]
fn growing_loads_raise_the_powers_by_one() {
    let l = 700.0_f64;
    let bar = Bar { length: l, ea: 4.0e6, gj: 1.3e9, eiy: 3.5e10, eiz: 0.8e10, gay: 2.0e6, gaz: 2.4e6 };
    let still = Start { forces: [0.0; 6], moves: [0.0; 6] };
    let (gx, gy, gz) = (3e-4, 5e-4, -7e-4);
    let mut piece = Piece { from_mm: 0.0, to_mm: l, ..Piece::default() };
    let end = integrate(&mut piece, &bar, still, [[0.0, gx], [0.0, gy], [0.0, gz]]);
    let power = |n: i32, over: f64| l.powi(n) / over;
    let forces =
        [gx * -power(2, 2.0), gy * -power(2, 2.0), gz * -power(2, 2.0), 0.0, gz * -power(3, 6.0), gy * power(3, 6.0)];
    assert!((0..6).all(|i| near(end.forces[i], forces[i])), "{:?} {forces:?}", end.forces);
    let moves = [
        -gx * power(3, 6.0) / 4.0e6,
        gy * (power(5, 120.0) / 0.8e10 - power(3, 6.0) / 2.0e6),
        gz * (power(5, 120.0) / 3.5e10 - power(3, 6.0) / 2.4e6),
        0.0,
        -gz * power(4, 24.0) / 3.5e10,
        gy * power(4, 24.0) / 0.8e10,
    ];
    assert!((0..6).all(|i| near(end.moves[i], moves[i])), "{:?} {moves:?}", end.moves);
}

/// Two members of 1000, the first one held.
fn frame() -> Frame {
    let member = |tag: &str, y: f64| Member {
        tag: tag.into(),
        kind: "rail".into(),
        stock: "45x70".into(),
        from: [0.0, y, 500.0],
        to: [1_000.0, y, 500.0],
        ..Member::default()
    };
    let stock = Stock {
        name: "45x70".into(),
        section: Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 },
        material: Material::Class("C24".into()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    };
    let anchor = Anchor { member: "R1".into(), to: "wall".into(), hold: Hold::Rigid, ..Anchor::default() };
    let design = Design {
        name: "pieces".into(),
        title: "Pieces".into(),
        stock: vec![stock],
        members: vec![member("R1", 0.0), member("R2", 600.0)],
        anchors: vec![anchor],
        ..Design::default()
    };
    Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"))
}

fn push(member: usize, at: f64) -> (usize, MemberLoad) {
    (member, MemberLoad::Point { at, force: [0.0, 0.0, -100.0], moment: [0.0; 3] })
}

/// Loads less than a hair from each other or from an end share their cut; two hairs away they have their own.
#[test]
fn places_a_hair_apart_are_one_cut() {
    let mesh = Mesh::new(&frame(), &Plan::plain(&[false, false]));
    let hair = HAIR * 1_000.0;
    let close = LoadCase::of(vec![push(0, 0.5 * hair), push(0, 400.0), push(0, 400.0 + 0.5 * hair)]);
    let found = cuts(&mesh, &[close], 0);
    assert_eq!(found.at_mm, [0.0, 400.0, 1_000.0]);
    assert_eq!(found.bar.len(), 2);
    let apart = LoadCase::of(vec![push(0, 2.0 * hair), push(0, 400.0), push(0, 400.0 + 2.0 * hair)]);
    assert_eq!(cuts(&mesh, &[apart], 0).at_mm.len(), 5);
}

/// A member left out of the mesh carries nothing, whatever is put on it.
#[test]
fn a_member_left_out_has_no_forces() {
    let frame = frame();
    let mesh = Mesh::new(&frame, &Plan::plain(&[false, true]));
    let case = LoadCase::of(vec![push(1, 200.0), push(1, 700.0)]);
    let cuts = cuts(&mesh, std::slice::from_ref(&case), 1);
    let mut state = MemberState::default();
    member(&frame, &mesh, &case, &vec![1.0; mesh.raw_count()], 1, &cuts, &mut state);
    assert!(state.pieces.iter().all(|piece| piece.forces(0.0) == Piece::default().forces(0.0)));
    assert!(state.displacements.iter().flatten().all(|moved| *moved == 0.0));
}
