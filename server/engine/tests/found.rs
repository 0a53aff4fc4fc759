//! What the fuzz targets found (`tests/fuzz/`), each as its least case. The inputs themselves are replayed by
//! `tests/tests/replay.rs`.
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

use battenboard_engine::design::{Axes, Deck, Design, Frame, Hold, Hole, Material, Notch};
use battenboard_engine::findings::Findings;
use battenboard_engine::{Ask, check};

/// A rail held rigidly at its start, and a post standing on it.
fn two_members() -> Design {
    let mut design = build::blank("found");
    design.stock.push(build::stock("s", 9_000.0, 560.0, build::rectangle(45.0, 70.0)));
    design.members.push(build::member("M1", "s", [0.0; 3], [600.0, 0.0, 0.0]));
    design.members.push(build::member("M2", "s", [300.0, 0.0, 0.0], [300.0, 0.0, 400.0]));
    design.joints.push(build::joint("J1", ("M2", 0.0), ("M1", 300.0), Hold::Rigid, Axes::Vehicle));
    design.anchors.push(build::anchor("A0", "M1", 0.0, Hold::Rigid));
    design
}

fn findings(design: &Design) -> Findings {
    let frame = Frame::new(design).expect("a sound frame");
    check(&frame, Ask::default(), &|| false).expect("findings")
}

/// The path and message of the one violation.
fn refused(design: &Design) -> (String, String) {
    let violations = Frame::new(design).expect_err("a violation");
    assert_eq!(violations.len(), 1, "{violations:?}");
    (violations[0].path.clone(), violations[0].message.clone())
}

#[test]
fn what_is_changed_below_is_sound() {
    assert!(findings(&two_members()).faults.is_empty());
}

/// A design came in over the wire that could not be written as a file: its reader refuses this.
#[test]
fn two_members_that_carry_each_other() {
    let mut design = two_members();
    design.joints.push(build::joint("J2", ("M1", 300.0), ("M2", 0.0), Hold::Rigid, Axes::Vehicle));
    let (path, message) = refused(&design);
    assert_eq!(path, "joints[1].on");
    assert_eq!(message, "`M1` lies on `M2`, and `M2` on `M1` in joints[0]");
}

/// The same: a member under a deck counted twice.
#[test]
fn a_member_twice_under_a_deck() {
    let mut design = two_members();
    let carried_by = ["M1", "M1"].map(str::to_owned).to_vec();
    design.decks.push(Deck { tag: "D1".into(), carried_by, ..Deck::default() });
    assert_eq!(refused(&design), ("decks[0].carried_by[1]".into(), "`M1` carries deck `D1` twice".into()));
}

/// Numbers that no design file can hold.
#[test]
fn numbers_beyond_measure() {
    let mut rolled = two_members();
    rolled.members[0].roll_deg = -6.8e245;
    assert_eq!(refused(&rolled).0, "members[0].roll");
    let mut moved = two_members();
    moved.anchors[0].settlement[2] = 1.1e18;
    assert_eq!(refused(&moved).0, "anchors[0].settlement");
    let mut notched = two_members();
    notched.members[0].notches.push(Notch { to_mm: 1.6e109, depth_mm: 10.0, ..Notch::default() });
    assert_eq!(refused(&notched).0, "members[0].notches[0].to");
    let mut deep = two_members();
    deep.members[0].notches.push(Notch { to_mm: 50.0, depth_mm: 1.6e109, ..Notch::default() });
    assert_eq!(refused(&deep).0, "members[0].notches[0].depth");
    let mut drilled = two_members();
    drilled.members[0].holes.push(Hole { at_mm: 50.0, diameter_mm: 1.6e109, ..Hole::default() });
    assert_eq!(refused(&drilled).0, "members[0].holes[0].diameter");
}

/// The centre of masses that are next to nothing was infinite, and the findings could not be read again.
#[test]
fn next_to_no_mass() {
    let mut design = two_members();
    design.stock[0].material = Material::Given { e_n_mm2: 9_000.0, g_n_mm2: 560.0, density_kg_m3: 1e-313 };
    let weight = findings(&design).weight;
    assert!(weight.total_kg > 0.0 && weight.total_kg < 1e-308, "{}", weight.total_kg);
    assert!(weight.centre_mm.iter().all(|part| part.is_finite()), "{:?}", weight.centre_mm);
}

/// A pressure on no length at all was infinite.
#[test]
fn next_to_no_contact() {
    let mut anchored = two_members();
    anchored.anchors[0].contact_mm = Some(2.1e-314);
    assert_eq!(refused(&anchored).0, "anchors[0].bearing");
    let mut joined = two_members();
    joined.joints[0].contact_mm = Some([45.0, 0.01]);
    assert_eq!(refused(&joined).0, "joints[0].bearing[1]");
}

/// The residual of a frame that follows a forced movement without stress was noise over noise.
#[test]
fn a_movement_that_stresses_nothing() {
    let mut design = two_members();
    design.anchors[0].settlement[5] = 0.002;
    let findings = findings(&design);
    assert!(!findings.combinations.is_empty());
    for combination in &findings.combinations {
        assert!((0.0..1e-9).contains(&combination.residual), "{combination:?}");
    }
}
