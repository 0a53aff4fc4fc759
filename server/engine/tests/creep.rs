//! Parts that creep differently share their load otherwise in the end (EN 1995-1-1 2.2.3(3), 2.3.2.2).
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

use battenboard_engine::design::{Action, Axes, Design, Frame, Grip, Hold, Material};
use battenboard_engine::findings::{CheckKind, Findings};
use battenboard_engine::{Ask, check};

const SPAN: f64 = 2000.0;
const LOAD: f64 = 1000.0;

/// A timber beam of C24 lying across the middle of nothing but a second beam of the same span under it, tied to it at
/// midspan in z alone; the load acts on the timber. `second` is the class of the second beam.
fn pair(second: &str, action: Action) -> Findings {
    let mut design: Design = build::blank("pair");
    let of = |name: &str, iy: f64, class: &str| {
        let mut stock = build::stock(name, 1.0, 1.0, build::section(4000.0, iy, 1e6, 1e6));
        stock.material = Material::Class(class.into());
        stock
    };
    design.stock = vec![of("one", 4.0e6, "C24"), of("other", 2.0e5, second)];
    design.members = vec![
        build::member("T", "one", [0.0; 3], [SPAN, 0.0, 0.0]),
        build::member("S", "other", [0.0, 0.0, -100.0], [SPAN, 0.0, -100.0]),
    ];
    for member in ["T", "S"] {
        design.anchors.push(build::anchor(&format!("{member}0"), member, 0.0, build::free_in(&[4, 5])));
        design.anchors.push(build::anchor(&format!("{member}1"), member, SPAN, build::free_in(&[0, 4, 5])));
    }
    let mut grips = [Grip::Free; 6];
    grips[2] = Grip::Rigid;
    let half = SPAN / 2.0;
    design.joints.push(build::joint("tie", ("S", half), ("T", half), Hold::Given(grips), Axes::Vehicle));
    let mut load = build::point_load(build::CASE, "T", half, [0.0, 0.0, -LOAD], [0.0; 3]);
    load.action = action;
    design.loads.push(load);
    let frame = Frame::new(&design).unwrap_or_else(|violations| panic!("{violations:?}"));
    check(&frame, Ask::default(), &|| false).unwrap()
}

fn sag(findings: &Findings, kind: CheckKind) -> f64 {
    findings.checks.iter().find(|c| c.tag == "T" && c.kind == kind).unwrap().demand
}

/// By hand: two springs k = 48 E I/l³ side by side; in the end the timber's is k/(1 + k_def), k_def = 0.8 (solid timber,
/// service class 2, EN 1995-1-1 table 3.2), the steel's stays. Own weight is taken out as the difference of two loads.
#[test]
fn timber_beside_steel_hands_its_load_over() {
    let timber = 48.0 * 11_000.0 * 4.0e6 / SPAN.powi(3);
    let steel = 48.0 * 210_000.0 * 2.0e5 / SPAN.powi(3);
    let findings = pair("S235", Action::Permanent);
    // The weights: A rho g, spread, 5/8 of each as a load at the middle of its own beam (5/384 against 1/48).
    let weight = |rho: f64| 0.625 * 4000.0 * SPAN * 1e-9 * rho * 9.80665;
    let load = LOAD + weight(420.0) + weight(7850.0);
    let (at_once, at_last) = (load / (timber + steel), load / (timber / 1.8 + steel));
    let close = |found: f64, expected: f64| {
        assert!((found - expected).abs() < 1e-3 * expected, "{found} instead of {expected}");
    };
    close(sag(&findings, CheckKind::SagInstant), at_once);
    close(sag(&findings, CheckKind::SagFinal), at_last);
    assert!(findings.combinations.iter().any(|c| c.name.ends_with("; in the end")));
}

/// A load that comes and goes (lying, psi_2 = 0.3): at once as at the begin, and 0.3 of it creeps: w = (G + Q)/K_0 +
/// (G + 0.3 Q)(1/K_end - 1/K_0).
#[test]
fn a_passing_load_creeps_by_its_lasting_part() {
    let timber = 48.0 * 11_000.0 * 4.0e6 / SPAN.powi(3);
    let steel = 48.0 * 210_000.0 * 2.0e5 / SPAN.powi(3);
    let findings = pair("S235", Action::Lying);
    let weight = |rho: f64| 0.625 * 4000.0 * SPAN * 1e-9 * rho * 9.80665;
    let (dead, live) = (weight(420.0) + weight(7850.0), LOAD);
    let (begin, end) = (1.0 / (timber + steel), 1.0 / (timber / 1.8 + steel));
    let expected = (dead + live) * begin + (dead + 0.3 * live) * (end - begin);
    let found = sag(&findings, CheckKind::SagFinal);
    assert!((found - expected).abs() < 1e-3 * expected, "{found} instead of {expected}");
}

/// Where all parts are of one kind the end is the begin times 1 + k_def, and no combination is doubled.
#[test]
fn parts_that_creep_alike_need_no_second_state() {
    let findings = pair("C24", Action::Permanent);
    let ratio = sag(&findings, CheckKind::SagFinal) / sag(&findings, CheckKind::SagInstant);
    assert!((ratio - 1.8).abs() < 1e-9, "{ratio}");
    assert!(!findings.combinations.iter().any(|c| c.name.ends_with("; in the end")));
}
