//! Weightless posts, given by their stiffness alone, for the tests of the statics.
#![allow(clippy::panic, clippy::expect_used, reason = "a failed test may panic")]

use super::solve::{Analysis, analyse};
use crate::design::{
    Action, Anchor, Axes, Design, Frame, GivenSection, Grading, Grip, Hold, Load, LoadKind, Material, Member, Section,
    Stock, Vector,
};
use std::f64::consts::PI;

/// Length of a post, mm.
pub const LENGTH: f64 = 1800.0;
/// E I for bending along the vehicle's y, N mm².
pub const WEAK: f64 = 11_000.0 * 700_000.0;
/// E I for bending along its x: depth lies along x in a vertical member.
pub const STRONG: f64 = 4.0 * WEAK;
/// Euler's load of a post on pins: pi² E I/l².
pub const EULER: f64 = PI * PI * WEAK / (LENGTH * LENGTH);

/// A design with one stock and no member.
pub fn blank() -> Design {
    let section = GivenSection {
        area_mm2: 4000.0,
        iy_mm4: 2_800_000.0,
        iz_mm4: 700_000.0,
        j_mm4: 2_000_000.0,
        ..GivenSection::default()
    };
    let stock = Stock {
        name: "s".into(),
        section: Section::Given(section),
        material: Material::Given { e_n_mm2: 11_000.0, g_n_mm2: 690.0, density_kg_m3: 0.0 },
        grading: Grading::Measured,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    };
    Design { name: "posts".into(), title: "Posts".into(), stock: vec![stock], ..Design::default() }
}

/// Adds a straight member.
pub fn member(design: &mut Design, tag: &str, from: Vector, to: Vector) {
    let member = Member { tag: tag.into(), kind: "post".into(), stock: "s".into(), from, to, ..Member::default() };
    design.members.push(member);
}

/// Adds an anchor.
pub fn anchor(design: &mut Design, member: &str, at_mm: f64, hold: Hold) {
    let to = format!("floor under {member} at {at_mm}");
    let anchor = Anchor { member: member.into(), at_mm, to, hold, axes: Axes::Vehicle, ..Anchor::default() };
    design.anchors.push(anchor);
}

/// Adds a post that stands at `x` with these holds of its foot and, if any, its head.
pub fn stand(design: &mut Design, tag: &str, x: f64, foot: Hold, head: Option<Hold>) {
    member(design, tag, [x, 0.0, 0.0], [x, 0.0, LENGTH]);
    anchor(design, tag, 0.0, foot);
    if let Some(head) = head {
        anchor(design, tag, LENGTH, head);
    }
}

/// Adds a force and a moment, vehicle axes.
pub fn load(design: &mut Design, case: &str, member: &str, at_mm: f64, force_n: Vector, moment_n_mm: Vector) {
    let what = LoadKind::Point { member: member.into(), at_mm, force_n, moment_n_mm, axes: Axes::Vehicle };
    design.loads.push(Load { case: case.into(), action: Action::Permanent, what });
}

/// Adds a weight on a post's head.
pub fn press(design: &mut Design, case: &str, member: &str, newtons: f64) {
    load(design, case, member, LENGTH, [0.0, 0.0, -newtons], [0.0; 3]);
}

/// A hold that is rigid but for these directions (0 to 5: along and about x, y, z).
pub fn free_in(directions: &[usize]) -> Hold {
    let mut grips = [Grip::Rigid; 6];
    directions.iter().for_each(|direction| grips[*direction] = Grip::Free);
    Hold::Given(grips)
}

/// A rigid foot but for its turns about x and y, which give like springs, N mm/rad.
pub fn springy(about_x: f64, about_y: f64) -> Hold {
    let mut grips = [Grip::Rigid; 6];
    (grips[3], grips[4]) = (Grip::Spring(about_x), Grip::Spring(about_y));
    Hold::Given(grips)
}

/// The frame of a design.
pub fn frame(design: &Design) -> Frame {
    Frame::new(design).unwrap_or_else(|violations| panic!("{violations:?}"))
}

/// It solved.
pub fn solved(frame: &Frame) -> Analysis<'_> {
    let analysis = analyse(frame, &|| false).expect("nothing stops it");
    assert!(analysis.faults.is_empty(), "{:?}", analysis.faults);
    analysis
}

/// Terms of a combination from the names of its cases.
pub fn terms(analysis: &Analysis<'_>, named: &[(&str, f64)]) -> Vec<(usize, f64)> {
    let index = |name: &str| analysis.cases.iter().position(|case| case.name == name).expect("such a case");
    named.iter().map(|(name, factor)| (index(name), *factor)).collect()
}
