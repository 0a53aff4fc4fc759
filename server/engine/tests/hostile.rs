//! Frames that nobody would build: each gets findings in words, a refusal that names what is wrong, or a bounded error;
//! every number is finite, nothing panics, and no loaded member is passed over in silence.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a failed test may panic; a part of the shared helpers is used"
)]

#[path = "frames/build.rs"]
mod build;
#[path = "frames/fate.rs"]
mod fate;

use battenboard_engine::design::{
    Action, Axes, Deck, DeckSurface, Design, Grip, Hold, Load, LoadKind, Material, Member, Section, Stock, Vector,
};
use battenboard_engine::findings::{Fault, LimitState};
use fate::{Fate, fate};

fn stock(name: &str, class: &str, section: Section) -> Stock {
    Stock {
        section,
        material: Material::Class(class.into()),
        ..build::stock(name, 1.0, 1.0, build::section(1.0, 1.0, 1.0, 1.0))
    }
}

fn timber() -> Stock {
    stock("45x70", "C24", Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 })
}

fn down(member: &str, at: f64, force: f64) -> Load {
    build::point_load("case", member, at, [0.0, 0.0, -force], [0.0; 3])
}

/// A beam between two anchors, held against rolling at both.
fn beam(name: &str, item: Stock, length: f64) -> Design {
    let mut design = build::blank(name);
    design.members.push(build::member("B1", &item.name, [0.0; 3], [0.0, length, 0.0]));
    design.stock.push(item);
    design.anchors.push(build::anchor("left", "B1", 0.0, build::free_in(&[3, 5])));
    design.anchors.push(build::anchor("right", "B1", length, build::free_in(&[1, 3, 5])));
    design
}

// ---- Stiffness far apart ----

/// A beam on two springs, and a second, far stiffer beam across it: 1e4 to 1e14 apart.
#[test]
fn stiffness_ratios() {
    for power in (4..=14).step_by(2) {
        let ratio = 10f64.powi(power);
        let mut design = beam(&format!("ratio-{power}"), timber(), 1000.0);
        let hold =
            |k: f64| Hold::Given([Grip::Rigid, Grip::Rigid, Grip::Spring(k), Grip::Free, Grip::Rigid, Grip::Free]);
        design.anchors[0].hold = hold(1e-2);
        design.anchors[1].hold = hold(1e-2 * ratio);
        design.loads.push(down("B1", 500.0, 100.0));
        let found = fate(&design);
        let findings = found.findings();
        let said = findings.faults.iter().any(|f| !matches!(f, Fault::NearMechanism { .. }));
        assert!(said || findings.equations.condition.is_finite(), "{design:?}");

        let mut series = build::blank(&format!("series-{power}"));
        for (name, e) in [("soft", 1.0), ("hard", ratio)] {
            series.stock.push(build::stock(name, e, e / 2.0, build::rectangle(40.0, 60.0)));
        }
        series.members.push(build::member("M1", "soft", [0.0; 3], [500.0, 0.0, 0.0]));
        series.members.push(build::member("M2", "hard", [500.0, 0.0, 0.0], [1000.0, 0.0, 0.0]));
        series.joints.push(build::joint("M1/M2", ("M2", 0.0), ("M1", 500.0), Hold::Rigid, Axes::Vehicle));
        series.anchors.push(build::anchor("wall", "M1", 0.0, Hold::Rigid));
        series.loads.push(down("M2", 500.0, 1e-6));
        fate(&series);
    }
}

// ---- Released, doubled, nearly the same ----

/// Every subset of the six directions held at both ends of a middle piece: what can move is said, tag and all.
#[test]
fn released_at_both_ends() {
    for held in 0..64_u32 {
        let grips: [Grip; 6] = std::array::from_fn(|i| if held & (1 << i) == 0 { Grip::Free } else { Grip::Rigid });
        let mut design = build::blank(&format!("released-{held}"));
        design.stock.push(timber());
        for (tag, from) in [("M1", 0.0), ("M2", 400.0), ("M3", 800.0)] {
            design.members.push(build::member(tag, "45x70", [from, 0.0, 500.0], [from + 400.0, 0.0, 500.0]));
        }
        for (tag, on, at, on_at) in [("a", "M1", 0.0, 400.0), ("b", "M3", 400.0, 0.0)] {
            design.joints.push(build::joint(tag, ("M2", at), (on, on_at), Hold::Given(grips), Axes::Member));
        }
        design.anchors.push(build::anchor("first", "M1", 0.0, Hold::Rigid));
        design.anchors.push(build::anchor("last", "M3", 400.0, Hold::Rigid));
        design.loads.push(down("M2", 200.0, 300.0));
        let found = fate(&design);
        let findings = found.findings();
        if held & 0b100 == 0 {
            assert!(!findings.faults.is_empty(), "{held:06b}: nothing holds M2 up");
        }
        let loose = findings.faults.iter().filter_map(|fault| match fault {
            Fault::Mechanism { members, .. } | Fault::Disconnected { members } => Some(members),
            _ => None,
        });
        assert!(loose.clone().all(|members| !members.is_empty()), "{held:06b}: {:?}", findings.faults);
    }
}

