//! Notches and holes in whole frames; sums by hand.

use crate::small::*;
use battenboard_engine::design::{Design, Face, Hole, Notch};
use battenboard_engine::findings::{Check, CheckKind, Findings, Unchecked};

fn notch(from_mm: f64, to_mm: f64, depth_mm: f64, face: Face) -> Notch {
    Notch { from_mm, to_mm, depth_mm, face, slope: 0.0 }
}

fn notched(push_n: f64, notches: Vec<Notch>) -> Design {
    let mut design = beam([0.0, 0.0, -push_n]);
    design.members[0].notches = notches;
    design
}

fn drilled(push_n: f64, holes: Vec<Hole>) -> Design {
    let mut design = beam([0.0, 0.0, -push_n]);
    design.members[0].holes = holes;
    design
}

fn the_notch(findings: &Findings) -> &Check {
    find(findings, "M", CheckKind::Notch).unwrap()
}

fn is_open(findings: &Findings) -> bool {
    findings.not_checked.iter().any(|left| left.what == Unchecked::Notches)
}

/// f_v,d of C24, short term (k_mod 0.9, gamma_M 1.3).
const F_V_D: f64 = 0.9 * 4.0 / 1.3;

#[test]
fn nothing_cut_nothing_asked() {
    let found = findings(&beam([0.0, 0.0, -1000.0]));
    assert!(find(&found, "M", CheckKind::Notch).is_none() && find(&found, "M", CheckKind::Hole).is_none());
    assert!(!is_open(&found));
}

#[test]
fn a_notch_at_the_support_opens() {
    // 12 of 70 off the lower face for 40 mm. By hand: alpha = 58/70 = 0.828571, x = 40;
    // sqrt(a(1 - a)) = 0.376883; 0.8 x/h sqrt(1/a - a²) = 0.457143 x 0.721364 = 0.329766;
    // k_v = 5/(8.366600 x 0.706649) = 0.845701.
    let found = findings(&notched(2000.0, vec![notch(0.0, 40.0, 12.0, Face::Lower)]));
    let check = the_notch(&found);
    close(factor(check, "k_v"), 0.845_701, 1e-5);
    let shear = factor(check, "V");
    assert!((1500.0..1520.0).contains(&shear), "{shear}");
    close(check.demand, 1.5 * shear / (0.67 * 45.0 * 58.0), 1e-9);
    close(check.resistance, 0.845_701 * F_V_D, 1e-5);
    assert_eq!((check.at_mm, check.clause.as_str()), (40.0, "EN 1995-1-1 6.5.2 (6.60)"));
    assert!(!is_open(&found));
}

#[test]
fn on_the_far_side_only_the_depth_is_less() {
    // (6.61): k_v = 1, shear on 58 of 70.
    let found = findings(&notched(2000.0, vec![notch(0.0, 40.0, 12.0, Face::Upper)]));
    let check = the_notch(&found);
    assert!(check.clause.ends_with("(6.13), net section (5.2)"), "{}", check.clause);
    let shear = check.forces.vz_n.abs();
    assert!((1500.0..1530.0).contains(&shear));
    close(check.demand, 1.5 * shear / (0.67 * 45.0 * 58.0), 1e-9);
    close(check.resistance, F_V_D, 1e-9);
    assert!(!is_open(&found));
}

#[test]
fn pulled_up_the_other_side_opens() {
    let upper = findings(&notched(-2000.0, vec![notch(0.0, 40.0, 12.0, Face::Upper)]));
    close(factor(the_notch(&upper), "k_v"), 0.845_701, 1e-5);
    let lower = findings(&notched(-2000.0, vec![notch(0.0, 40.0, 12.0, Face::Lower)]));
    // Own weight alone still opens the lower one, by next to nothing.
    assert!(the_notch(&lower).clause.ends_with("net section (5.2)"));
}

#[test]
fn both_ends_are_alike() {
    let near = findings(&notched(2000.0, vec![notch(0.0, 40.0, 12.0, Face::Lower)]));
    let far = findings(&notched(2000.0, vec![notch(1960.0, 2000.0, 12.0, Face::Lower)]));
    close(the_notch(&near).utilisation, the_notch(&far).utilisation, 1e-6);
    assert_eq!(the_notch(&far).at_mm, 1960.0);
}

