#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;
use crate::design::vector::{add, cross, to_vehicle};
use crate::design::{Anchor, Deck, DeckSurface, Grading, Hold, Joint, Load, Material, Member, Section, Stock};

fn stock(name: &str, width_mm: f64, depth_mm: f64) -> Stock {
    Stock {
        name: name.into(),
        section: Section::Rectangle { width_mm, depth_mm },
        material: Material::Class("C24".into()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    }
}

/// Three bearers of unequal depth under one deck, tops at 400; the first runs against the others. The deck reaches past
/// the bearers' ends and past the outer ones.
fn platform() -> Design {
    let bearer = |tag: &str, stock: &str, depth: f64, x: f64, turned: bool| {
        let ends = [[x, -500.0, 400.0 - 0.5 * depth], [x, 500.0, 400.0 - 0.5 * depth]];
        let [from, to] = if turned { [ends[1], ends[0]] } else { ends };
        Member { tag: tag.into(), kind: "bearer".into(), stock: stock.into(), from, to, ..Member::default() }
    };
    let anchor = |member: &str| Anchor {
        member: member.into(),
        at_mm: 0.0,
        to: "body".into(),
        hold: Hold::Rigid,
        ..Anchor::default()
    };
    Design {
        name: "push".into(),
        title: "Push".into(),
        stock: vec![stock("45x70", 45.0, 70.0), stock("45x45", 45.0, 45.0)],
        members: vec![
            bearer("B1", "45x70", 70.0, 2_000.0, true),
            bearer("B2", "45x45", 45.0, 2_300.0, false),
            bearer("B3", "45x70", 70.0, 2_700.0, false),
        ],
        joints: Vec::<Joint>::new(),
        anchors: ["B1", "B2", "B3"].map(anchor).to_vec(),
        decks: vec![Deck {
            tag: "D1".into(),
            surface: DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true },
            carried_by: ["B1", "B2", "B3"].map(String::from).to_vec(),
            from_mm: Some([1_900.0, -600.0]),
            to_mm: Some([2_800.0, 520.0]),
            bedding_kg: 9.0,
            ..Deck::default()
        }],
        ..Design::default()
    }
}

/// Sum of forces, and of moments about the origin, of loads in vehicle axes.
fn resultant(frame: &Frame, loads: &Loads) -> (Vector, Vector) {
    let mut sum = ([0.0; 3], [0.0; 3]);
    let mut put = |force: Vector, at: Vector| {
        sum.0 = add(sum.0, force);
        sum.1 = add(sum.1, cross(at, force));
    };
    let mut moments = [0.0; 3];
    for (index, load) in loads {
        let member = &frame.members[*index];
        match load {
            MemberLoad::Point { at, force, moment } => {
                put(to_vehicle(&member.axes, *force), member.point(*at));
                moments = add(moments, to_vehicle(&member.axes, *moment));
            }
            MemberLoad::Line { from, to, start, end } => {
                // Gauss points: exact for a straight load at straight arms.
                for side in [-1.0, 1.0] {
                    let t = 0.5 + side * 0.5 / 3.0_f64.sqrt();
                    let value = [0, 1, 2].map(|i| (start[i] + (end[i] - start[i]) * t) * 0.5 * (to - from));
                    put(to_vehicle(&member.axes, value), member.point(from + (to - from) * t));
                }
            }
        }
    }
    (sum.0, add(sum.1, moments))
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * other.abs().max(1.0)
}