/// Joints and loads a hair apart on one member.
#[test]
fn places_a_hair_apart() {
    for hair in [1e-9_f64, 1e-6, 1e-3, 0.1] {
        let mut design = beam(&format!("hair-{}", -hair.log10() as i32), timber(), 1000.0);
        for (number, at) in [(2, 500.0), (3, 500.0 + hair), (4, 500.0 + 2.0 * hair)] {
            let tag = format!("B{number}");
            design.members.push(build::member(&tag, "45x70", [0.0, at, 0.0], [300.0, at, 0.0]));
            design.joints.push(build::joint(
                &format!("j{number}"),
                (&tag, 0.0),
                ("B1", at),
                Hold::Rigid,
                Axes::Vehicle,
            ));
            design.anchors.push(build::anchor(&format!("a{number}"), &tag, 300.0, Hold::Pinned));
            design.loads.push(down(&tag, 150.0, 200.0));
        }
        design.loads.push(down("B1", 500.0 + hair, 100.0));
        design.loads.push(down("B1", 1000.0 - hair, 100.0));
        fate(&design).findings();
    }
}

/// Two, three, four members on one axis, joined at their ends or all along.
#[test]
fn members_on_one_axis() {
    for count in 2..=4 {
        let mut design = beam(&format!("doubled-{count}"), timber(), 1000.0);
        for number in 2..=count {
            let tag = format!("B{number}");
            design.members.push(build::member(&tag, "45x70", [0.0; 3], [0.0, 1000.0, 0.0]));
            for (at, side) in [(0.0, "l"), (500.0, "m"), (1000.0, "r")] {
                let name = format!("j{number}{side}");
                design.joints.push(build::joint(&name, (&tag, at), ("B1", at), Hold::Rigid, Axes::Vehicle));
            }
            design.loads.push(down(&tag, 250.0, 200.0));
        }
        let found = fate(&design);
        assert!(found.findings().checks.iter().any(|c| c.tag == format!("B{count}") && c.utilisation > 0.0));
        // Not joined at all they hang on nothing.
        design.joints.clear();
        assert!(fate(&design).findings().faults.iter().any(|f| matches!(f, Fault::Disconnected { .. })));
    }
}

// ---- Shapes ----

/// Slendernesses from 3 to 20 000, timber and metal, pressed and bent.
#[test]
fn from_stocky_to_very_slender() {
    let kinds = [
        timber(),
        stock("bar", "S355", Section::Round { diameter_mm: 10.0 }),
        stock("alu", "6060-T66", Section::RectangularTube { width_mm: 20.0, depth_mm: 40.0, wall_mm: 2.0 }),
        stock("pipe", "S235", Section::RoundTube { diameter_mm: 42.4, wall_mm: 2.6 }),
        stock("full", "S235", Section::RectangularTube { width_mm: 20.0, depth_mm: 20.0, wall_mm: 10.0 }),
        stock("flat", "6082-T6", Section::Rectangle { width_mm: 0.5, depth_mm: 20.0 }),
    ];
    for item in kinds {
        for length in [1.0, 10.0, 50.0, 500.0, 5e3, 5e4, 4e5] {
            let mut design = beam(&format!("{}-{length:.0}", item.name), item.clone(), length);
            design.loads.push(build::point_load("case", "B1", length, [0.0, -50.0, 0.0], [0.0; 3]));
            design.loads.push(down("B1", 0.4 * length, 20.0));
            let found = fate(&design);
            let findings = found.findings();
            assert!(findings.checks.iter().all(|c| c.utilisation >= 0.0), "{}", design.name);
            assert!(findings.checks.iter().any(|c| c.tag == "B1" && c.utilisation > 0.0), "{}", design.name);
        }
    }
}

/// Members of a millimetre, in a frame of its own size.
#[test]
fn tiny_frames() {
    let mut design = beam("tiny", stock("wire", "S235", Section::Round { diameter_mm: 0.1 }), 1.0);
    design.loads.push(down("B1", 0.5, 0.1));
    let findings = fate(&design);
    // By hand: 1.35 · 0.1/4 · 1 = 0.03375 N·mm over pi 0.1³/32 = 9.817e-5: 343.8 N/mm² of 235.
    let worst = findings.findings().checks.iter().find(|c| c.unit == "N/mm2").unwrap().utilisation;
    assert!((worst - 343.8 / 235.0).abs() < 5e-3, "{worst}");
}

/// The same frame far from the front axle: a few digits go, nothing else.
#[test]
fn far_away() {
    let mut near = beam("near", timber(), 1000.0);
    near.loads.push(down("B1", 300.0, 500.0));
    let mut far = near.clone();
    let shift: Vector = [1e6, -1e6, 1e6];
    for member in &mut far.members {
        member.from = std::array::from_fn(|i| member.from[i] + shift[i]);
        member.to = std::array::from_fn(|i| member.to[i] + shift[i]);
    }
    let (near, far) = (fate(&near), fate(&far));
    for (one, other) in near.findings().checks.iter().zip(&far.findings().checks) {
        assert_eq!((&one.tag, one.kind), (&other.tag, other.kind));
        assert!((one.utilisation - other.utilisation).abs() <= 1e-6 * one.utilisation, "{one:?} {other:?}");
    }
    let mut too_far = beam("too-far", timber(), 1000.0);
    too_far.members[0].from[0] = 1e9;
    assert!(matches!(fate(&too_far), Fate::Refused(_)));
}

