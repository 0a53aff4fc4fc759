//! What is said of parts that cannot be computed, and the estimate of the condition, against figures by hand.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;
use crate::design::Hold;
use crate::design::vector::to_local;
use crate::statics::factor::Shape;
use crate::statics::small_frames::{anchor, crossing, design, frame, rigid_joint};
use std::f64::consts::PI;

/// A on B on C, and D apart: whoever carries what is left out is not told, whoever is carried by it is.
#[test]
fn whoever_carries_what_is_missing_is_not_told() {
    let mut design = design(&[
        ("C", "C24", [0.0, 0.0, 0.0], [1_000.0, 0.0, 0.0]),
        ("B", "C24", [500.0, -400.0, 70.0], [500.0, 400.0, 70.0]),
        ("A", "C24", [0.0, 0.0, 140.0], [1_000.0, 0.0, 140.0]),
        ("D", "C24", [0.0, 0.0, 900.0], [1_000.0, 0.0, 900.0]),
    ]);
    design.joints = vec![rigid_joint("B", "C"), rigid_joint("A", "B")];
    design.anchors.push(anchor("D", 0.0, Hold::Rigid));
    let frame = frame(&design);
    let told = |missing: usize| {
        let left_out: Vec<bool> = (0..4).map(|m| m == missing).collect();
        untold(&frame, &left_out)
    };
    assert_eq!(told(2), [true, true, true, false]);
    assert_eq!(told(1), [true, true, false, false]);
    assert_eq!(told(0), [true, false, false, false]);
    assert_eq!(told(3), [false, false, false, true]);
}

fn said(attempt: Attempt) -> (String, String, f64) {
    match attempt {
        Attempt::Failed { faults, .. } => match &faults[..] {
            [Fault::IllConditioned { stiffest, softest, condition }] => (stiffest.clone(), softest.clone(), *condition),
            other => panic!("{other:?}"),
        },
        Attempt::Solved { .. } => panic!("solved"),
    }
}

/// A timber rail of 2 x 500 under a steel bearer of 2 x 400, 45 x 70. The stiffest is E A/l of steel, the softest E I/l³ of
/// timber about its weak axis; in bars of 10 mm, shorter than the section is thick, bending is the stiffer of the two:
/// E A/l of timber is the least, and E I/l³ of steel about its strong axis is not asked for (the weaker one counts).
#[test]
fn the_stiffest_and_the_softest_are_named() {
    let frame = crossing("C24", "S235");
    let mut mesh = Mesh::new(&frame, &Plan::plain(&[false, false]));
    let (area, weak) = (45.0 * 70.0, 70.0 * 45.0_f64.powi(3) / 12.0);
    let steel = frame.members[1].e_n_mm2;
    let (stiffest, softest, condition) = said(far_apart(&frame, &mesh));
    assert_eq!((stiffest.as_str(), softest.as_str()), ("B", "R"));
    let wanted = (steel * area / 400.0) / (11_000.0 * weak / 500.0_f64.powi(3));
    assert!((condition / wanted - 1.0).abs() < 1e-9, "{condition} {wanted}");
    mesh.elements.iter_mut().for_each(|e| e.bar = e.bar.with_length(10.0));
    let (stiffest, softest, condition) = said(far_apart(&frame, &mesh));
    assert_eq!((stiffest.as_str(), softest.as_str()), ("B", "R"));
    let wanted = (steel * weak / 1_000.0) / (11_000.0 * area / 10.0);
    assert!((condition / wanted - 1.0).abs() < 1e-9, "{condition} {wanted}");
}

/// A chain of n equal springs between walls, scaled: 1 on the diagonal, -1/2 beside it. Row sums are 2 at most, the least
/// eigenvalue is 1 - cos(pi / (n + 1)); a Rayleigh quotient comes from above and after three steps is near.
#[test]
fn the_condition_of_a_chain() {
    for n in [1_usize, 5, 30] {
        let mut lower = Lower { order: n, starts: vec![0], ..Lower::default() };
        for column in 0..n {
            let rows = column..n.min(column + 2);
            lower.values.extend(rows.clone().map(|row| if row == column { 1.0 } else { -0.5 }));
            lower.rows.extend(rows);
            lower.starts.push(lower.rows.len());
        }
        let group: Vec<usize> = (0..n).collect();
        let factor = Shape::new(&lower, &group).and_then(|shape| shape.factor(&lower)).unwrap();
        let largest: f64 = if n == 1 { 1.0 } else { 2.0 };
        let wanted = largest / (1.0 - (PI / (n + 1) as f64).cos());
        let found = condition(&lower, &factor);
        assert!(found <= wanted * (1.0 + 1e-9) && found > 0.99 * wanted, "{n}: {found} {wanted}");
    }
}

/// A bearer held in its middle: both halves are cantilevers of l = 500 under their own weight w and sink by
/// w l⁴/8 E I + w l²/2 G A_s at their ends (Timoshenko beam, A_s = 5/6 A), down in local axes; turn w l³/6 E I, the ends
/// lowered: by +y at the far end (a positive turn about y lowers z along x), by -y at the near one.
#[test]
fn movements_are_told_in_local_axes() {
    let mut design = design(&[("A", "C24", [0.0, 0.0, 0.0], [600.0, 800.0, 0.0])]);
    design.anchors = vec![anchor("A", 500.0, Hold::Rigid)];
    let frame = frame(&design);
    let analysis = analyse(&frame, &|| false).unwrap();
    let case = analysis.cases.iter().position(|c| !c.settlement && !c.loads.is_empty()).unwrap();
    let area = 45.0 * 70.0;
    let (ei, ga) = (11_000.0 * 45.0 * 70.0_f64.powi(3) / 12.0, 690.0 * area * 5.0 / 6.0);
    let weight = area * 420.0e-9 * 9.80665;
    let l: f64 = 500.0;
    let sinks = weight * l.powi(4) / (8.0 * ei) + weight * l * l / (2.0 * ga);
    let turns = weight * l.powi(3) / (6.0 * ei);
    for (place, wanted_sinks, wanted_turn) in [(0, sinks, -turns), (1, 0.0, 0.0), (2, sinks, turns)] {
        let u = &analysis.solved[case].u[6 * place..];
        let axes = &frame.members[0].axes;
        let (shift, turn) = (to_local(axes, [u[0], u[1], u[2]]), to_local(axes, [u[3], u[4], u[5]]));
        let wanted = ([0.0, 0.0, -wanted_sinks], [0.0, wanted_turn, 0.0]);
        for i in 0..3 {
            assert!((shift[i] - wanted.0[i]).abs() < 1e-6 * sinks, "{place} {shift:?} {wanted:?}");
            assert!((turn[i] - wanted.1[i]).abs() < 1e-6 * turns, "{place} {turn:?} {wanted:?}");
        }
    }
}