/// A push of 1 g of mass m at height z turns about the origin by m g z, whatever the depths of the bearers and wherever
/// the patch reaches: about y towards +x, about -x towards +y. Bearers push at their axes.
#[test]
fn pushes_turn_by_mass_times_height() {
    let mut design = platform();
    design.stowage = vec![
        Stowage {
            name: "on the deck".into(),
            mass_kg: 30.0,
            at: [2_150.0, 100.0, 612.0],
            size: [250.0, 400.0, 400.0],
            on: Some("D1".into()),
        },
        Stowage {
            name: "sunk".into(),
            mass_kg: 5.0,
            at: [2_500.0, 0.0, 420.0],
            size: [100.0, 100.0, 200.0],
            on: Some("D1".into()),
        },
        Stowage {
            name: "hung".into(),
            mass_kg: 8.0,
            at: [2_500.0, -550.0, 250.0],
            size: [100.0, 60.0, 200.0],
            on: Some("D1".into()),
        },
    ];
    let frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
    let Parts { masses, .. } = parts(&frame);
    let deck = &frame.decks[0];
    let sheet_kg = deck.mass_kg_m2 * deck.area_m2();
    let bearer = |i: usize| (frame.members[i].mass_kg(), frame.members[i].from[2]);
    // Deck at the middle of its own thickness, bedding 50 above it; the sunk box at half its height above the deck.
    let middle =
        (sheet_kg * (400.0 + 0.5 * deck.thickness_mm) + 9.0 * (400.0 + deck.thickness_mm + 50.0)) / (sheet_kg + 9.0);
    let top = 400.0 + deck.thickness_mm;
    let on_deck = [(sheet_kg + 9.0, middle), (30.0, f64::max(612.0, top + 200.0)), (5.0, top + 100.0), (8.0, 250.0)];
    let expected: Vec<(f64, f64)> = (0..3).map(bearer).chain(on_deck).collect();
    assert_eq!(masses.len(), expected.len());
    for (mass, (kg, z_mm)) in masses.iter().zip(expected) {
        let force = kg * GRAVITY;
        assert!(near(resultant(&frame, &mass.weight).0[2], -force));
        for (axis, push) in mass.push.iter().enumerate() {
            let loads: Loads = push.even.iter().chain(&push.couple).copied().collect();
            let (sum, turn) = resultant(&frame, &loads);
            let mut wanted = [0.0; 3];
            wanted[axis] = force;
            assert!((0..3).all(|k| (sum[k] - wanted[k]).abs() < 1e-9 * force), "{sum:?}");
            let about = if axis == 0 { turn[1] } else { -turn[0] };
            assert!(near(about, force * z_mm), "axis {axis}: {about} against {}", force * z_mm);
        }
    }
}

/// A tank on one member stands off its axis: force and moment there.
#[test]
fn box_on_a_member_turns_it() {
    let mut design = platform();
    let tank = Stowage {
        name: "tank".into(),
        mass_kg: 20.0,
        at: [2_300.0, 0.0, 250.0],
        size: [100.0; 3],
        on: Some("B2".into()),
    };
    design.stowage = vec![tank];
    let frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
    let masses = parts(&frame).masses;
    let (sum, turn) = resultant(&frame, &masses[4].push[0].even);
    assert!(near(sum[0], 20.0 * GRAVITY) && masses[4].push[0].couple.is_empty());
    assert!(near(turn[1], 20.0 * GRAVITY * 250.0), "{turn:?}");
}

/// Masses of a case that also has newtons get a weight of their own; cases of people have no push.
#[test]
fn cases_of_the_road() {
    let mut design = platform();
    let load = |case: &str, action, what| Load { case: case.into(), action, what };
    let kg = |mass_kg| LoadKind::Mass { member: "B1".into(), at_mm: 100.0, mass_kg };
    let pull = LoadKind::Point {
        member: "B1".into(),
        at_mm: 500.0,
        force_n: [0.0, 0.0, -50.0],
        moment_n_mm: [0.0; 3],
        axes: Axes::Vehicle,
    };
    design.loads = vec![
        load("kit", Action::Permanent, kg(4.0)),
        load("kit", Action::Permanent, pull.clone()),
        load("tank", Action::Stowage, kg(10.0)),
        load("guest", Action::Moving, kg(80.0)),
        load("wire", Action::Permanent, pull),
    ];
    let frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
    let all = cases(&frame);
    let names: Vec<(&str, Role)> = all.iter().map(|c| (c.name.as_str(), c.role)).collect();
    assert_eq!(
        names,
        [
            ("own weight", Role::Standing),
            ("kit", Role::Standing),
            ("tank", Role::Standing),
            ("guest", Role::Standing),
            ("wire", Role::Standing),
            ("own weight, 1 g rearwards", Role::Push(0, 0)),
            ("own weight, 1 g to the right", Role::Push(0, 1)),
            ("kit, masses alone", Role::Weight(1)),
            ("kit, 1 g rearwards", Role::Push(1, 0)),
            ("kit, 1 g to the right", Role::Push(1, 1)),
            ("tank, 1 g rearwards", Role::Push(2, 0)),
            ("tank, 1 g to the right", Role::Push(2, 1)),
        ]
    );
    let down = |index: usize| resultant(&frame, &all[index].loads).0[2];
    assert!(near(down(1), -50.0 - 4.0 * GRAVITY) && near(down(7), -4.0 * GRAVITY));
}
