//! Masses along a part of a bar against influence coefficients, in one plane; who takes part in a frame's shaking.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::carried::Point;
use super::swinging::Plane;
use super::{aboard, taking_part};
use crate::design::{
    Anchor, Deck, Design, Frame, Grading, Hold, Material, Member, People, Posture, Section, Stock, Stowage,
};
use crate::statics::inner::{ENDS, gauss};
use crate::statics::krylov::symmetric_eigen;
use crate::statics::load::GRAVITY;

/// Lowest 1/omega² of one bar on two pins, from its mass matrix and its stiffness against turns of its ends.
fn on_pins(plane: Plane, points: &[Point], quiet: f64) -> f64 {
    let bending = plane.bending(points, quiet);
    // Turns alike and against one another: their stiffness is 2 (1 + phi + ...) E I/l; near 4 + phi, far 2 - phi.
    let base = plane.ei / (plane.length * (1.0 + plane.phi));
    let (near, far) = ((4.0 + plane.phi) * base, (2.0 - plane.phi) * base);
    let mut shapes: Vec<Vec<f64>> = Vec::new();
    for (sign, stiffness) in [(1.0, near + far), (-1.0, near - far)] {
        let mut shape = vec![0.0; bending.order];
        (shape[1], shape[3]) = ((2.0 * stiffness).sqrt().recip(), sign * (2.0 * stiffness).sqrt().recip());
        shapes.push(shape);
    }
    for inner in ENDS..bending.order {
        let mut shape = vec![0.0; bending.order];
        shape[inner] = 1.0;
        shapes.push(shape);
    }
    let mut entries = Vec::new();
    for one in &shapes {
        let forces = bending.mass_forces(one);
        entries.extend(shapes.iter().map(|other| other.iter().zip(&forces).map(|(u, f)| u * f).sum::<f64>()));
    }
    symmetric_eigen(&entries, shapes.len()).into_iter().flat_map(|(values, _)| values).fold(0.0, f64::max)
}

/// The same by influence coefficients of a beam on two pins, s(1-t)(2t - t² - s²)/6 for s < t, with its mass cut into 400
/// small ones (Timoshenko, Vibration Problems in Engineering, ch. 4; the coefficient from Roark, table 8; from memory).
fn by_influence(plane: Plane, masses: &[(f64, f64)]) -> f64 {
    let influence = |a: f64, b: f64| {
        let (s, t) = (a.min(b), a.max(b));
        let bent = s * (1.0 - t) * (2.0 * t - t * t - s * s) / 6.0;
        (bent + plane.phi / 12.0 * s * (1.0 - t)) * plane.length.powi(3) / plane.ei
    };
    // Power steps: the lowest is far from the next.
    let mut shape: Vec<f64> = vec![1.0; masses.len()];
    let mut value = 0.0;
    for _ in 0..60 {
        let next: Vec<f64> = masses
            .iter()
            .map(|(s, _)| masses.iter().zip(&shape).map(|((t, mass), u)| influence(*s, *t) * mass * u).sum())
            .collect();
        let product = |a: &[f64], b: &[f64]| masses.iter().zip(a).zip(b).map(|(((_, m), a), b)| m * a * b).sum::<f64>();
        value = product(&next, &next) / product(&shape, &next);
        let size = next.iter().fold(0.0, |a: f64, b| a.max(b.abs()));
        shape = next.iter().map(|u| u / size).collect();
    }
    value
}

/// Even masses along a part (from, to, mass), single ones where both are the same.
fn both(parts: &[(f64, f64, f64)]) -> (Vec<Point>, Vec<(f64, f64)>) {
    let (mut points, mut small) = (Vec::new(), Vec::new());
    for (from, to, mass) in parts.iter().copied() {
        if from == to {
            points.push(Point { s: from, mass, width: 0.0 });
            small.push((from, mass));
            continue;
        }
        let point = |[s, share]: [f64; 2]| {
            let width = (to - from) * share;
            Point { s: from + (to - from) * s, mass: mass * share, width }
        };
        points.extend(gauss(8).into_iter().map(point));
        let middle = |k: i32| from + (to - from) * (f64::from(k) + 0.5) / 200.0;
        small.extend((0..200).map(|k| (middle(k), mass / 200.0)));
    }
    (points, small)
}

