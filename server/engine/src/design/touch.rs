//! Where two members touch: the plane, the shape and the direction of their contact, from their solids.
//!
//! A contact is known where a face of one lies on a face of the other, or where an end of one is cut to fit a face of
//! the other. What is drawn through one another (axes meeting in a point) or rests on an edge has none.

use super::frame::{FrameJoint, FrameMember, GAP_LIMIT_MM};
use super::vector::{add, cross, dot, scale, sub, unit};
use super::{Face, Joint, Member, Section, Vector};

/// Cosine from which two directions count as one (about 3 degrees).
const PARALLEL: f64 = 0.9986;
/// Least cosine between a contact's direction and a member cut to fit it there.
const LEAST_END: f64 = 0.2;
/// Smallest contact that is one, mm².
const LEAST_AREA_MM2: f64 = 1.0;

/// A side of a member: the section axis (1: y, 2: z) and the sign of its outward direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SideFace {
    /// 1 or 2.
    pub axis: usize,
    /// True where it looks along the axis.
    pub positive: bool,
}

impl SideFace {
    /// Outward direction, vehicle axes.
    pub fn outward(self, member: &FrameMember) -> Vector {
        scale(member.axes[self.axis], if self.positive { 1.0 } else { -1.0 })
    }

    /// The side a notch is cut into.
    pub fn of(face: Face) -> Self {
        let (axis, positive) = match face {
            Face::Lower => (2, false),
            Face::Upper => (2, true),
            Face::Left => (1, false),
            Face::Right => (1, true),
        };
        Self { axis, positive }
    }
}

/// A contact as one of its two members has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// The side that is touched; `None`: an end.
    pub side: Option<SideFace>,
    /// Cosine between the contact's direction and the grain: 0 on a side.
    pub along: f64,
    /// Where the contact begins and ends along the member, mm from its start.
    pub from_mm: f64,
    /// Where it ends.
    pub to_mm: f64,
    /// Length of the contact along the grain (on a cut end: of the cut), mm.
    pub length_mm: f64,
    /// Mean width across it, mm.
    pub width_mm: f64,
}

/// A contact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// Unit vector square to the contact, from the carrying to the carried member.
    pub normal: Vector,
    /// The contact on the carried and on the carrying member.
    pub parts: [Part; 2],
}

/// A member of a joint.
#[derive(Clone, Copy)]
struct Body<'a> {
    stated: &'a Member,
    placed: &'a FrameMember,
    at_mm: f64,
    solid: bool,
}

/// The contact of a joint; the largest where several would do, `None` where none is known. `members` and `stock` are
/// the design's sections for the carried and the carrying member.
pub fn touch(joint: &FrameJoint, stated: &Joint, members: [(&Member, &FrameMember, &Section); 2]) -> Option<Touch> {
    let [(carried, placed, section), (carrying, placed_on, section_on)] = members;
    // A round timber lies on a line.
    let solid = |section: &Section| !matches!(section, Section::Round { .. } | Section::RoundTube { .. });
    let a = Body { stated: carried, placed, at_mm: joint.at_mm, solid: solid(section) };
    let b = Body { stated: carrying, placed: placed_on, at_mm: joint.on_at_mm, solid: solid(section_on) };
    if !(a.solid && b.solid) {
        return None;
    }
    let found = directions(&a, &b).into_iter().filter_map(|normal| contact(&a, &b, normal));
    let largest = found.max_by(|p, q| p.1.total_cmp(&q.1));
    largest.map(|(touch, _)| with_stated(touch, stated.contact_mm, &a, &b))
}

/// Directions that a contact may have, each from `b` towards `a`.
fn directions(a: &Body<'_>, b: &Body<'_>) -> Vec<Vector> {
    let between = sub(a.placed.point(a.at_mm), b.placed.point(b.at_mm));
    let axes = a.placed.axes.iter().chain(&b.placed.axes);
    axes.flat_map(|axis| {
        let along = dot(*axis, between);
        // A joint whose places coincide across this axis may lie on either side.
        let signs: &[f64] = if along > 1e-6 {
            &[1.0]
        } else if along < -1e-6 {
            &[-1.0]
        } else {
            &[1.0, -1.0]
        };
        signs.iter().map(|sign| scale(*axis, *sign)).collect::<Vec<_>>()
    })
    .collect()
}

