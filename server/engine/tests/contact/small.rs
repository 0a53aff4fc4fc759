//! Small frames of C24 timber, 45 x 70 unless said otherwise.

use battenboard_engine::design::*;
use battenboard_engine::findings::{Check, CheckKind, Findings};
use battenboard_engine::{Ask, check};

pub fn stock(name: &str, width_mm: f64, depth_mm: f64, class: &str) -> Stock {
    Stock {
        name: name.into(),
        section: Section::Rectangle { width_mm, depth_mm },
        material: Material::Class(class.into()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    }
}

pub fn member(tag: &str, from: Vector, to: Vector) -> Member {
    Member { tag: tag.into(), kind: "rail".into(), stock: "45x70".into(), from, to, ..Member::default() }
}

pub fn joint(member: &str, on: &str) -> Joint {
    Joint { member: member.into(), on: on.into(), ..Joint::default() }
}

pub fn anchor(member: &str, at_mm: f64, hold: Hold) -> Anchor {
    Anchor { member: member.into(), at_mm, to: "floor".into(), hold, ..Anchor::default() }
}

/// A force of a short-term case, vehicle axes, N.
pub fn force(member: &str, at_mm: f64, force_n: Vector) -> Load {
    Load {
        case: "push".into(),
        action: Action::Moving,
        what: LoadKind::Point { member: member.into(), at_mm, force_n, moment_n_mm: [0.0; 3], axes: Axes::Vehicle },
    }
}

pub fn frame(members: Vec<Member>) -> Design {
    Design {
        name: "small".into(),
        title: "Small".into(),
        stock: vec![stock("45x70", 45.0, 70.0, "C24"), stock("38x63", 38.0, 63.0, "C24")],
        members,
        ..Design::default()
    }
}

/// A beam of 2 m along x on two anchors, pushed at its middle.
pub fn beam(push_n: Vector) -> Design {
    let mut design = frame(vec![member("M", [0.0; 3], [2000.0, 0.0, 0.0])]);
    design.anchors = vec![anchor("M", 0.0, Hold::Seated), anchor("M", 2000.0, Hold::Seated)];
    design.loads = vec![force("M", 1000.0, push_n)];
    design
}

pub fn findings(design: &Design) -> Findings {
    let frame = Frame::new(design).unwrap_or_else(|violations| panic!("{violations:#?}"));
    check(&frame, Ask::default(), &|| false).unwrap()
}

pub fn find<'f>(findings: &'f Findings, tag: &str, kind: CheckKind) -> Option<&'f Check> {
    findings.checks.iter().find(|check| check.tag == tag && check.kind == kind)
}

pub fn factor(check: &Check, name: &str) -> f64 {
    check.factors.iter().find(|factor| factor.name == name).unwrap_or_else(|| panic!("no {name}: {check:?}")).value
}

pub fn close(found: f64, wanted: f64, relative: f64) {
    assert!((found - wanted).abs() <= relative * wanted.abs().max(1e-12), "found {found}, wanted {wanted}");
}
