//! Whatever the engine can say goes to the wire, through its bytes and back unchanged; what the wire lacks is named.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod any_design;
mod any_findings;
mod any_stability;

use super::*;
use crate::v1::{hold, load, section};
use proptest::prelude::*;
use prost::Message;

/// Through bytes, as between two programs.
fn over_the_wire<M: Message + Default>(message: &M) -> M {
    M::decode(message.encode_to_vec().as_slice()).unwrap()
}

/// Bit for bit, so that the last digit and an infinity count; `Debug` writes the shortest text that reads back.
fn same<T: std::fmt::Debug>(left: &T, right: &T) -> bool {
    format!("{left:?}") == format!("{right:?}")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_design_comes_back_as_it_was(design in any_design::design()) {
        let wire = over_the_wire(&frame_to_wire(&design));
        let back = frame_from_wire(wire).unwrap();
        prop_assert!(same(&back, &design), "{back:?}\n{design:?}");
    }

    #[test]
    fn findings_come_back_as_they_were(findings in any_findings::findings()) {
        let wire = over_the_wire(&findings_to_wire(&findings));
        let back = findings_from_wire(wire).unwrap();
        prop_assert!(same(&back, &findings), "{back:?}\n{findings:?}");
    }
}

fn paths(faults: &[Violation]) -> Vec<&str> {
    faults.iter().map(|fault| fault.path.as_str()).collect()
}

#[test]
fn all_faults_of_a_frame_are_named_at_once() {
    let frame = v1::Frame {
        stock: vec![v1::Stock {
            section: Some(v1::Section { shape: None }),
            material: Some(v1::Material { kind: None }),
            grading: 9,
            ..v1::Stock::default()
        }],
        members: vec![v1::Member { from: Some(v1::Point::default()), ..v1::Member::default() }, v1::Member::default()],
        joints: vec![v1::Joint {
            hold: Some(v1::Hold {
                hold: Some(hold::Hold::Given(v1::GivenHold {
                    x: Some(v1::DirectionGrip { grip: Some(v1::direction_grip::Grip::Simple(0)) }),
                    y: Some(v1::DirectionGrip { grip: Some(v1::direction_grip::Grip::SpringNPerMm(1.0)) }),
                    z: Some(v1::DirectionGrip { grip: None }),
                    ..v1::GivenHold::default()
                })),
            }),
            ..v1::Joint::default()
        }],
        loads: vec![
            v1::Load { action: 1, what: None, ..v1::Load::default() },
            v1::Load {
                action: 1,
                what: Some(load::What::Line(v1::LineLoad { axes: 1, ..v1::LineLoad::default() })),
                ..v1::Load::default()
            },
        ],
        settings: Some(v1::Settings { service_class: Some(256), ..v1::Settings::default() }),
        ..v1::Frame::default()
    };
    let faults = frame_from_wire(frame).unwrap_err();
    assert_eq!(
        paths(&faults),
        [
            "vehicle",
            "stock[0].section",
            "stock[0].material",
            "stock[0].grading",
            "members[0].to",
            "members[1].from",
            "members[1].to",
            "joints[0].hold.given.x.simple",
            "joints[0].hold.given.z",
            "joints[0].hold.given.turn_x",
            "joints[0].hold.given.turn_y",
            "joints[0].hold.given.turn_z",
            "joints[0].axes",
            "loads[0].what",
            "loads[1].line.start",
            "loads[1].line.end",
            "settings.service_class",
        ]
    );
    let messages: Vec<String> = faults.iter().map(|fault| fault.message.clone()).collect();
    assert_eq!(messages[0], "is missing");
    assert_eq!(messages[3], "9 is no value that this program knows");
    assert_eq!(messages[7], "is unspecified");
    assert_eq!(messages[16], "256 is out of range");
}

#[test]
fn what_may_be_left_out_has_its_default() {
    let frame = v1::Frame {
        vehicle: Some(v1::Vehicle::default()),
        anchors: vec![v1::Anchor {
            hold: Some(v1::Hold { hold: Some(hold::Hold::Simple(v1::SimpleHold::Pinned.into())) }),
            axes: v1::Axes::Vehicle.into(),
            ..v1::Anchor::default()
        }],
        loads: vec![v1::Load {
            action: v1::Action::Stowage.into(),
            what: Some(load::What::Point(v1::PointLoad { axes: 1, ..v1::PointLoad::default() })),
            ..v1::Load::default()
        }],
        ..v1::Frame::default()
    };
    let design = frame_from_wire(frame).unwrap();
    assert!(same(&design.settings, &battenboard_engine::design::Settings::default()));
    assert!(same(&design.anchors[0].settlement, &[0.0; 6]));
}

#[test]
fn a_frame_for_the_first_survey_after_the_last_is_refused() {
    for survey in [-1, i64::from(u32::MAX) + 1] {
        let vehicle = Some(v1::Vehicle { survey, ..v1::Vehicle::default() });
        let faults = frame_from_wire(v1::Frame { vehicle, ..v1::Frame::default() }).unwrap_err();
        assert_eq!(paths(&faults), ["vehicle.survey"]);
    }
}

#[test]
fn numbers_that_are_not_finite_pass_to_the_engine_untouched() {
    for number in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MIN_POSITIVE, 5e-324, 0.1 + 0.2] {
        let mut wire = frame_to_wire(&Design::default());
        let shape = section::Shape::Round(v1::RoundSection { diameter_mm: number });
        wire.stock = vec![v1::Stock {
            section: Some(v1::Section { shape: Some(shape) }),
            material: Some(v1::Material { kind: Some(v1::material::Kind::Class("C16".into())) }),
            grading: v1::Grading::Stamped.into(),
            ..v1::Stock::default()
        }];
        let design = frame_from_wire(over_the_wire(&wire)).unwrap();
        let battenboard_engine::design::Section::Round { diameter_mm } = design.stock[0].section else {
            unreachable!("a round section was sent")
        };
        assert_eq!(diameter_mm.to_bits(), number.to_bits());
    }
}

#[test]
fn findings_of_a_newer_engine_are_refused_by_path() {
    let mut wire = findings_to_wire(&any_findings::plain());
    wire.not_checked = vec![v1::NotChecked { tag: "B3".into(), what: 9999 }];
    wire.faults = vec![v1::Fault { fault: None }];
    wire.equations = Some(v1::Equations { unknowns: -1, ..v1::Equations::default() });
    let faults = findings_from_wire(wire).unwrap_err();
    assert_eq!(paths(&faults), ["faults[0]", "not_checked[0].what", "equations.unknowns"]);
}

#[test]
fn counts_beyond_the_wire_stop_at_its_end() {
    let mut findings = any_findings::plain();
    findings.equations.unknowns = u64::MAX;
    let wire = findings_to_wire(&findings);
    assert_eq!(wire.equations.unwrap().unknowns, i64::MAX);
}
