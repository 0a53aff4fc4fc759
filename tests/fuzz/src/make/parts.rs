//! Joints, anchors, notches and holes.

use super::Chance;
use super::shapes::length;
use battenboard_engine::design::{Anchor, Axes, Design, Face, Grip, Hold, Hole, Joint, Member, Notch};

/// Further joints between members that may or may not touch, and further anchors.
pub fn extra(design: &mut Design, chance: &mut Chance<'_>) {
    for _ in 0..chance.below(3) {
        let (member, on) = (chance.below(design.members.len()), chance.below(design.members.len()));
        design.joints.push(Joint {
            tag: Some(format!("J{}", design.joints.len())),
            member: design.members[member].tag.clone(),
            on: design.members[on].tag.clone(),
            at_mm: chance.maybe(40, &[0.0, 150.0, 300.0]),
            on_at_mm: chance.maybe(40, &[0.0, 150.0, 300.0]),
            hold: hold(chance),
            axes: axes(chance),
            contact_mm: contact(chance),
        });
    }
    for _ in 0..chance.below(3) {
        let member = chance.below(design.members.len());
        let whole = length(&design.members[member]);
        let share = chance.pick(&[1.0, 0.0, 0.5, 0.25, 0.9]);
        anchor(design, chance, member, share * whole, whole);
    }
}

/// An anchor of a member at a place, now and then at another.
pub fn anchor(design: &mut Design, chance: &mut Chance<'_>, member: usize, at_mm: f64, whole: f64) {
    let hold = match chance.below(4) {
        0 | 1 => Hold::Rigid,
        2 => Hold::Pinned,
        _ => hold(chance),
    };
    let mut settlement = [0.0; 6];
    if chance.percent(8) {
        settlement[chance.below(6)] = chance.number(&[-3.0, 0.002, 5.0]);
    }
    design.anchors.push(Anchor {
        tag: Some(format!("A{}", design.anchors.len())),
        member: design.members[member].tag.clone(),
        at_mm: chance.number(&[at_mm, at_mm, at_mm, 0.5 * whole]),
        to: "floor".into(),
        hold,
        axes: axes(chance),
        settlement,
        contact_mm: chance.maybe(15, &[45.0, 20.0, 90.0]),
    });
}

/// Lengths of touching faces, seldom stated.
pub fn contact(chance: &mut Chance<'_>) -> Option<[f64; 2]> {
    chance.percent(12).then(|| [chance.number(&[45.0, 20.0]), chance.number(&[45.0, 70.0])])
}

fn axes(chance: &mut Chance<'_>) -> Axes {
    chance.pick(&[Axes::Vehicle, Axes::Member])
}

/// Any hold.
pub fn hold(chance: &mut Chance<'_>) -> Hold {
    match chance.below(6) {
        0 | 1 => Hold::Rigid,
        2 => Hold::Seated,
        3 => Hold::Pinned,
        _ => Hold::Given(std::array::from_fn(|direction| grip(chance, direction))),
    }
}

fn grip(chance: &mut Chance<'_>, direction: usize) -> Grip {
    let usual: &[f64] = if direction < 3 { &[1e3, 1e2, 3e4] } else { &[1e7, 1e6, 1e9] };
    match chance.below(5) {
        0..=2 => Grip::Rigid,
        3 => Grip::Free,
        _ => Grip::Spring(chance.number(usual)),
    }
}

/// A notch or a hole, seldom.
pub fn cuts(member: &mut Member, chance: &mut Chance<'_>, whole: f64) {
    if chance.percent(12) {
        let from_mm = chance.number(&[0.0, 0.5 * whole, whole - 40.0]);
        member.notches.push(Notch {
            from_mm,
            to_mm: from_mm + chance.number(&[40.0, 100.0, 20.0]),
            depth_mm: chance.number(&[10.0, 20.0, 5.0]),
            face: chance.pick(&[Face::Lower, Face::Upper, Face::Left, Face::Right]),
            slope: chance.number(&[0.0, 2.0, 4.0]),
        });
    }
    if chance.percent(12) {
        member.holes.push(Hole {
            at_mm: chance.number(&[0.5 * whole, 60.0, 0.0]),
            diameter_mm: chance.number(&[8.0, 12.0, 25.0]),
            through_depth: chance.percent(50),
            off_mm: chance.number(&[0.0, 5.0, -10.0]),
        });
    }
}
