//! Bearing: every joint's contact, and every anchor on which a member is said to lie, judged on both timbers.
//!
//! Forces are those of the first order; a frame that sways is still pressed by its weight.

use crate::check::CheckError;
use crate::check::members::SERVICE_CLASS;
use crate::design::Frame;
use crate::design::frame::{FrameMaterial, FrameMember};
use crate::design::touch::{self, Part, SideFace, Touch};
use crate::design::vector::{dot, scale};
use crate::findings::{Check, CheckKind, LimitState, SectionForces, Verdict};
use crate::rules::bearing::{self, Face};
use crate::rules::combine::Combined;
use crate::statics::Analysis;
use crate::statics::solve::{anchor_force, joint_force};
use crate::tables::timber::Family;
use std::collections::{BTreeMap, BTreeSet};

/// Cosine to plumb from which a direction is up (about 45 degrees).
const UPWARDS: f64 = 0.7;
/// Pressure that uses less than this share of the resistance is none.
const LEAST: f64 = 1e-6;

/// What bearing comes to.
#[derive(Debug, Default)]
pub struct Bearing {
    /// The worst contact of each timber that is pressed.
    pub checks: Vec<Check>,
    /// Members with a joint or anchor whose contact is not known.
    pub open: BTreeSet<usize>,
    /// Tags of joints whose contact was taken from the sizes where the members cross.
    pub by_size: Vec<String>,
}

/// One pressed face with its forces.
struct Pressed {
    member: usize,
    part: Part,
    /// Index among the stretches of its member.
    stretch: usize,
    /// True where the member is carried here.
    carried: bool,
    at_mm: f64,
    /// Pressure in each load case, N.
    cases: Vec<f64>,
}

/// A place on a member where something touches it.
#[derive(Clone, Copy)]
struct Stretch {
    side: Option<SideFace>,
    from_mm: f64,
    to_mm: f64,
}

/// Judges every contact of the computed frame.
///
/// # Errors
/// [`CheckError::Stopped`].
pub fn bearing(analysis: &Analysis<'_>, combined: &[Combined], stop: &dyn Fn() -> bool) -> Result<Bearing, CheckError> {
    let mut found = Bearing::default();
    let mut pressed = Vec::new();
    let mut stretches: Vec<Vec<Stretch>> = vec![Vec::new(); analysis.frame.members.len()];
    joints(analysis, &mut found, &mut pressed, &mut stretches);
    anchors(analysis, &mut found, &mut pressed, &mut stretches);
    let gaps: Vec<Vec<Gaps>> = stretches.iter().map(|stretches| gaps(stretches)).collect();
    let mut worst: BTreeMap<usize, (f64, Check)> = BTreeMap::new();
    for (index, contact) in pressed.iter().enumerate() {
        if index.is_multiple_of(64) && stop() {
            return Err(CheckError::Stopped);
        }
        if analysis.untold[contact.member] {
            continue;
        }
        let gaps = gaps[contact.member].get(contact.stretch).copied().unwrap_or_default();
        let Some(check) = judge(analysis.frame, contact, combined, &gaps) else { continue };
        let beaten = worst.get(&contact.member).is_none_or(|(most, _)| check.utilisation > most * (1.0 + 1e-9));
        if beaten {
            worst.insert(contact.member, (check.utilisation, check));
        }
    }
    found.checks = worst.into_values().map(|(_, check)| check).collect();
    Ok(found)
}

fn joints(analysis: &Analysis<'_>, found: &mut Bearing, pressed: &mut Vec<Pressed>, stretches: &mut [Vec<Stretch>]) {
    let frame = analysis.frame;
    for (index, joint) in frame.joints.iter().enumerate() {
        let pair = [joint.member, joint.on];
        let places = [joint.at_mm, joint.on_at_mm];
        if pair.iter().any(|member| analysis.system.mesh.left_out[*member]) {
            continue;
        }
        let design = frame.design();
        let Some(item) = design.joints.get(joint.stated) else { continue };
        let of = |member: usize| {
            let placed = &frame.members[member];
            (&design.members[member], placed, &design.stock[placed.stock].section)
        };
        let Some(touch) = touch::touch(joint, item, pair.map(of)) else {
            found.open.extend(pair);
            for (member, at_mm) in pair.into_iter().zip(places) {
                stretches[member].push(Stretch { side: None, from_mm: at_mm, to_mm: at_mm });
            }
            continue;
        };
        if item.contact_mm.is_none() {
            found.by_size.push(joint.tag.clone());
        }
        let cases = of_joint(analysis, index, &touch);
        for (side, member) in pair.into_iter().enumerate() {
            let part = touch.parts[side];
            let (carried, at_mm, stretch) = (side == 0, places[side], stretches[member].len());
            stretches[member].push(Stretch { side: part.side, from_mm: part.from_mm, to_mm: part.to_mm });
            pressed.push(Pressed { member, part, stretch, carried, at_mm, cases: cases.clone() });
        }
    }
}

