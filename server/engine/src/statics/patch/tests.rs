//! Loads on decks against the lever rule and sums by hand.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;
use crate::design::vector::to_vehicle;
use crate::design::{Anchor, Design, Grading, Hold, Material, Member, Section, Stock};

/// A deck whose lines (places across, with their members) lie along an axis.
fn deck(along: usize, across_mm: [f64; 2], along_mm: [f64; 2], lines: Vec<DeckLine>) -> FrameDeck {
    FrameDeck { along, lines, across_mm, along_mm, top_mm: 400.0, mass_kg_m2: 8.0, thickness_mm: 12.0 }
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * other.abs().max(1.0)
}

/// Two lines across x = 0 and x = 1000 of two members each, which run along y with a gap from 600 to 700; one of them
/// runs against the deck.
fn two_lines() -> (Frame, FrameDeck) {
    let member = |tag: &str, x: f64, from: f64, to: f64| Member {
        tag: tag.into(),
        kind: "bearer".into(),
        stock: "45x70".into(),
        from: [x, from, 365.0],
        to: [x, to, 365.0],
        ..Member::default()
    };
    let anchor = |member: &str| Anchor {
        member: member.into(),
        at_mm: 0.0,
        to: "body".into(),
        hold: Hold::Rigid,
        ..Anchor::default()
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
    let design = Design {
        name: "lines".into(),
        title: "Lines".into(),
        stock: vec![stock],
        members: vec![
            member("A1", 0.0, 0.0, 600.0),
            member("A2", 0.0, 700.0, 1_500.0),
            member("B1", 1_000.0, 600.0, 0.0),
            member("B2", 1_000.0, 700.0, 1_500.0),
        ],
        anchors: ["A1", "A2", "B1", "B2"].map(anchor).to_vec(),
        ..Design::default()
    };
    let frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
    let line = |place_mm: f64, first: usize| DeckLine {
        place_mm,
        members: vec![(first, [0.0, 600.0]), (first + 1, [700.0, 1_500.0])],
    };
    (frame, deck(1, [0.0, 1_000.0], [0.0, 1_500.0], vec![line(0.0, 0), line(1_000.0, 2)]))
}

/// Downward force of one member's loads, and its moment about y = 0 of the vehicle.
fn downward(frame: &Frame, loads: &Loads, member: usize) -> [f64; 2] {
    let mut sum = [0.0; 2];
    let axes = &frame.members[member].axes;
    for (_, load) in loads.iter().filter(|(index, _)| *index == member) {
        let mut put = |down: f64, at: f64| {
            sum[0] += down;
            sum[1] += down * frame.members[member].point(at)[1];
        };
        match load {
            MemberLoad::Point { at, force, .. } => put(-to_vehicle(axes, *force)[2], *at),
            MemberLoad::Line { from, to, start, end } => {
                // A straight load as two triangles, each with its resultant at a third.
                let (q1, q2, length) = (-to_vehicle(axes, *start)[2], -to_vehicle(axes, *end)[2], to - from);
                put(0.5 * q1 * length, from + length / 3.0);
                put(0.5 * q2 * length, from + 2.0 * length / 3.0);
            }
        }
    }
    sum
}

/// By hand: 1.5 N/mm on each line. Each member takes up to the middle of the gap at 650; what lies over the gap stands
/// on the nearer end.
#[test]
fn members_in_one_line_share_at_the_middle_of_their_gap() {
    let (frame, deck) = two_lines();
    let mut loads = Loads::new();
    spread(&frame, &deck, Patch::whole(&deck), down(2.0 * 1.5 * 1_500.0), &mut loads);
    let first = [1.5 * 650.0, 1.5 * (600.0 * 300.0 + 50.0 * 600.0)];
    let second = [1.5 * 850.0, 1.5 * (800.0 * 1_100.0 + 50.0 * 700.0)];
    for (member, expected) in [first, second, first, second].into_iter().enumerate() {
        let found = downward(&frame, &loads, member);
        assert!(near(found[0], expected[0]) && near(found[1], expected[1]), "{member}: {found:?} {expected:?}");
    }
}

/// By hand: over a patch a by b with a pressure of c times the place from its middle, the force is zero, and the moment
/// about the axis across that is a b^3 / 12: along the members half of it on each line, across them as a pair of forces.
#[test]
fn a_tilted_pressure_is_a_couple() {
    let (frame, deck) = two_lines();
    let patch = Patch { across: [200.0, 800.0], along: [100.0, 500.0] };
    let whole = 600.0 * 400.0_f64.powi(3) / 12.0;
    let mut loads = Loads::new();
    tilt(&frame, &deck, patch, 1, &mut loads);
    for member in [0, 2] {
        let [force, moment] = downward(&frame, &loads, member);
        assert!(force.abs() < 1e-6 && near(moment, 0.5 * whole), "{member}: {force} {moment} {whole}");
    }
    let mut loads = Loads::new();
    tilt(&frame, &deck, patch, 0, &mut loads);
    let pair = 400.0 * 600.0_f64.powi(3) / 12.0 / 1_000.0;
    let (near_line, far_line) = (downward(&frame, &loads, 0), downward(&frame, &loads, 2));
    assert!(near(near_line[0], -pair) && near(far_line[0], pair), "{near_line:?} {far_line:?} {pair}");
    // Nothing to press on: no load.
    let mut none = Loads::new();
    tilt(&frame, &deck, Patch { across: [200.0, 800.0], along: [100.0, 100.0] }, 1, &mut none);
    tilt(&frame, &deck, Patch { across: [200.0, 200.0], along: [100.0, 500.0] }, 0, &mut none);
    assert!(none.is_empty());
}

/// The lever rule by a fine sum: every slice of a load that grows across goes to the two lines beside it, the slices
/// past the outer lines as levers over the outer spans.
#[test]
fn lines_share_by_the_lever_rule() {
    let places = [0.0, 400.0, 1_000.0];
    let lines = places.map(|place_mm| DeckLine { place_mm, members: Vec::new() }).to_vec();
    let deck = deck(1, [-100.0, 1_200.0], [0.0, 1_000.0], lines);
    for (range, line) in
        [([-100.0, 1_150.0], [2.0, 0.003]), ([50.0, 350.0], [0.5, -0.01]), ([300.0, 1_200.0], [0.0, 0.2])]
    {
        let mut expected = [0.0; 3];
        let count = 20_000;
        let slice = (range[1] - range[0]) / f64::from(count);
        for k in 0..count {
            let x = range[0] + (f64::from(k) + 0.5) * slice;
            let load = (line[0] + line[1] * (x - range[0])) * slice;
            let span = usize::from(x > 400.0);
            let far = (x - places[span]) / (places[span + 1] - places[span]);
            expected[span] += load * (1.0 - far);
            expected[span + 1] += load * far;
        }
        for (found, expected) in shares(&deck, range, line).into_iter().zip(expected) {
            assert!((found - expected).abs() < 1e-4 * expected.abs().max(1.0), "{range:?}: {found} {expected}");
        }
    }
}

/// The lying person of [`Posture`]: head 8 % on 200 mm, trunk 50 % on 600, legs 42 % on 1000, 450 wide. By hand, for the
/// four ways a head can point and on members that run either way; on a deck of half his length all is half as long.
#[test]
fn a_lying_person_is_head_trunk_and_legs_from_where_the_head_points() {
    let far = [0.0, 3_000.0];
    let from_head = [[0.0, 200.0], [200.0, 800.0], [800.0, 1_800.0]];
    for along in [0, 1] {
        for (heads, axis, sign) in
            [(Heading::Front, 0, 1.0), (Heading::Rear, 0, -1.0), (Heading::Left, 1, 1.0), (Heading::Right, 1, -1.0)]
        {
            for (length, scale) in [(3_000.0, 1.0), (900.0, 0.5)] {
                let body = [0.0, length];
                let (across_mm, along_mm) = if axis == along { (far, body) } else { (body, far) };
                let deck = deck(along, across_mm, along_mm, Vec::new());
                let middle = 0.5 * length;
                let mut at = [1_400.0; 2];
                at[axis] = middle;
                let parts = person(&deck, Posture::Lying, heads, at);
                assert_eq!(parts.iter().map(|(_, share)| *share).collect::<Vec<_>>(), [0.08, 0.50, 0.42]);
                for ((patch, _), [from, to]) in parts.iter().zip(from_head) {
                    let ends = [from, to].map(|mm| middle - sign * 900.0 * scale + sign * mm * scale);
                    let expected = [ends[0].min(ends[1]), ends[0].max(ends[1])];
                    let (lengthwise, aside) =
                        if axis == along { (patch.along, patch.across) } else { (patch.across, patch.along) };
                    assert!((0..2).all(|k| near(lengthwise[k], expected[k])), "{lengthwise:?} {expected:?}");
                    assert!(near(aside[0], 1_175.0) && near(aside[1], 1_625.0), "{aside:?}");
                }
            }
        }
    }
}
