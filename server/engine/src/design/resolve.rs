//! From tags and coordinates to indices, axes and places on members.

use super::frame::{self, FrameAnchor, FrameJoint, FrameMaterial, FrameMember, JointGap};
use super::line::{self, Line};
use super::vector::{self, VEHICLE, member_axes, norm, sub};
use super::{Axes, Design, Grip, Hold, Material, Violation, section};
use crate::tables::{self, Entry};
use std::collections::{BTreeMap, BTreeSet};

/// Member tags to indices.
#[derive(Clone, Debug)]
pub struct Tags(BTreeMap<String, usize>);

impl Tags {
    /// The tags of a design.
    pub fn new(design: &Design) -> Self {
        Self(design.members.iter().enumerate().map(|(i, m)| (m.tag.clone(), i)).collect())
    }

    /// Index of a member.
    pub fn member(&self, tag: &str) -> Option<usize> {
        self.0.get(tag).copied()
    }
}

/// Members with axes, section figures and material figures. Assumes [`super::validate::design`] found nothing.
pub fn members(design: &Design, violations: &mut Vec<Violation>) -> Vec<FrameMember> {
    let stock: BTreeMap<&str, usize> = design.stock.iter().enumerate().map(|(i, s)| (s.name.as_str(), i)).collect();
    let sections: Vec<_> = design.stock.iter().map(section::of).collect();
    let mut members = Vec::with_capacity(design.members.len());
    for (index, member) in design.members.iter().enumerate() {
        let path = format!("members[{index}]");
        let Some(&stock) = stock.get(member.stock.as_str()) else { continue };
        let Some(axes) = member_axes(member.from, member.to, member.up, member.roll_deg) else {
            let message = format!("`up` of `{}` points along the member, so its depth has no direction", member.tag);
            violations
                .push(Violation::new(format!("{path}.up"), message).mend("choose a direction square to the member"));
            continue;
        };
        let Some((material, e_n_mm2, g_n_mm2, density_kg_m3)) = super::stiffness_of(&design.stock[stock]) else {
            continue;
        };
        members.push(FrameMember {
            length_mm: norm(sub(member.to, member.from)),
            from: member.from,
            axes,
            section: sections[stock],
            material,
            e_n_mm2,
            g_n_mm2,
            density_kg_m3,
            stock,
        });
    }
    members
}

/// The lesser outer side of a section, where known.
pub fn least_side(section: &section::SectionProperties) -> Option<f64> {
    Some(section.width_mm?.min(section.depth_mm?))
}

/// Mean E, G (N/mm²) and density (kg/m³) of a material; `None` where the tables do not know it. `least_side_mm` tells
/// a strip of sheet its thickness.
pub fn stiffness(material: &Material, least_side_mm: Option<f64>) -> Option<(FrameMaterial, f64, f64, f64)> {
    match material {
        Material::Given { e_n_mm2, g_n_mm2, density_kg_m3 } => {
            Some((FrameMaterial::Given, *e_n_mm2, *g_n_mm2, *density_kg_m3))
        }
        Material::Class(name) => {
            let entry = tables::find(name, least_side_mm)?;
            let figures = entry.stiffness()?;
            let material = match entry {
                Entry::Timber(class) => FrameMaterial::Timber(class),
                Entry::Metal(class) => FrameMaterial::Metal(class.name),
                Entry::Panel(panel) => FrameMaterial::Panel(panel),
            };
            Some((material, figures.e_n_mm2, figures.g_n_mm2, figures.density_kg_m3))
        }
    }
}

/// The six grips of a hold, and whether it is an idealised one.
fn grips(hold: &Hold) -> ([Grip; 6], bool) {
    use Grip::{Free, Rigid};
    match hold {
        Hold::Rigid => ([Rigid; 6], true),
        Hold::Pinned => ([Rigid, Rigid, Rigid, Free, Free, Free], true),
        Hold::Seated => ([Rigid, Rigid, Rigid, Rigid, Free, Free], true),
        Hold::Given(grips) => (*grips, false),
    }
}

/// A roll is held about the carried member's own length, whatever axes are named; all other holds keep their axes.
fn hold_axes(hold: &Hold, axes: Axes, member: &FrameMember) -> vector::Triad {
    match (hold, axes) {
        (Hold::Seated, _) | (_, Axes::Member) => member.axes,
        _ => VEHICLE,
    }
}

/// A seated anchor's movement stated in vehicle axes, along its member.
fn settlement(anchor: &super::Anchor, member: &FrameMember) -> [f64; 6] {
    let mut settlement = anchor.settlement;
    if anchor.hold == Hold::Seated && anchor.axes == Axes::Vehicle {
        let [x, y, z, ..] = anchor.settlement;
        settlement[..3].copy_from_slice(&vector::to_local(&member.axes, [x, y, z]));
    }
    settlement
}

