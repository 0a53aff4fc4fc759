//! Frames that can move must be found and said; frames that cannot must be solved. Who moves, and how, is known beforehand
//! from what was loosened: beyond a loosened joint of a tree everything moves as one rigid body.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a test ends where it finds a fault, and uses a part of the shared helpers"
)]

#[path = "frames/build.rs"]
mod build;
#[path = "frames/chance.rs"]
mod chance;
#[path = "frames/platform.rs"]
mod platform;
#[path = "frames/random.rs"]
mod random;
#[path = "frames/read.rs"]
mod read;
#[path = "frames/vectors.rs"]
mod vectors;

use battenboard_engine::design::{Axes, Design, Grip, Hold, Vector};
use battenboard_engine::findings::{AssumptionCode, Fault, Findings, Motion};
use chance::Chance;
use random::{Kinds, tag};
use vectors::{axes, cross, dot, length, norm, point, sub};

const VEHICLE: [Vector; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// A rigid motion: along a direction, or about an axis through a point.
#[derive(Debug)]
struct Free {
    direction: Vector,
    turn_about: Option<Vector>,
}

impl Free {
    fn at(&self, place: Vector) -> Vector {
        self.turn_about.map_or(self.direction, |pivot| cross(self.direction, sub(place, pivot)))
    }

    /// How far the ends of a member move at most.
    fn moves(&self, member: &battenboard_engine::design::Member) -> f64 {
        norm(self.at(member.from)).max(norm(self.at(member.to)))
    }
}

/// Members on the far side of a tree's joint, seen from the foot (member 0).
fn beyond(design: &Design, joint: usize) -> Vec<String> {
    let mut near = vec![tag(0)];
    loop {
        let before = near.len();
        for (number, joining) in design.joints.iter().enumerate() {
            if number == joint {
                continue;
            }
            for (one, other) in [(&joining.member, &joining.on), (&joining.on, &joining.member)] {
                if near.contains(one) && !near.contains(other) {
                    near.push(other.clone());
                }
            }
        }
        if near.len() == before {
            break;
        }
    }
    design.members.iter().map(|member| member.tag.clone()).filter(|tag| !near.contains(tag)).collect()
}

/// A hold with one direction of six set free.
fn loosened(direction: usize) -> Hold {
    build::free_in(&[direction])
}

/// The only fault must be a motion of `movers` that is the given free one.
fn expect_motion(design: &Design, findings: &Findings, movers: &[String], free: &Free) {
    let name = &design.name;
    assert!(!findings.faults.is_empty(), "{name}: {free:?} of {movers:?} was not found");
    let [Fault::Mechanism { members, motion, direction }] = findings.faults.as_slice() else {
        panic!("{name}: one motion {free:?} of {movers:?}, but {:?}", findings.faults)
    };
    let expected = if free.turn_about.is_some() { Motion::Turn } else { Motion::Slide };
    assert_eq!(*motion, expected, "{name}: {free:?} of {movers:?}");
    assert!(dot(*direction, free.direction).abs() > 1.0 - 1e-5, "{name}: {direction:?} instead of {free:?}");
    let known = |tag: &String| design.members.iter().find(|member| member.tag == *tag).unwrap();
    let most = movers.iter().map(|tag| free.moves(known(tag))).fold(0.0, f64::max);
    for mover in movers {
        // A member near the hinge hardly moves; whether it is named is a matter of taste.
        let share = free.moves(known(mover)) / most;
        assert!(share < 0.05 || members.contains(mover), "{name}: {mover} moves and is not named in {members:?}");
    }
    for named in members {
        assert!(movers.contains(named), "{name}: {named} is named and cannot move; only {movers:?} can");
    }
    assert!(!members.is_empty(), "{name}: nobody is named");
}

/// True where the motion is one member's spin about its own axis.
fn is_spin(design: &Design, movers: &[String], free: &Free) -> bool {
    let [only] = movers else { return false };
    let member = design.members.iter().find(|member| member.tag == *only).unwrap();
    free.turn_about.is_some() && free.moves(member) < 1e-3 * length(member)
}

/// A frame, the member of it that is loosened, who moves, and how.
fn loosened_tree(seed: u64) -> Option<(Design, Vec<String>, Free)> {
    let mut chance = Chance::new(seed);
    let mut design = random::frame(seed, Kinds::tree(2 + chance.below(6)));
    let number = chance.below(design.joints.len());
    let direction = chance.below(6);
    let measured = if chance.percent(50) { Axes::Vehicle } else { Axes::Member };
    let joint = &mut design.joints[number];
    (joint.hold, joint.axes) = (loosened(direction), measured);
    let joint = &design.joints[number];
    let carried = design.members.iter().find(|member| member.tag == joint.member).unwrap();
    let rows = if measured == Axes::Member { axes(carried) } else { VEHICLE };
    let hinge = point(carried, joint.at_mm.unwrap());
    let free = Free { direction: rows[direction % 3], turn_about: (direction > 2).then_some(hinge) };
    let movers = beyond(&design, number);
    if is_spin(&design, &movers, &free) { None } else { Some((design, movers, free)) }
}

#[test]
fn four_hundred_trees_with_one_loosened_joint() {
    let mut tried = 0;
    for seed in 0.. {
        let Some((design, movers, free)) = loosened_tree(40_000 + seed) else { continue };
        expect_motion(&design, &read::run(&design), &movers, &free);
        tried += 1;
        if tried == 400 {
            break;
        }
    }
}

#[test]
fn one_hundred_and_fifty_trees_with_a_loosened_foot() {
    let mut tried = 0;
    for seed in 0.. {
        let mut chance = Chance::new(50_000 + seed);
        let mut design = random::frame(50_000 + seed, Kinds::tree(1 + chance.below(6)));
        let direction = chance.below(6);
        let measured = if chance.percent(50) { Axes::Vehicle } else { Axes::Member };
        (design.anchors[0].hold, design.anchors[0].axes) = (loosened(direction), measured);
        let rows = if measured == Axes::Member { axes(&design.members[0]) } else { VEHICLE };
        let turn_about = (direction > 2).then_some(design.members[0].from);
        let free = Free { direction: rows[direction % 3], turn_about };
        let movers: Vec<String> = design.members.iter().map(|member| member.tag.clone()).collect();
        if is_spin(&design, &movers, &free) {
            continue;
        }
        expect_motion(&design, &read::run(&design), &movers, &free);
        tried += 1;
        if tried == 150 {
            break;
        }
    }
}

/// Nothing holds the frame at all: said as such, not as six motions.
#[test]
fn one_hundred_frames_without_anchors() {
    for seed in 0..100 {
        let mut chance = Chance::new(60_000 + seed);
        let mut design = random::frame(60_000 + seed, Kinds::mixed(&mut chance));
        design.anchors.clear();
        let all: Vec<String> = design.members.iter().map(|member| member.tag.clone()).collect();
        expect_disconnected(&design, &all);
    }
}

fn expect_disconnected(design: &Design, all: &[String]) {
    let findings = read::run(design);
    let [Fault::Disconnected { members }] = findings.faults.as_slice() else {
        panic!("{}: {:?} hang in the air, but {:?}", design.name, all, findings.faults)
    };
    let (mut named, mut expected) = (members.clone(), all.to_vec());
    named.sort();
    expected.sort();
    assert_eq!(named, expected, "{}", design.name);
}

/// A second frame beside the first, held by nothing: only its members are named, and the first is still solved.
#[test]
fn one_hundred_and_fifty_frames_with_a_loose_part() {
    for seed in 0..150 {
        let mut chance = Chance::new(70_000 + seed);
        let mut design = random::frame(70_000 + seed, Kinds::mixed(&mut chance));
        let loose = random::frame(80_000 + seed, Kinds::mixed(&mut chance));
        let renamed = |tag: &str| format!("L{tag}");
        let mut all = Vec::new();
        for (number, mut member) in loose.members.into_iter().enumerate() {
            member.tag = renamed(&tag(number));
            member.stock = design.stock[0].name.clone();
            all.push(member.tag.clone());
            design.members.push(member);
        }
        for mut joint in loose.joints {
            joint.tag = joint.tag.map(|tag| renamed(&tag));
            (joint.member, joint.on) = (renamed(&joint.member), renamed(&joint.on));
            design.joints.push(joint);
        }
        expect_disconnected(&design, &all);
    }
}

/// Two or three things loosened at once: everything that is named lies beyond one of them.
#[test]
fn one_hundred_trees_with_several_loosened_joints() {
    for seed in 0..100 {
        let mut chance = Chance::new(90_000 + seed);
        let mut design = random::frame(90_000 + seed, Kinds::tree(4 + chance.below(4)));
        let mut movers = Vec::new();
        for number in chance.shuffled(design.joints.len()).into_iter().take(2 + chance.below(2)) {
            // Slides only: none of them is harmless.
            design.joints[number].hold = loosened(chance.below(3));
            movers.extend(beyond(&design, number));
        }
        let findings = read::run(&design);
        assert!(!findings.faults.is_empty(), "{}: {movers:?} can slide", design.name);
        for fault in &findings.faults {
            let Fault::Mechanism { members, .. } = fault else { panic!("{}: {fault:?}", design.name) };
            assert!(!members.is_empty(), "{}: nobody is named", design.name);
            for named in members {
                assert!(movers.contains(named), "{}: {named} cannot move, only {movers:?}", design.name);
            }
        }
    }
}

/// Platforms whose posts are hinged at foot and head: they rack, and the rails and posts are named.
#[test]
fn one_hundred_platforms_that_rack() {
    for seed in 0..100 {
        let mut chance = Chance::new(100_000 + seed);
        let mut design = platform::row(1 + chance.below(3), &mut chance);
        for joint in design.joints.iter_mut().filter(|joint| joint.member.starts_with('P')) {
            joint.hold = Hold::Pinned;
        }
        for anchor in &mut design.anchors {
            anchor.hold = Hold::Pinned;
        }
        let findings = read::run(&design);
        let mut named: Vec<&str> = Vec::new();
        for fault in &findings.faults {
            let Fault::Mechanism { members, .. } = fault else { panic!("{}: {fault:?}", design.name) };
            named.extend(members.iter().map(String::as_str));
        }
        assert!(!findings.faults.is_empty(), "{}: the platform racks", design.name);
        for kind in ["P", "R", "B"] {
            assert!(named.iter().any(|tag| tag.starts_with(kind)), "{}: no {kind} among {named:?}", design.name);
        }
    }
}

#[test]
fn one_thousand_sound_frames_are_solved() {
    for seed in 0..1000 {
        let mut chance = Chance::new(110_000 + seed);
        let design = match seed % 10 {
            0 | 1 => random::frame(120_000 + seed, Kinds::tree(1 + chance.below(9))),
            2 => {
                let mut design = platform::row(1 + chance.below(3), &mut chance);
                design.name = format!("platform-{seed}");
                design
            }
            _ => {
                let kinds = Kinds { members: 1 + chance.below(9), ..Kinds::mixed(&mut chance) };
                random::frame(120_000 + seed, kinds)
            }
        };
        let findings = read::solve(&design);
        let results = findings.results.as_ref().unwrap();
        assert!(findings.equations.condition.is_finite(), "{}: condition", design.name);
        assert!(!results.states.is_empty(), "{}: no results", design.name);
        let places = results.states.iter().flat_map(|state| &state.members).flat_map(|member| &member.places);
        assert!(places.flat_map(|place| place.displacement).all(f64::is_finite), "{}: displacements", design.name);
    }
}

/// A bar between two posts that hold its ends but not its spin.
fn spinning_bar(moment: Vector) -> Findings {
    let mut design = build::blank("spin");
    design.stock.push(build::stock("s", 11_000.0, 690.0, build::rectangle(45.0, 70.0)));
    design.members.push(build::member("P1", "s", [0.0; 3], [0.0, 0.0, 800.0]));
    design.members.push(build::member("P2", "s", [900.0, 0.0, 0.0], [900.0, 0.0, 800.0]));
    design.members.push(build::member("T1", "s", [0.0, 0.0, 800.0], [900.0, 0.0, 800.0]));
    for post in ["P1", "P2"] {
        design.anchors.push(build::anchor(&format!("{post}/floor"), post, 0.0, Hold::Rigid));
    }
    design.joints.push(build::joint("P1/T1", ("T1", 0.0), ("P1", 800.0), Hold::Pinned, Axes::Vehicle));
    design.joints.push(build::joint("P2/T1", ("T1", 900.0), ("P2", 800.0), Hold::Pinned, Axes::Vehicle));
    design.loads.push(build::point_load(build::CASE, "T1", 400.0, [0.0, 0.0, -300.0], moment));
    read::run(&design)
}

#[test]
fn a_spin_that_no_load_drives_is_harmless_and_listed() {
    let findings = spinning_bar([0.0; 3]);
    assert!(findings.faults.is_empty(), "{:?}", findings.faults);
    let mut set_aside = findings.assumptions.iter().filter(|one| one.code == AssumptionCode::SpinSetAside);
    let listed = set_aside.any(|one| one.about.iter().any(|tag| tag == "T1"));
    assert!(listed, "the spin of T1 is not listed: {:?}", findings.assumptions);
}

#[test]
fn a_spin_that_a_load_drives_is_a_motion() {
    // However little: 0.1 N·m beside 300 N turn it as well.
    for torque in [2e4, -100.0] {
        let findings = spinning_bar([torque, 0.0, 0.0]);
        let [Fault::Mechanism { members, motion, direction }] = findings.faults.as_slice() else {
            panic!("T1 is turned by a load, but {:?}", findings.faults)
        };
        assert_eq!((members.as_slice(), *motion), (["T1".to_owned()].as_slice(), Motion::Turn));
        assert!(dot(*direction, [1.0, 0.0, 0.0]).abs() > 1.0 - 1e-6, "{direction:?}");
    }
}

/// A sliding joint held by a spring is no mechanism, however soft beside the timber.
#[test]
fn a_soft_spring_is_no_mechanism() {
    let mut design = build::blank("soft");
    design.stock.push(build::stock("s", 11_000.0, 690.0, build::rectangle(45.0, 70.0)));
    design.members.push(build::member("M0", "s", [0.0; 3], [1000.0, 0.0, 0.0]));
    let mut grips = [Grip::Rigid; 6];
    grips[2] = Grip::Spring(0.05);
    design.anchors.push(build::anchor("A0", "M0", 0.0, Hold::Given(grips)));
    design.loads.push(build::point_load(build::CASE, "M0", 0.0, [0.0, 0.0, -1.0], [0.0; 3]));
    let findings = read::solve(&design);
    let sunk = read::place(read::case(&findings, build::CASE), "M0", 0.0).displacement[2];
    assert!((sunk + 20.0).abs() < 1e-6, "{sunk}");
}