/// How a joint presses its members together in each case, N; negative where it pulls them apart.
fn of_joint(analysis: &Analysis<'_>, joint: usize, touch: &Touch) -> Vec<f64> {
    let solved = analysis.solved.iter().enumerate();
    solved
        .map(|(case, solved)| dot(joint_force(analysis.frame, analysis.mesh_of(case), solved, joint).0, touch.normal))
        .collect()
}

fn anchors(analysis: &Analysis<'_>, found: &mut Bearing, pressed: &mut Vec<Pressed>, stretches: &mut [Vec<Stretch>]) {
    let frame = analysis.frame;
    for (index, (anchor, stated)) in frame.anchors.iter().zip(&frame.design().anchors).enumerate() {
        let (member, placed) = (anchor.member, &frame.members[anchor.member]);
        if analysis.system.mesh.left_out[member] {
            continue;
        }
        // A member that stands on its end is pressed along the grain: its checks have that.
        let length = placed.length_mm;
        let at_end = anchor.at_mm.min(length - anchor.at_mm) <= 1e-6 * length;
        if placed.axes[0][2].abs() > UPWARDS && at_end {
            continue;
        }
        let side = downward(placed);
        let (Some(contact_mm), Some(side)) = (stated.contact_mm, side) else {
            found.open.insert(member);
            stretches[member].push(Stretch { side: None, from_mm: anchor.at_mm, to_mm: anchor.at_mm });
            continue;
        };
        let width = if side.axis == 1 { placed.section.depth_mm } else { placed.section.width_mm };
        let Some(width_mm) = width else { continue };
        let up = scale(side.outward(placed), -1.0);
        let (from_mm, to_mm) = within(anchor.at_mm, contact_mm, length);
        let stretch = stretches[member].len();
        stretches[member].push(Stretch { side: Some(side), from_mm, to_mm });
        let part = Part { side: Some(side), along: 0.0, from_mm, to_mm, length_mm: contact_mm, width_mm };
        let solved = analysis.solved.iter().enumerate();
        let cases = solved
            .map(|(case, solved)| dot(anchor_force(frame, analysis.mesh_of(case), solved, index).0, up))
            .collect();
        pressed.push(Pressed { member, part, stretch, carried: true, at_mm: anchor.at_mm, cases });
    }
}

/// The side on which a member lies.
fn downward(member: &FrameMember) -> Option<SideFace> {
    let sides = [1, 2].into_iter().flat_map(|axis| [false, true].map(|positive| SideFace { axis, positive }));
    sides.into_iter().find(|side| side.outward(member)[2] < -UPWARDS)
}

/// A stretch about a place, moved in where it would pass an end.
fn within(at_mm: f64, size_mm: f64, length_mm: f64) -> (f64, f64) {
    let from = (at_mm - 0.5 * size_mm).min(length_mm - size_mm).max(0.0);
    (from, from + size_mm)
}

/// The worst combination of one contact; `None` where it is no timber of a class or nothing presses.
fn judge(frame: &Frame, contact: &Pressed, combined: &[Combined], gaps: &Gaps) -> Option<Check> {
    let (stated, placed) = (&frame.design().members[contact.member], &frame.members[contact.member]);
    let FrameMaterial::Timber(class) = placed.material else { return None };
    let class = &class.pressed(flatwise(placed, contact.part.side));
    let face = face(placed, class.family, contact, gaps);
    let service_class = frame.design().settings.service_class.unwrap_or(SERVICE_CLASS);
    let mut worst: Option<(f64, &Combined, f64, f64)> = None;
    for combination in combined.iter().filter(|c| c.limit_state == LimitState::Strength) {
        let force: f64 = combination.terms.iter().map(|(case, factor)| factor * contact.cases[*case]).sum();
        let k_mod = combination.k_mod(class.family.into(), service_class);
        let used = force * bearing::per_newton(&face, class, k_mod);
        if used > LEAST && worst.is_none_or(|(most, ..)| used > most * (1.0 + 1e-9)) {
            worst = Some((used, combination, k_mod, force));
        }
    }
    let (_, combination, k_mod, force) = worst?;
    let outcome = bearing::outcome(&face, class, k_mod, force);
    Some(Check {
        tag: stated.tag.clone(),
        member_kind: stated.kind.clone(),
        kind: CheckKind::Bearing,
        clause: outcome.clause.to_owned(),
        at_mm: contact.at_mm,
        point_mm: placed.point(contact.at_mm),
        combination: combination.name.clone(),
        forces: SectionForces::default(),
        demand: outcome.demand,
        resistance: outcome.resistance,
        unit: outcome.unit.to_owned(),
        utilisation: outcome.utilisation,
        verdict: Verdict::of(outcome.utilisation),
        factors: outcome.factors,
        mend: None,
    })
}

