//! Second order by hand.
#![allow(clippy::unwrap_used, reason = "a failed test may panic")]

use super::*;
use crate::design::{Axes, Hold, Joint};
use crate::statics::posts::{self, LENGTH, STRONG, WEAK};

/// Value of a polynomial and of its slope.
fn at(coefficients: &[f64], s: f64) -> [f64; 2] {
    let value = coefficients.iter().rev().fold(0.0, |sum, c| sum * s + c);
    let slope = (1..coefficients.len()).map(|k| k as f64 * coefficients[k] * s.powi(k as i32 - 1)).sum();
    [value, slope]
}

/// A straight line from nothing at the begin of the first piece to `miss` at the bar's end: no jump between pieces, and the
/// shear remains the slope of the moment (dMy/dx = Vz, dMz/dx = -Vy).
#[test]
fn a_straight_line_closes_what_the_moments_miss() {
    let piece = |from_mm: f64, to_mm: f64| Piece {
        from_mm,
        to_mm,
        my: [100.0, 5.0, 0.0, 0.0],
        vz: [5.0, 0.0, 0.0],
        mz: [-40.0, 2.0, 0.0, 0.0],
        vy: [-2.0, 0.0, 0.0],
        ..Piece::default()
    };
    let before = [piece(1000.0, 1500.0), piece(1500.0, 3000.0)];
    let mut after = before;
    slope_to(&mut after, [600.0, -900.0], 2000.0);
    for (old, new) in before.iter().zip(&after) {
        for s in [0.0, new.to_mm - new.from_mm] {
            let share = (new.from_mm + s - 1000.0) / 2000.0;
            let grown = [at(&new.my, s)[0] - at(&old.my, s)[0], at(&new.mz, s)[0] - at(&old.mz, s)[0]];
            assert!((grown[0] - 600.0 * share).abs() < 1e-9, "{grown:?} at {share}");
            assert!((grown[1] + 900.0 * share).abs() < 1e-9, "{grown:?} at {share}");
            assert!((at(&new.my, s)[1] - at(&new.vz, s)[0]).abs() < 1e-12);
            assert!((at(&new.mz, s)[1] + at(&new.vy, s)[0]).abs() < 1e-12);
        }
    }
    slope_to(&mut [], [1.0, 1.0], 10.0);
}

/// A clamped post with moments at its very end and at its middle, pressed by next to nothing: by hand its moment is that of
/// the end over the middle, and both together below.
#[test]
fn moments_at_the_end_reach_the_last_face() {
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, Hold::Rigid, None);
    posts::load(&mut design, "load", "P", LENGTH, [0.0; 3], [2000.0, 3000.0, 0.0]);
    posts::load(&mut design, "load", "P", 900.0, [0.0; 3], [500.0, 700.0, 0.0]);
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let base = Base::new(&analysis, &[4]).unwrap().unwrap();
    let leaning = base.leaning(&posts::terms(&analysis, &[("load", 1.0)]), [0.0, 1.0, 0.0], 1.0).unwrap();
    let pieces = leaning.pieces(&frame, &base.mesh, 0);
    assert!(pieces.len() >= 4);
    for piece in &pieces {
        // About the vehicle's x, along which the depth lies, and about its y.
        let expected = if piece.from_mm < 899.0 { [2500.0, 3700.0] } else { [2000.0, 3000.0] };
        let long = piece.to_mm - piece.from_mm;
        for s in [0.0, 0.5 * long, long] {
            let found = [at(&piece.mz, s)[0].abs(), at(&piece.my, s)[0].abs()];
            for (found, expected) in found.into_iter().zip(expected) {
                assert!((found - expected).abs() < 1e-6 * expected, "{found} for {expected} at {}", piece.from_mm + s);
            }
        }
    }
}

/// The head of a clamped post is moved level by its anchor, twice over: u = 2 x the settlement there, and a clamping moment
/// of 3 E I u/l² (a cantilever's end moved by u; closed form), in both planes.
#[test]
fn a_settlement_takes_its_factor() {
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, Hold::Rigid, Some(posts::free_in(&[2, 3, 4, 5])));
    design.anchors[1].settlement = [-2.0, 3.0, 0.0, 0.0, 0.0, 0.0];
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let index = analysis.cases.iter().position(|case| case.settlement).unwrap();
    let base = Base::new(&analysis, &[2]).unwrap().unwrap();
    let leaning = base.leaning(&[(index, 2.0)], [1.0, 0.0, 0.0], 1.0).unwrap();
    let head = 6 * (base.mesh.places.len() - 1);
    assert!((leaning.u[head] + 4.0).abs() < 1e-9 && (leaning.u[head + 1] - 6.0).abs() < 1e-9);
    let first = leaning.pieces(&frame, &base.mesh, 0)[0];
    for (found, expected) in [(first.my[0], 3.0 * STRONG * 4.0), (first.mz[0], 3.0 * WEAK * 6.0)] {
        let expected = expected / (LENGTH * LENGTH);
        assert!((found.abs() - expected).abs() < 1e-6 * expected, "{found} for {expected}");
    }
}

/// A leaning portal presses its far post more: the compression in the stiffness is that of the solution (to the share at
/// which it counts as settled), and both posts together bear the load. By hand from equilibrium.
#[test]
fn compression_agrees_with_the_solution() {
    let mut design = posts::blank();
    // A hundred times as stiff, so that loads are heavy.
    if let crate::design::Material::Given { e_n_mm2, g_n_mm2, .. } = &mut design.stock[0].material {
        (*e_n_mm2, *g_n_mm2) = (1_100_000.0, 69_000.0);
    }
    for (tag, x) in [("P", 0.0), ("Q", 600.0)] {
        posts::stand(&mut design, tag, x, Hold::Rigid, None);
        posts::press(&mut design, "load", tag, 200_000.0);
    }
    posts::member(&mut design, "R", [0.0, 0.0, LENGTH], [600.0, 0.0, LENGTH]);
    for (on, at_mm) in [("P", 0.0), ("Q", 600.0)] {
        let (at_mm, on_at_mm) = (Some(at_mm), Some(LENGTH));
        let (member, on) = ("R".into(), on.into());
        design.joints.push(Joint {
            member,
            on,
            at_mm,
            on_at_mm,
            hold: Hold::Rigid,
            axes: Axes::Vehicle,
            ..Joint::default()
        });
    }
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let base = Base::new(&analysis, &[1, 1, 1]).unwrap().unwrap();
    let leaning = base.leaning(&posts::terms(&analysis, &[("load", 1.0)]), [1.0, 0.0, 0.0], 1.0).unwrap();
    let now = base.compression(&leaning.u);
    for (now, taken) in now.iter().zip(&leaning.pressed) {
        assert!((now - taken).abs() <= SETTLED * 210_000.0, "{now} against {taken}");
    }
    assert!((now[0] + now[1] - 400_000.0).abs() < 1.0, "{now:?}");
    assert!(now[1] > now[0] + 400.0, "it leans on the far post: {now:?}");
}