/// A contact square to `normal` and its area, where the faces meet.
fn contact(a: &Body<'_>, b: &Body<'_>, normal: Vector) -> Option<(Touch, f64)> {
    let (on_a, on_b) = (a.patch(scale(normal, -1.0))?, b.patch(normal)?);
    // An end is cut to fit a side or another end that is square; two slanting ends fit only by chance.
    if on_a.slanting && on_b.slanting {
        return None;
    }
    let apart = on_a.offset_mm + on_b.offset_mm;
    if apart.abs() > GAP_LIMIT_MM {
        return None;
    }
    let first = unit(cross(normal, least_along(normal)))?;
    let frame = [first, cross(normal, first)];
    let flat = |corners: &[Vector]| -> Vec<[f64; 2]> {
        corners.iter().map(|corner| frame.map(|axis| dot(*corner, axis))).collect()
    };
    let shared = clip(flat(&on_a.corners), &flat(&on_b.corners));
    let area = area(&shared);
    if area < LEAST_AREA_MM2 {
        return None;
    }
    let part = |body: &Body<'_>, patch: &Patch| body.part(patch, normal, frame, &shared, area);
    Some((Touch { normal, parts: [part(a, &on_a), part(b, &on_b)] }, area))
}

/// The vehicle axis that a direction has least of.
fn least_along(normal: Vector) -> Vector {
    let least = (0..3).min_by(|i, j| normal[*i].abs().total_cmp(&normal[*j].abs())).unwrap_or(0);
    std::array::from_fn(|axis| if axis == least { 1.0 } else { 0.0 })
}

/// A face of a member that may be touched.
struct Patch {
    side: Option<SideFace>,
    /// Distance of the face from the vehicle's origin along its own outward direction, notches taken away; two faces
    /// that look at one another touch where the sum is 0.
    offset_mm: f64,
    corners: Vec<Vector>,
    slanting: bool,
}

impl Body<'_> {
    /// The face that looks along `outward`.
    fn patch(&self, outward: Vector) -> Option<Patch> {
        let block = self.placed.block()?;
        let side = [1, 2].into_iter().find(|axis| dot(block.axes[*axis], outward).abs() > PARALLEL);
        if let Some(axis) = side {
            let side = SideFace { axis, positive: dot(block.axes[axis], outward) > 0.0 };
            let other = 3 - axis;
            let corner = |along: f64, across: f64| {
                let x = scale(block.axes[0], along * block.half[0]);
                add(add(block.middle, x), scale(block.axes[other], across * block.half[other]))
            };
            let corners = vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
            let face_mm = block.half[axis] - self.cut_mm(side);
            let offset_mm = -(dot(self.placed.point(self.at_mm), outward) + face_mm);
            return Some(Patch { side: Some(side), offset_mm, corners, slanting: false });
        }
        self.end(outward)
    }

    /// The end that looks along `outward`, cut square to it through the end of the axis.
    fn end(&self, outward: Vector) -> Option<Patch> {
        let placed = self.placed;
        let (width, depth) = (placed.section.width_mm?, placed.section.depth_mm?);
        let away = dot(placed.axes[0], outward);
        if away.abs() < LEAST_END {
            return None;
        }
        let end_mm = if away > 0.0 { placed.length_mm } else { 0.0 };
        if (self.at_mm - end_mm).abs() > width.max(depth) + GAP_LIMIT_MM {
            return None;
        }
        let end = placed.point(end_mm);
        let corner = |y: f64, z: f64| {
            let edge = add(scale(placed.axes[1], 0.5 * y * width), scale(placed.axes[2], 0.5 * z * depth));
            // Along the edge to the plane of the cut.
            add(end, sub(edge, scale(placed.axes[0], dot(edge, outward) / away)))
        };
        let corners = vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
        Some(Patch { side: None, offset_mm: -dot(end, outward), corners, slanting: away.abs() < PARALLEL })
    }

    /// Depth of the notch at the joint in a side.
    fn cut_mm(&self, side: SideFace) -> f64 {
        let here = self.stated.notches.iter().filter(|notch| {
            SideFace::of(notch.face) == side && notch.from_mm <= self.at_mm && notch.to_mm >= self.at_mm
        });
        here.map(|notch| notch.depth_mm).fold(0.0, f64::max)
    }

    fn part(&self, patch: &Patch, normal: Vector, frame: [Vector; 2], shared: &[[f64; 2]], area: f64) -> Part {
        let x = self.placed.axes[0];
        let along = if patch.side.is_some() { 0.0 } else { dot(x, normal).abs().min(1.0) };
        // The grain within the plane of the contact; on a square end the width's direction stands in for it.
        let within = sub(x, scale(normal, dot(x, normal)));
        let grain = unit(within).filter(|_| along < PARALLEL).unwrap_or(self.placed.axes[1]);
        let flat = frame.map(|axis| dot(axis, grain));
        let spread = |direction: [f64; 2]| {
            let values = shared.iter().map(|p| p[0] * direction[0] + p[1] * direction[1]);
            values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)])
        };
        let [low, high] = spread(flat);
        let length_mm = high - low;
        let start = dot(self.placed.from, grain);
        let (from_mm, to_mm) =
            if patch.side.is_some() { (low - start, high - start) } else { (self.at_mm, self.at_mm) };
        Part { side: patch.side, along, from_mm, to_mm, length_mm, width_mm: area / length_mm }
    }
}

