//! Small frames for the unit tests beside this file.
#![allow(clippy::unwrap_used, reason = "a failed test may panic")]

use crate::design::{Anchor, Design, Frame, Grading, Hold, Joint, Material, Member, Section, Stock, Vector};

/// Tag, stock and ends of a member.
pub type Straight<'a> = (&'a str, &'a str, Vector, Vector);

/// Members of 45 x 70 of C24, GL24h, S235 or stuff given by its stiffness, and 12 x 70 of sheet; the first is fixed at
/// its start.
pub fn design(members: &[Straight<'_>]) -> Design {
    let stock = |name: &str, material: Material, width_mm: f64| Stock {
        name: name.into(),
        section: Section::Rectangle { width_mm, depth_mm: 70.0 },
        material,
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    };
    let class = |name: &str| stock(name, Material::Class(name.into()), 45.0);
    let given = Material::Given { e_n_mm2: 9_000.0, g_n_mm2: 600.0, density_kg_m3: 500.0 };
    let member = |(tag, stock, from, to): &Straight<'_>| Member {
        tag: (*tag).into(),
        kind: "bearer".into(),
        stock: (*stock).into(),
        from: *from,
        to: *to,
        ..Member::default()
    };
    Design {
        name: "small".into(),
        title: "Small".into(),
        stock: vec![
            class("C24"),
            class("GL24h"),
            class("S235"),
            stock("given", given, 45.0),
            stock("sheet", Material::Class("birch plywood".into()), 12.0),
        ],
        members: members.iter().map(member).collect(),
        anchors: vec![anchor(members[0].0, 0.0, Hold::Rigid)],
        ..Design::default()
    }
}

/// An anchor to the body.
pub fn anchor(member: &str, at_mm: f64, hold: Hold) -> Anchor {
    Anchor { member: member.into(), at_mm, to: "body".into(), hold, ..Anchor::default() }
}

/// A rigid joint where the members are nearest to one another.
pub fn rigid_joint(member: &str, on: &str) -> Joint {
    Joint { member: member.into(), on: on.into(), hold: Hold::Rigid, ..Joint::default() }
}

/// The frame of a design that is sound.
pub fn frame(design: &Design) -> Frame {
    Frame::new(design).unwrap()
}

/// A rail along x, a bearer of the other stock across it on top.
pub fn crossing(rail: &str, bearer: &str) -> Frame {
    let mut design = design(&[
        ("R", rail, [1_000.0, 0.0, 0.0], [2_000.0, 0.0, 0.0]),
        ("B", bearer, [1_500.0, -400.0, 70.0], [1_500.0, 400.0, 70.0]),
    ]);
    design.joints = vec![rigid_joint("B", "R")];
    frame(&design)
}