// ---- Loads ----

/// Nothing on it and next to no weight.
#[test]
fn without_load() {
    let mut item = timber();
    for density_kg_m3 in [0.0, 1e-12, 1e-3] {
        item.material = Material::Given { e_n_mm2: 1e4, g_n_mm2: 600.0, density_kg_m3 };
        let found = fate(&beam("empty", item.clone(), 1000.0));
        let findings = found.findings();
        assert!(findings.combinations.iter().any(|c| c.limit_state == LimitState::Strength));
        assert!(findings.checks.iter().all(|c| c.utilisation < 1e-3 || c.tag == "design"), "{:?}", findings.checks);
    }
}

fn every_load(member: &Member, length: f64, case: &str, size: f64) -> Vec<Load> {
    let tag = member.tag.clone();
    let whats = [
        LoadKind::Point {
            member: tag.clone(),
            at_mm: 0.3 * length,
            force_n: [size, -2.0 * size, -3.0 * size],
            moment_n_mm: [50.0 * size, -20.0 * size, 10.0 * size],
            axes: Axes::Member,
        },
        LoadKind::Line {
            member: tag.clone(),
            from_mm: 0.1 * length,
            to_mm: 0.9 * length,
            start_n_mm: [0.0, 0.0, -size / 500.0],
            end_n_mm: [size / 900.0, size / 700.0, 0.0],
            axes: Axes::Vehicle,
        },
        LoadKind::Mass { member: tag, at_mm: length, mass_kg: size.abs() / 20.0 },
    ];
    whats.into_iter().map(|what| Load { case: case.into(), action: Action::Stowage, what }).collect()
}

/// Every kind of load on every member of a platform, timber and metal mixed, small, great and beyond all measure.
#[test]
fn every_load_on_every_member() {
    for size in [1e-9_f64, 1.0, 100.0, 1e6, 1e12] {
        let mut design = build::blank(&format!("loaded-{}", 9 + size.log10() as i32));
        design.stock.push(timber());
        design.stock.push(stock(
            "alu",
            "6063-T66",
            Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 },
        ));
        design.stock.push(stock("post", "S235", Section::RoundTube { diameter_mm: 42.4, wall_mm: 2.6 }));
        for (number, x) in [(1, 0.0), (2, 1200.0)] {
            for (side, y) in [("L", 0.0), ("R", 900.0)] {
                let tag = format!("P{side}{number}");
                design.members.push(build::member(&tag, "post", [x, y, 0.0], [x, y, 400.0]));
                design.anchors.push(build::anchor(&format!("{tag}/floor"), &tag, 0.0, Hold::Rigid));
            }
        }
        for (tag, y, side) in [("RL", 0.0, "L"), ("RR", 900.0, "R")] {
            design.members.push(build::member(tag, "45x70", [0.0, y, 435.0], [1200.0, y, 435.0]));
            for (post, at) in [(1, 0.0), (2, 1200.0)] {
                let name = format!("{tag}/{post}");
                design.joints.push(build::joint(
                    &name,
                    (tag, at),
                    (&format!("P{side}{post}"), 400.0),
                    Hold::Rigid,
                    Axes::Vehicle,
                ));
            }
        }
        for (tag, x) in [("B1", 200.0), ("B2", 1000.0)] {
            design.members.push(build::member(tag, "alu", [x, 0.0, 490.0], [x, 900.0, 490.0]));
            for (rail, at) in [("RL", 0.0), ("RR", 900.0)] {
                design.joints.push(build::joint(
                    &format!("{rail}/{tag}"),
                    (tag, at),
                    (rail, x),
                    Hold::Rigid,
                    Axes::Vehicle,
                ));
            }
        }
        design.decks.push(Deck {
            tag: "D1".into(),
            surface: DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true },
            carried_by: vec!["B1".into(), "B2".into()],
            ..Deck::default()
        });
        let members = design.members.clone();
        for (number, member) in members.iter().enumerate() {
            let length = (0..3).map(|k| (member.to[k] - member.from[k]).powi(2)).sum::<f64>().sqrt();
            design.loads.extend(every_load(member, length, &format!("case {}", number % 3), size));
        }
        let pressure = LoadKind::Area { deck: "D1".into(), pressure_n_mm2: size / 1e6 };
        design.loads.push(Load { case: "deck".into(), action: Action::Lying, what: pressure });
        match fate(&design) {
            Fate::Found(findings) => {
                for member in &members {
                    assert!(
                        findings.checks.iter().any(|c| c.tag == member.tag && c.utilisation > 0.0),
                        "{}",
                        member.tag
                    );
                }
            }
            other => assert!(size >= 1e12, "{size}: {other:?}"),
        }
    }
}
