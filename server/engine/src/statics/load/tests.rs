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

fn a_box(name: &str, mass_kg: f64, on: Option<&str>) -> Stowage {
    Stowage {
        name: name.into(),
        mass_kg,
        at: [2_350.0, 0.0, 612.0],
        size: [200.0, 300.0, 400.0],
        on: on.map(String::from),
    }
}

/// Up to three boxes each are an action of their own, four are one; what weighs nothing or stands on the vehicle's floor
/// is none. Every mass weighs in the case of its own.
#[test]
fn boxes_are_actions_of_their_own_while_they_are_few() {
    let mut design = platform();
    design.stowage = vec![
        a_box("empty", 0.0, Some("D1")),
        a_box("first", 3.0, Some("D1")),
        a_box("floor", 50.0, None),
        a_box("second", 4.0, Some("B2")),
        a_box("third", 5.0, Some("D1")),
    ];
    let gear = |design: &Design| -> Vec<(String, f64)> {
        let frame = Frame::new(design).unwrap_or_else(|v| panic!("{v:?}"));
        let aboard = masses(&frame).into_iter().filter(|case| case.action == Action::Stowage);
        aboard.map(|case| (case.name, -resultant(&frame, &case.loads).0[2] / GRAVITY)).collect()
    };
    let expect = |found: Vec<(String, f64)>, expected: &[(&str, f64)]| {
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for ((name, kg), (wanted, wanted_kg)) in found.iter().zip(expected) {
            assert!(name == wanted && near(*kg, *wanted_kg), "{name} {kg}");
        }
    };
    expect(gear(&design), &[("first", 3.0), ("second", 4.0), ("third", 5.0)]);
    design.stowage.push(a_box("fourth", 6.0, Some("D1")));
    expect(gear(&design), &[("gear", 18.0)]);
}

/// People weigh what their entry says, else what the settings say, else 100 kg each; they are marked as people.
#[test]
fn people_weigh_what_is_said_of_them() {
    let mut design = platform();
    let people = |name: &str, posture, mass_kg, at_mm: &[[f64; 2]]| crate::design::People {
        name: name.into(),
        posture,
        deck: "D1".into(),
        at_mm: at_mm.to_vec(),
        heads: crate::design::Heading::Left,
        mass_kg,
    };
    design.people = vec![
        people("asleep", Posture::Lying, None, &[[2_150.0, 0.0], [2_550.0, 0.0]]),
        people("child", Posture::Kneeling, Some(35.0), &[[2_350.0, 100.0]]),
    ];
    for (stated, each) in [(None, 100.0), (Some(85.0), 85.0)] {
        design.settings.person_kg = stated;
        let frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
        let cases: Vec<LoadCase> = cases(&frame).into_iter().filter(|case| case.people).collect();
        let expected = [("asleep", Action::Lying, 2.0 * each), ("child", Action::Moving, 35.0)];
        assert_eq!(cases.len(), expected.len());
        for (case, (name, action, kg)) in cases.iter().zip(expected) {
            assert!(case.name == name && case.action == action, "{case:?}");
            assert!(near(-resultant(&frame, &case.loads).0[2], kg * GRAVITY), "{name}");
        }
    }
}

/// A pressure on a deck is the pressure times its area, 900 by 1120, about its middle; a mass of nothing is none.
#[test]
fn pressures_and_empty_masses() {
    let mut design = platform();
    let load = |case: &str, what| Load { case: case.into(), action: Action::Moving, what };
    design.loads = vec![
        load("crowd", LoadKind::Area { deck: "D1".into(), pressure_n_mm2: 0.0005 }),
        load("nothing", LoadKind::Mass { member: "B1".into(), at_mm: 100.0, mass_kg: 0.0 }),
    ];
    let mut frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
    let Parts { cases, masses } = parts(&frame);
    let crowd = cases.iter().find(|case| case.name == "crowd").unwrap();
    assert!(near(resultant(&frame, &crowd.loads).0[2], -0.0005 * 900.0 * 1_120.0));
    assert_eq!(masses.len(), 4, "three bearers and the deck");
    // A deck and a bedding of no mass weigh nothing and so are no mass.
    frame.decks[0].mass_kg_m2 = 0.0;
    assert_eq!(parts(&frame).masses.len(), 4, "the bedding");
    design.decks[0].bedding_kg = 0.0;
    let mut frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
    frame.decks[0].mass_kg_m2 = 0.0;
    assert_eq!(parts(&frame).masses.len(), 3);
}

/// What lies on a deck turns it by pressures alone: upright and without moments at the members. What is so narrow that it
/// presses on one place turns it by a moment there.
#[test]
fn couples_of_a_deck_are_pressures() {
    let mut design = platform();
    design.stowage = vec![a_box("wide", 30.0, Some("D1"))];
    let frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
    let Parts { masses, cases } = parts(&frame);
    let wide = masses.last().unwrap();
    assert_eq!(cases[wide.case].name, "wide");
    for push in &wide.push {
        assert!(!push.couple.is_empty());
        for (index, load) in &push.couple {
            let force = to_vehicle(&frame.members[*index].axes, load.force());
            assert!(force[0].abs() + force[1].abs() < 1e-9, "{force:?}");
            assert!(!matches!(load, MemberLoad::Point { moment, .. } if *moment != [0.0; 3]), "{load:?}");
        }
    }
    let sum = resultant(&frame, &wide.push[0].couple).0;
    assert!(sum.iter().all(|force| force.abs() < 1e-9), "{sum:?}");
    // Past the bearers' ends at 500 all stands on the ends, so nothing presses to and fro along them.
    design.stowage[0] =
        Stowage { at: [2_300.0, 510.0, 612.0], size: [20.0, 10.0, 400.0], ..a_box("end", 3.0, Some("D1")) };
    let frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
    let masses = parts(&frame).masses;
    let moments = masses.last().unwrap().push[1].couple.iter();
    assert!(moments.clone().count() > 0);
    for (_, load) in moments {
        assert!(matches!(load, MemberLoad::Point { force, .. } if *force == [0.0; 3]), "{load:?}");
    }
}

/// A box hangs only where its top is not over the members' tops at 400: then it pushes where it is stated, else it lies
/// on the deck.
#[test]
fn a_box_hangs_only_wholly_under_the_tops() {
    for (middle, hangs) in [(300.0, true), (301.0, false), (395.0, false), (250.0, true)] {
        let mut design = platform();
        design.stowage =
            vec![Stowage { at: [2_350.0, 0.0, middle], size: [200.0; 3], ..a_box("box", 10.0, Some("D1")) }];
        let frame = Frame::new(&design).unwrap_or_else(|v| panic!("{v:?}"));
        let masses = parts(&frame).masses;
        let push = &masses.last().unwrap().push[0];
        let loads: Loads = push.even.iter().chain(&push.couple).copied().collect();
        let height = resultant(&frame, &loads).1[1] / (10.0 * GRAVITY);
        let expected = if hangs { middle } else { 400.0 + frame.decks[0].thickness_mm + 100.0 };
        assert!(near(height, expected), "{middle}: {height} instead of {expected}");
    }
}