/// The contact with its lengths as stated, about the middle of what was found. Where the members cross, the length along
/// one is the width on the other.
fn with_stated(mut touch: Touch, lengths: Option<[f64; 2]>, a: &Body<'_>, b: &Body<'_>) -> Touch {
    let Some(lengths) = lengths else { return touch };
    let crossing = 1.0 - dot(a.placed.axes[0], b.placed.axes[0]).powi(2);
    let crossed = crossing > 0.5 && touch.parts.iter().all(|part| part.side.is_some());
    for (index, part) in touch.parts.iter_mut().enumerate() {
        if part.side.is_none() {
            continue;
        }
        let middle = 0.5 * (part.from_mm + part.to_mm);
        part.length_mm = lengths[index];
        if crossed {
            part.width_mm = lengths[1 - index] * crossing.sqrt();
        }
        (part.from_mm, part.to_mm) = (middle - 0.5 * part.length_mm, middle + 0.5 * part.length_mm);
    }
    // An end presses no wider than the side it stands on is stated to be touched.
    let side = touch.parts.iter().find(|part| part.side.is_some()).copied();
    for part in touch.parts.iter_mut().filter(|part| part.side.is_none()) {
        if let Some(side) = side {
            part.width_mm = part.width_mm.min(side.length_mm * side.width_mm / part.length_mm);
        }
    }
    touch
}

/// The part of a convex shape within another (Sutherland and Hodgman 1974; from memory).
fn clip(mut shape: Vec<[f64; 2]>, within: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let turn = if signed_area(within) < 0.0 { -1.0 } else { 1.0 };
    for (index, from) in within.iter().enumerate() {
        let to = within[(index + 1) % within.len()];
        let inside =
            |p: &[f64; 2]| turn * ((to[0] - from[0]) * (p[1] - from[1]) - (to[1] - from[1]) * (p[0] - from[0]));
        let mut kept = Vec::with_capacity(shape.len() + 1);
        for (i, p) in shape.iter().enumerate() {
            let q = &shape[(i + 1) % shape.len()];
            let (at_p, at_q) = (inside(p), inside(q));
            if at_p >= 0.0 {
                kept.push(*p);
            }
            if (at_p >= 0.0) != (at_q >= 0.0) {
                let share = at_p / (at_p - at_q);
                kept.push([p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]);
            }
        }
        shape = kept;
    }
    shape
}

fn signed_area(shape: &[[f64; 2]]) -> f64 {
    let next = shape.iter().skip(1).chain(shape.first());
    0.5 * shape.iter().zip(next).map(|(p, q)| p[0] * q[1] - q[0] * p[1]).sum::<f64>()
}

fn area(shape: &[[f64; 2]]) -> f64 {
    signed_area(shape).abs()
}