#[test]
fn sideways_as_well() {
    let mut design = beam([0.0, -2000.0, 0.0]);
    // Pushed to the left, the supports push to the right: the left face (-y) opens. Both faces are 45 apart.
    design.members[0].notches = vec![notch(0.0, 40.0, 12.0, Face::Left)];
    let opened = findings(&design);
    let check = the_notch(&opened);
    assert_eq!((factor(check, "h"), factor(check, "h_ef")), (45.0, 33.0));
    assert_eq!(check.clause, "EN 1995-1-1 6.5.2 (6.60)");
    close(check.demand, 1.5 * factor(check, "V") / (0.67 * 70.0 * 33.0), 1e-9);
    design.members[0].notches = vec![notch(0.0, 40.0, 12.0, Face::Right)];
    assert!(the_notch(&findings(&design)).clause.ends_with("net section (5.2)"));
}

#[test]
fn between_supports_what_is_left_is_bent() {
    // In the middle third: W = 45 x 50²/6 = 18 750, M = 1.5 x 1000 x 2000/4 and own weight; k_h = (150/70)^0.2 of the
    // whole depth. The lower face is in tension: splitting is not covered, and said.
    let found = findings(&notched(1000.0, vec![notch(950.0, 1050.0, 20.0, Face::Lower)]));
    let check = the_notch(&found);
    let moment = check.forces.my_n_mm.abs();
    assert!((750_000.0..765_000.0).contains(&moment), "{moment}");
    close(check.demand, moment / 18_750.0, 1e-9);
    close(check.resistance, (150.0_f64 / 70.0).powf(0.2) * 0.9 * 24.0 / 1.3, 1e-9);
    close(check.at_mm, 1000.0, 1e-9);
    assert!(is_open(&found));
}

#[test]
fn on_the_pressed_side_nothing_is_left_open() {
    let found = findings(&notched(1000.0, vec![notch(950.0, 1050.0, 20.0, Face::Upper)]));
    assert!(the_notch(&found).clause.ends_with("net section (5.2)"));
    assert!(!is_open(&found));
}

#[test]
fn a_pull_bends_what_is_left_on_one_side() {
    // A tie with 20 of 70 off: N e with e = 10 about what is left, N/A + N e/W (6.17).
    let mut design = beam([0.0; 3]);
    design.anchors[1].hold = battenboard_engine::design::Hold::Given({
        use battenboard_engine::design::Grip::{Free, Rigid};
        [Free, Rigid, Rigid, Rigid, Free, Free]
    });
    design.loads = vec![force("M", 2000.0, [10_000.0, 0.0, 0.0])];
    design.members[0].notches = vec![notch(500.0, 600.0, 20.0, Face::Upper)];
    let found = findings(&design);
    let check = the_notch(&found);
    let pull = check.forces.n_n;
    close(pull, 15_000.0, 1e-6);
    assert!((check.forces.my_n_mm - pull * 10.0).abs() < 20_000.0, "{:?}", check.forces);
    let strength = |k: f64| 0.9 * k / 1.3;
    let tension = pull / (45.0 * 50.0) / strength(14.5 * (150.0_f64 / 70.0).powf(0.2));
    let bending = check.forces.my_n_mm.abs() / 18_750.0 / strength(24.0 * (150.0_f64 / 70.0).powf(0.2));
    close(check.utilisation, tension + bending, 1e-9);
}

#[test]
fn a_small_hole_in_the_middle_hardly_counts() {
    // 10 across 70: I = 45 (70³ - 10³)/12; the verdict stands on it alone.
    let hole = Hole { at_mm: 1000.0, diameter_mm: 10.0, through_depth: false, off_mm: 0.0 };
    let found = findings(&drilled(1000.0, vec![hole]));
    let check = find(&found, "M", CheckKind::Hole).unwrap();
    close(factor(check, "W_net,y"), 45.0 * (343_000.0 - 1_000.0) / 12.0 / 35.0, 1e-12);
    close(check.demand, check.forces.my_n_mm.abs() / factor(check, "W_net,y"), 1e-9);
    assert!(!is_open(&found));
}

#[test]
fn a_large_hole_is_said_to_need_more() {
    let hole = |diameter_mm, through_depth| Hole { at_mm: 300.0, diameter_mm, through_depth, off_mm: 0.0 };
    assert!(is_open(&findings(&drilled(1000.0, vec![hole(10.6, false)]))));
    assert!(!is_open(&findings(&drilled(1000.0, vec![hole(6.7, true)]))));
    assert!(is_open(&findings(&drilled(1000.0, vec![hole(6.8, true)]))));
}

#[test]
fn a_hole_through_the_depth_takes_width() {
    let hole = Hole { at_mm: 1000.0, diameter_mm: 15.0, through_depth: true, off_mm: 0.0 };
    let found = findings(&drilled(1000.0, vec![hole]));
    let check = find(&found, "M", CheckKind::Hole).unwrap();
    close(factor(check, "W_net,y"), 30.0 * 4_900.0 / 6.0, 1e-12);
    close(factor(check, "A_net"), 30.0 * 70.0, 1e-12);
}
