//! What is cut out of members, and how long they lie on one another: within the timber that is there.

use super::numbers::MEASURE_MAX;
use crate::design::frame::FrameMember;
use crate::design::resolve::Tags;
use crate::design::{CUTS_MAX, Design, Face, Hole, Member, Notch, Violation};

/// Places may lie this far past an end by rounding, mm.
const ROUNDING_MM: f64 = 1e-6;
/// Least depth, diameter and length of contact, as of a section's sizes, mm: stresses on less are no numbers.
const LEAST_MM: f64 = 0.1;
/// Flattest end of a notch: run over rise.
const SLOPE_MAX: f64 = 1_000.0;

/// Checks notches, holes and contact lengths. `members` are the design's, in the same order.
pub fn placed(design: &Design, members: &[FrameMember], tags: &Tags, violations: &mut Vec<Violation>) {
    for (index, (stated, member)) in design.members.iter().zip(members).enumerate() {
        let count = stated.notches.len() + stated.holes.len();
        if count > CUTS_MAX {
            let message = format!("`{}` has {count} notches and holes, at most {CUTS_MAX} are taken", stated.tag);
            violations.push(Violation::new(format!("members[{index}].notches"), message));
            continue;
        }
        notches(stated, member, index, violations);
        for (k, hole) in stated.holes.iter().enumerate() {
            one_hole(hole, member, &format!("members[{index}].holes[{k}]"), violations);
        }
    }
    contacts(design, members, tags, violations);
}

/// The section's size square to a face; `None` where it is not known.
fn size_mm(face: Face, member: &FrameMember) -> Option<f64> {
    match face {
        Face::Lower | Face::Upper => member.section.depth_mm,
        Face::Left | Face::Right => member.section.width_mm,
    }
}

fn notches(stated: &Member, member: &FrameMember, index: usize, violations: &mut Vec<Violation>) {
    let before = violations.len();
    for (k, notch) in stated.notches.iter().enumerate() {
        one_notch(notch, member, &format!("members[{index}].notches[{k}]"), violations);
    }
    if violations.len() > before {
        return;
    }
    for (k, first) in stated.notches.iter().enumerate() {
        for (other, second) in stated.notches.iter().enumerate().skip(k + 1) {
            if let Some(message) = through(first, second, member) {
                let message = format!("{message}, with `notches[{k}]`");
                violations.push(Violation::new(format!("members[{index}].notches[{other}].depth"), message));
            }
        }
    }
}

/// Two notches of opposite faces that meet, in words.
fn through(a: &Notch, b: &Notch, member: &FrameMember) -> Option<String> {
    let opposite = matches!(
        (a.face, b.face),
        (Face::Lower, Face::Upper) | (Face::Upper, Face::Lower) | (Face::Left, Face::Right) | (Face::Right, Face::Left)
    );
    let overlap = a.from_mm < b.to_mm && b.from_mm < a.to_mm;
    let size = size_mm(a.face, member)?;
    let both = a.depth_mm + b.depth_mm;
    (opposite && overlap && both >= size).then(|| format!("{both} mm cut out of {size} mm leave nothing"))
}

fn one_notch(notch: &Notch, member: &FrameMember, path: &str, violations: &mut Vec<Violation>) {
    let mut say = |field: &str, message: String| violations.push(Violation::new(format!("{path}.{field}"), message));
    let length = member.length_mm;
    // Written so that NaN is out of range too.
    if !(notch.from_mm >= -ROUNDING_MM && notch.from_mm < length) {
        say("from", format!("a notch from {} mm is not on a member of {length} mm", notch.from_mm));
    }
    if !(notch.to_mm > notch.from_mm && notch.to_mm <= MEASURE_MAX) {
        say("to", format!("a notch from {} mm to {} mm has no length", notch.from_mm, notch.to_mm));
    }
    let size = size_mm(notch.face, member);
    if !(notch.depth_mm >= LEAST_MM && notch.depth_mm < size.unwrap_or(MEASURE_MAX)) {
        let of = size.map_or_else(String::new, |size| format!(" of {size} mm"));
        say("depth", format!("a notch {} mm deep does not fit the section{of}", notch.depth_mm));
    }
    if !(notch.slope >= 0.0 && notch.slope <= SLOPE_MAX) {
        say("slope", format!("{} is not between 0 and {SLOPE_MAX}", notch.slope));
    }
}

fn one_hole(hole: &Hole, member: &FrameMember, path: &str, violations: &mut Vec<Violation>) {
    let mut say = |field: &str, message: String| violations.push(Violation::new(format!("{path}.{field}"), message));
    let length = member.length_mm;
    if !(hole.at_mm >= 0.0 && hole.at_mm <= length + ROUNDING_MM) {
        say("at", format!("a hole at {} mm is not on a member of {length} mm", hole.at_mm));
    }
    if !(hole.diameter_mm >= LEAST_MM && hole.diameter_mm <= MEASURE_MAX) {
        say("diameter", format!("a hole of {} mm is none", hole.diameter_mm));
    } else {
        let size = if hole.through_depth { member.section.width_mm } else { member.section.depth_mm };
        let reach = 0.5 * hole.diameter_mm + hole.off_mm.abs();
        if reach.is_nan() || reach >= 0.5 * size.unwrap_or(MEASURE_MAX) {
            let of = size.map_or_else(String::new, |size| format!(" of {size} mm"));
            let message = format!(
                "a hole of {} mm, {} mm off the middle, does not stay inside the section{of}",
                hole.diameter_mm, hole.off_mm
            );
            say(if hole.off_mm == 0.0 { "diameter" } else { "off" }, message);
        }
    }
}

fn contacts(design: &Design, members: &[FrameMember], tags: &Tags, violations: &mut Vec<Violation>) {
    let mut contact = |path: String, contact_mm: f64, tag: &str| {
        let length = tags.member(tag).and_then(|index| members.get(index)).map_or(f64::MAX, |m| m.length_mm);
        if !(contact_mm >= LEAST_MM && contact_mm <= length + ROUNDING_MM) {
            let message = format!("{contact_mm} mm of contact do not fit on `{tag}`, which is {length} mm long");
            violations.push(Violation::new(path, message));
        }
    };
    for (i, joint) in design.joints.iter().enumerate() {
        for (k, (length, tag)) in joint.contact_mm.into_iter().flatten().zip([&joint.member, &joint.on]).enumerate() {
            contact(format!("joints[{i}].bearing[{k}]"), length, tag);
        }
    }
    for (i, anchor) in design.anchors.iter().enumerate() {
        if let Some(length) = anchor.contact_mm {
            contact(format!("anchors[{i}].bearing"), length, &anchor.member);
        }
    }
}