#[test]
fn masses_along_a_part_of_a_bar() {
    let loads: [&[(f64, f64, f64)]; 5] = [
        &[(0.0, 1.0, 0.006)],
        &[(0.3, 0.7, 0.03)],
        &[(0.0, 1.0, 0.002), (0.1, 0.35, 0.08)],
        &[(0.0, 1.0, 0.002), (0.3, 0.3, 0.05), (0.8, 0.8, 0.02)],
        &[(0.9, 1.0, 0.03), (0.05, 0.05, 0.01)],
    ];
    for phi in [0.0, 0.4] {
        let plane = Plane { length: 2000.0, ei: 8.0e9, phi };
        for parts in loads {
            let (points, small) = both(parts);
            let expected = by_influence(plane, &small);
            // As the search does it, and with every inner shape: what then is left is of the points that stand for a line.
            for (quiet, within) in [(1e-3 * expected, 1e-3), (0.0, 3e-4)] {
                let found = on_pins(plane, &points, quiet);
                let off = found / expected - 1.0;
                assert!(off.abs() < within, "{parts:?} at phi {phi}: {off:e}");
            }
        }
    }
}

/// By hand: of 100 parts of energy those with more than 5 take part, most first, ties in the members' order, four at most.
#[test]
fn members_with_more_than_a_twentieth_take_part() {
    assert_eq!(taking_part(&[4.0, 30.0, 60.0, 6.0]), [2, 1, 3]);
    assert_eq!(taking_part(&[25.0, 25.0, 50.0]), [2, 0, 1]);
    assert_eq!(taking_part(&[6.0, 14.0, 20.0, 30.0, 30.0]), [3, 4, 2, 1]);
    // The same shares whatever the unit of energy.
    assert_eq!(taking_part(&[4e-9, 30e-9, 60e-9, 6e-9]), [2, 1, 3]);
}

/// A deck on two bearers with a box and some people, each entry with what it weighs.
fn bed(people: &[(&str, f64)]) -> Frame {
    let bearer = |tag: &str, x: f64| Member {
        tag: tag.into(),
        kind: "bearer".into(),
        stock: "45x70".into(),
        from: [x, -500.0, 365.0],
        to: [x, 500.0, 365.0],
        ..Member::default()
    };
    let anchor =
        |member: &str| Anchor { member: member.into(), to: "body".into(), hold: Hold::Rigid, ..Anchor::default() };
    let entry = |(name, kg): &(&str, f64)| People {
        name: (*name).into(),
        posture: Posture::Kneeling,
        deck: "D1".into(),
        at_mm: vec![[2_300.0, 0.0]],
        mass_kg: Some(*kg),
        ..People::default()
    };
    let design = Design {
        name: "bed".into(),
        title: "Bed".into(),
        stock: vec![Stock {
            name: "45x70".into(),
            section: Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 },
            material: Material::Class("C24".into()),
            grading: Grading::Stamped,
            lengths_mm: Vec::new(),
            price_per_m: None,
            resawn: false,
        }],
        members: vec![bearer("B1", 2_000.0), bearer("B2", 2_600.0)],
        anchors: ["B1", "B2"].map(anchor).to_vec(),
        decks: vec![Deck {
            tag: "D1".into(),
            carried_by: vec!["B1".into(), "B2".into()],
            bedding_kg: 9.0,
            ..Deck::default()
        }],
        stowage: vec![Stowage {
            name: "box".into(),
            mass_kg: 200.0,
            at: [2_300.0, 0.0, 500.0],
            size: [100.0; 3],
            on: Some("D1".into()),
        }],
        people: people.iter().map(entry).collect(),
        ..Design::default()
    };
    Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"))
}

/// All that is no person stays aboard, and of the entries of people only the heaviest, wherever it stands among them.
#[test]
fn only_the_heaviest_people_shake_along() {
    for (people, heaviest) in [
        ([("a", 70.0), ("b", 120.0), ("c", 90.0)], 120.0),
        ([("a", 130.0), ("b", 120.0), ("c", 90.0)], 130.0),
        ([("a", 70.0), ("b", 80.0), ("c", 90.0)], 90.0),
    ] {
        let cases = aboard(&bed(&people));
        let others: Vec<&str> = cases.iter().filter(|case| !case.people).map(|case| case.name.as_str()).collect();
        assert_eq!(others, ["own weight", "box"]);
        // The bearers lie level and upright: their local z is the vehicle's but for its sign.
        let of_people: Vec<f64> = cases
            .iter()
            .filter(|case| case.people)
            .map(|case| case.loads.iter().map(|(_, load)| load.force()[2].abs()).sum::<f64>() / GRAVITY)
            .collect();
        assert!(of_people.len() == 1 && (of_people[0] - heaviest).abs() < 1e-9, "{of_people:?}");
    }
    assert!(aboard(&bed(&[])).iter().all(|case| !case.people));
    // Of two that weigh the same the first stays, so that a design always gives one answer.
    let alike = aboard(&bed(&[("a", 80.0), ("b", 90.0), ("c", 90.0)]));
    assert_eq!(alike.iter().filter(|case| case.people).map(|case| case.name.as_str()).collect::<Vec<_>>(), ["b"]);
}