/// Places joints, and sets apart those whose members do not touch.
pub fn joints(
    design: &Design,
    members: &[FrameMember],
    tags: &Tags,
    violations: &mut Vec<Violation>,
) -> (Vec<FrameJoint>, Vec<JointGap>) {
    let mut joints = Vec::with_capacity(design.joints.len());
    let mut gaps = Vec::new();
    for (index, joint) in design.joints.iter().enumerate() {
        let (Some(member), Some(on)) = (tags.member(&joint.member), tags.member(&joint.on)) else { continue };
        let (carried, carrying) = (&members[member], &members[on]);
        let (nearest, nearest_on) = line::nearest(&line_of(carried), &line_of(carrying), joint.at_mm);
        let at_mm = joint.at_mm.map_or(nearest, |at| clamp_end(at, carried.length_mm));
        let on_at_mm = joint.on_at_mm.map_or(nearest_on, |at| clamp_end(at, carrying.length_mm));
        out_of_member(joint.at_mm, carried, &format!("joints[{index}].at"), &joint.member, violations);
        out_of_member(joint.on_at_mm, carrying, &format!("joints[{index}].on_at"), &joint.on, violations);
        if let Some(gap_mm) = frame::gap_mm(carried, carrying).filter(|gap| *gap > frame::GAP_LIMIT_MM) {
            gaps.push(JointGap { member, on, gap_mm });
            continue;
        }
        let (grips, idealised) = grips(&joint.hold);
        let tag = joint_tag(joint);
        let axes = hold_axes(&joint.hold, joint.axes, carried);
        joints.push(FrameJoint { stated: index, tag, member, on, at_mm, on_at_mm, grips, axes, idealised });
    }
    (joints, gaps)
}

/// Places anchors.
pub fn anchors(
    design: &Design,
    members: &[FrameMember],
    tags: &Tags,
    violations: &mut Vec<Violation>,
) -> Vec<FrameAnchor> {
    let mut anchors = Vec::with_capacity(design.anchors.len());
    let names = anchor_tags(design);
    for (index, anchor) in design.anchors.iter().enumerate() {
        let Some(member) = tags.member(&anchor.member) else { continue };
        let path = format!("anchors[{index}].at");
        out_of_member(Some(anchor.at_mm), &members[member], &path, &anchor.member, violations);
        let (grips, _) = grips(&anchor.hold);
        anchors.push(FrameAnchor {
            tag: names[index].clone(),
            member,
            at_mm: clamp_end(anchor.at_mm, members[member].length_mm),
            grips,
            axes: hold_axes(&anchor.hold, anchor.axes, &members[member]),
            settlement: settlement(anchor, &members[member]),
        });
    }
    anchors
}

/// Tag of a joint: its own, or `ON/MEMBER`.
pub fn joint_tag(joint: &super::Joint) -> String {
    joint.tag.clone().unwrap_or_else(|| format!("{}/{}", joint.on, joint.member))
}

/// Tag of every anchor of a design: its own, or `MEMBER/TO`, with `@PLACE` behind it where a member is fixed to the
/// same thing more than once.
pub fn anchor_tags(design: &Design) -> Vec<String> {
    let twice = twice_anchored(design);
    let name = |anchor: &super::Anchor| {
        let plain = format!("{}/{}", anchor.member, anchor.to);
        if twice.contains(&plain) { format!("{plain}@{}", anchor.at_mm) } else { plain }
    };
    design.anchors.iter().map(|anchor| anchor.tag.clone().unwrap_or_else(|| name(anchor))).collect()
}

/// Plain anchor tags that more than one anchor would bear.
fn twice_anchored(design: &Design) -> BTreeSet<String> {
    let mut seen = BTreeSet::new();
    let untagged = design.anchors.iter().filter(|a| a.tag.is_none());
    untagged.map(|a| format!("{}/{}", a.member, a.to)).filter(|tag| !seen.insert(tag.clone())).collect()
}

fn clamp_end(at: f64, length: f64) -> f64 {
    at.clamp(0.0, length)
}

fn out_of_member(at: Option<f64>, member: &FrameMember, path: &str, tag: &str, violations: &mut Vec<Violation>) {
    let Some(at) = at else { return };
    // A place written with few decimals may lie a hair past the end.
    if at < -1e-6 || at > member.length_mm * (1.0 + 1e-9) + 1e-3 {
        let message = format!("{at} mm is not on `{tag}`, which is {} mm long", round(member.length_mm));
        violations.push(Violation::new(path, message).mend("use a place between its start and its end"));
    }
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn line_of(member: &FrameMember) -> Line {
    Line { from: member.from, along: member.axes[0], length_mm: member.length_mm }
}