/// Whether a side is pressed in the direction of the lesser size, which is square to the veneers of veneer lumber; a
/// side that is not known counts as such.
fn flatwise(placed: &FrameMember, side: Option<SideFace>) -> bool {
    let Some(side) = side else { return true };
    let (Some(width), Some(depth)) = (placed.section.width_mm, placed.section.depth_mm) else { return true };
    if side.axis == 1 { width <= depth } else { depth < width }
}

/// The face as the rules see it.
fn face(placed: &FrameMember, family: Family, contact: &Pressed, gaps: &Gaps) -> Face {
    let Part { side, along, from_mm, to_mm, length_mm, width_mm } = contact.part;
    let mut face = Face { along, length_mm, width_mm, beside_mm: 0.0, k_c_90: 1.0 };
    let Some(side) = side else { return face };
    let [before, after] = gaps.same_face;
    face.beside_mm =
        bearing::beside_mm(length_mm, from_mm, before) + bearing::beside_mm(length_mm, placed.length_mm - to_mm, after);
    let depth = if side.axis == 1 { placed.section.width_mm } else { placed.section.depth_mm };
    // Only where it lies on something: that a load from above is far enough from a support is not proved.
    if let (true, Some(depth)) = (contact.carried, depth) {
        face.k_c_90 = bearing::on_supports(family, length_mm, depth, gaps.nearest);
    }
    face
}

/// Clear distances from a contact to others on its member, mm.
#[derive(Clone, Copy, Debug, Default)]
struct Gaps {
    /// To the next before and after it on the same face.
    same_face: [Option<f64>; 2],
    /// To the nearest on any face.
    nearest: Option<f64>,
}

/// The clear distances of all contacts of a member. One whose face is not known counts for every face.
fn gaps(stretches: &[Stretch]) -> Vec<Gaps> {
    let mut order: Vec<usize> = (0..stretches.len()).collect();
    let middle = |index: usize| stretches[index].from_mm + stretches[index].to_mm;
    order.sort_by(|a, b| middle(*a).total_cmp(&middle(*b)));
    let all = clear(stretches, &order, |_| true);
    let mut gaps: Vec<Gaps> = all
        .iter()
        .map(|both| Gaps { same_face: *both, nearest: both.iter().flatten().copied().reduce(f64::min) })
        .collect();
    for axis in [1, 2] {
        for positive in [false, true] {
            let face = Some(SideFace { axis, positive });
            let same = clear(stretches, &order, |other| other.side.is_none() || other.side == face);
            for (index, _) in stretches.iter().enumerate().filter(|(_, stretch)| stretch.side == face) {
                gaps[index].same_face = same[index];
            }
        }
    }
    gaps
}

/// Clear distance of each stretch to the nearest of some others before and after it, in order along the member.
fn clear(stretches: &[Stretch], order: &[usize], counts: impl Fn(&Stretch) -> bool) -> Vec<[Option<f64>; 2]> {
    let mut found = vec![[None; 2]; stretches.len()];
    let mut reached: Option<f64> = None;
    for index in order {
        let stretch = &stretches[*index];
        found[*index][0] = reached.map(|to| (stretch.from_mm - to).max(0.0));
        if counts(stretch) {
            reached = Some(reached.map_or(stretch.to_mm, |to| to.max(stretch.to_mm)));
        }
    }
    reached = None;
    for index in order.iter().rev() {
        let stretch = &stretches[*index];
        found[*index][1] = reached.map(|from| (from - stretch.to_mm).max(0.0));
        if counts(stretch) {
            reached = Some(reached.map_or(stretch.from_mm, |from| from.min(stretch.from_mm)));
        }
    }
    found
}

#[cfg(test)]
mod tests;
