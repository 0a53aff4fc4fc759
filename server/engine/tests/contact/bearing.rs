//! Bearing in whole frames.

use crate::small::*;
use battenboard_engine::design::{Design, Hold, Joint};
use battenboard_engine::findings::{AssumptionCode, CheckKind, Unchecked};

/// Two rails on anchors and a bearer across them, pushed at its middle.
fn platform(push_n: f64) -> Design {
    let mut design = frame(vec![
        member("R", [0.0, 0.0, 0.0], [1000.0, 0.0, 0.0]),
        member("S", [0.0, 600.0, 0.0], [1000.0, 600.0, 0.0]),
        member("B", [500.0, -100.0, 66.5], [500.0, 700.0, 66.5]),
    ]);
    design.members[2].stock = "38x63".into();
    design.joints = vec![joint("B", "R"), joint("B", "S")];
    for rail in ["R", "S"] {
        design.anchors.extend([0.0, 1000.0].map(|at| anchor(rail, at, Hold::Rigid)));
    }
    design.loads = vec![force("B", 400.0, [0.0, 0.0, -push_n])];
    design
}

#[test]
fn both_timbers_are_pressed_by_the_same_force() {
    let found = findings(&platform(2000.0));
    let (bearer, rail) =
        (find(&found, "B", CheckKind::Bearing).unwrap(), find(&found, "R", CheckKind::Bearing).unwrap());
    // Half of 1.5 x 2000 N and a little own weight.
    let press = factor(bearer, "F");
    assert!((1500.0..1520.0).contains(&press), "{press}");
    close(factor(rail, "F"), press, 1e-9);
    // By hand: l_ef = 45 + 2 x 30 along the bearer, 38 + 2 x 30 along the rail; short term, f_c,90,d = 0.9 x 2.5/1.3.
    close(bearer.demand, press / (105.0 * 38.0), 1e-9);
    close(rail.demand, press / (98.0 * 45.0), 1e-9);
    // The bearer lies on single supports far apart: 1.5; the rail carries: 1.
    close(bearer.resistance, 1.5 * 0.9 * 2.5 / 1.3, 1e-12);
    close(rail.resistance, 0.9 * 2.5 / 1.3, 1e-12);
    close(rail.at_mm, 500.0, 1e-12);
}

#[test]
fn what_is_pulled_up_does_not_press() {
    let found = findings(&platform(-2000.0));
    let rail = find(&found, "R", CheckKind::Bearing).unwrap();
    assert!(!rail.combination.contains("push"), "{}", rail.combination);
    assert!(factor(rail, "F") < 20.0);
}

#[test]
fn a_joint_beside_has_no_bearing_by_its_load() {
    // The bearer's end lies against the side of a post that stands beside it.
    let mut design = frame(vec![
        member("P", [0.0, 0.0, 0.0], [0.0, 0.0, 500.0]),
        member("Q", [1000.0, 0.0, 0.0], [1000.0, 0.0, 500.0]),
        member("R", [-100.0, 45.0, 400.0], [1100.0, 45.0, 400.0]),
    ]);
    design.joints = vec![joint("R", "P"), joint("R", "Q")];
    design.anchors = vec![anchor("P", 0.0, Hold::Rigid), anchor("Q", 0.0, Hold::Rigid)];
    design.loads = vec![force("R", 600.0, [0.0, 0.0, -1000.0])];
    let found = findings(&design);
    for tag in ["P", "Q", "R"] {
        if let Some(check) = find(&found, tag, CheckKind::Bearing) {
            assert!(factor(check, "F") < 100.0, "{check:?}");
        }
    }
    assert!(!found.not_checked.iter().any(|left| left.what == Unchecked::Bearing), "{:?}", found.not_checked);
}

#[test]
fn stated_contact_counts_and_an_unknown_one_is_said() {
    let mut design = platform(2000.0);
    design.joints[0] = Joint { contact_mm: Some([20.0, 38.0]), ..joint("B", "R") };
    let found = findings(&design);
    let bearer = find(&found, "B", CheckKind::Bearing).unwrap();
    assert_eq!(factor(bearer, "l"), 20.0);
    // What the fibres add is no more than the contact's own length on each side.
    assert_eq!(factor(bearer, "l_ef"), 60.0);
    let by_size: Vec<&str> = found
        .assumptions
        .iter()
        .filter(|assumption| assumption.code == AssumptionCode::ContactLength)
        .flat_map(|assumption| assumption.about.iter().map(String::as_str))
        .collect();
    assert_eq!(by_size, ["S/B"]);
    // The rails' anchors say nothing of a contact.
    let open: Vec<&str> =
        found.not_checked.iter().filter(|left| left.what == Unchecked::Bearing).map(|left| left.tag.as_str()).collect();
    assert_eq!(open, ["R", "S"]);
}

#[test]
fn an_anchor_with_a_known_contact_is_judged() {
    let mut design = beam([0.0, 0.0, -2000.0]);
    design.anchors.iter_mut().for_each(|anchor| anchor.contact_mm = Some(60.0));
    let found = findings(&design);
    let check = find(&found, "M", CheckKind::Bearing).unwrap();
    // At the end only the inner 30 mm are added; single supports 1.5.
    assert_eq!((factor(check, "l_ef"), factor(check, "k_c,90")), (90.0, 1.5));
    close(check.demand, factor(check, "F") / (90.0 * 45.0), 1e-12);
    assert!((1500.0..1530.0).contains(&factor(check, "F")));
    assert!(!found.not_checked.iter().any(|left| left.what == Unchecked::Bearing));
}

#[test]
fn a_load_right_over_a_post_leaves_the_plain_strength() {
    let mut design = frame(vec![
        member("P", [500.0, 0.0, -435.0], [500.0, 0.0, -35.0]),
        member("R", [0.0, 0.0, 0.0], [1000.0, 0.0, 0.0]),
        member("B", [500.0, -100.0, 70.0], [500.0, 100.0, 70.0]),
    ]);
    design.joints =
        vec![Joint { hold: Hold::Rigid, ..joint("R", "P") }, Joint { hold: Hold::Rigid, ..joint("B", "R") }];
    design.anchors = vec![anchor("P", 0.0, Hold::Rigid)];
    design.loads = vec![force("B", 100.0, [0.0, 0.0, -1000.0])];
    let found = findings(&design);
    let rail = find(&found, "R", CheckKind::Bearing).unwrap();
    assert_eq!(factor(rail, "k_c,90"), 1.0);
    let post = find(&found, "P", CheckKind::Bearing).unwrap();
    assert_eq!(post.clause, "EN 1995-1-1 6.1.4 (6.2)");
}
