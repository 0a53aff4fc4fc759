//! Places and bars: where members are cut, and the equations and springs that tie the places together.
//!
//! Every member has its own places (its ends, its joints, its anchors), each with six displacements in vehicle axes.
//! Raw degree of freedom = 6 x place + direction. Members never share places: joints tie them by equations.

use super::constraint::{Equation, Row};
use super::element::Bar;
use super::stiffness::Stiffness;
use crate::design::frame::FrameMember;
use crate::design::vector::{Triad, cross, norm, sub};
use crate::design::{Frame, Grip, Vector};
use std::ops::Range;

/// A place on a member.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    /// Index of the member.
    pub member: usize,
    /// mm from the member's start.
    pub at_mm: f64,
    /// The point, vehicle axes.
    pub point: Vector,
}

/// A bar between two neighbouring places of a member.
#[derive(Clone, Copy, Debug)]
pub struct Element {
    /// Index of the member.
    pub member: usize,
    /// Index of the place it starts at; it ends at the next.
    pub start: usize,
    /// Its stiffness.
    pub bar: Bar,
}

/// What an equation or spring stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holder {
    /// A joint and one of its six directions.
    Joint(usize, usize),
    /// An anchor and one of its six directions.
    Anchor(usize, usize),
    /// Spin of a member about its own length, which nothing holds and no load should drive.
    Spin(usize),
}

/// A spring between displacements: stiffness times row · u, less the stiffness times `rest`.
#[derive(Clone, Debug)]
pub struct Spring {
    /// What it stands for.
    pub holder: Holder,
    /// Its stretch by raw degrees of freedom.
    pub row: Row,
    /// Stiffness, N/mm or N·mm/rad.
    pub stiffness: f64,
    /// Stretch at which it is at rest (settlement of a springy anchor).
    pub rest: f64,
}

/// Where the equations and springs of one joint or anchor stand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Holds {
    /// Range of equations.
    pub equations: Range<usize>,
    /// Range of springs.
    pub springs: Range<usize>,
}

/// The frame as places, bars, equations and springs.
#[derive(Clone, Debug)]
pub struct Mesh {
    /// All places, member by member, along each member.
    pub places: Vec<Place>,
    /// Per member: index of its first place and one past its last.
    pub spans: Vec<(usize, usize)>,
    /// Bars, member by member.
    pub elements: Vec<Element>,
    /// Rigid holds.
    pub equations: Vec<Equation>,
    /// What each equation stands for.
    pub holders: Vec<Holder>,
    /// Springy holds.
    pub springs: Vec<Spring>,
    /// Per joint: where its equations and springs stand.
    pub joint_holds: Vec<Holds>,
    /// Per anchor: where its equations and springs stand.
    pub anchor_holds: Vec<Holds>,
    /// Members left out because nothing holds their part, or it can move.
    pub left_out: Vec<bool>,
    /// Members whose spin about their own length was set aside.
    pub spinning: Vec<usize>,
    /// Length a turn is compared with, mm.
    pub arm: f64,
}

/// How a frame is to be cut, and how stiff its parts are taken.
#[derive(Clone, Copy, Debug)]
pub struct Plan<'a> {
    /// Members that are left out.
    pub left_out: &'a [bool],
    /// Further places per member, mm from its start, for results within the bars; empty: none.
    pub further: &'a [Vec<f64>],
    /// Stiffness of the parts.
    pub stiffness: Stiffness,
}

impl<'a> Plan<'a> {
    /// Mean stiffness, cut only where something happens.
    pub fn plain(left_out: &'a [bool]) -> Self {
        Self { left_out, further: &[], stiffness: Stiffness::Mean }
    }
}

impl Mesh {
    /// Bars of a member.
    pub fn bars(&self, member: usize) -> Range<usize> {
        let (first, last) = self.spans[member];
        let from = self.elements.partition_point(|e| e.start < first);
        from..from + (last - first).saturating_sub(1)
    }

    /// Cuts the members of a frame by a plan.
    pub fn new(frame: &Frame, plan: &Plan<'_>) -> Self {
        let left_out = plan.left_out;
        let cuts = cuts(frame, plan.further);
        let mut mesh = Self {
            places: Vec::new(),
            spans: Vec::with_capacity(frame.members.len()),
            elements: Vec::new(),
            equations: Vec::new(),
            holders: Vec::new(),
            springs: Vec::new(),
            joint_holds: Vec::with_capacity(frame.joints.len()),
            anchor_holds: Vec::with_capacity(frame.anchors.len()),
            left_out: left_out.to_vec(),
            spinning: Vec::new(),
            arm: arm(frame),
        };
        for (index, member) in frame.members.iter().enumerate() {
            let first = mesh.places.len();
            if !left_out[index] {
                mesh.cut(index, &cuts[index], member, plan.stiffness);
            }
            mesh.spans.push((first, mesh.places.len()));
        }
        mesh.hold(frame, plan.stiffness);
        mesh.set_spin_aside(frame);
        mesh
    }

    /// The same places, bars and holds in another state of stiffness.
    pub fn in_state(&self, frame: &Frame, stiffness: Stiffness) -> Self {
        let mut mesh = self.clone();
        for Element { member, bar, .. } in &mut mesh.elements {
            *bar = whole(&frame.members[*member], stiffness).with_length(bar.length);
        }
        for spring in &mut mesh.springs {
            let Holder::Joint(index, k) = spring.holder else { continue };
            let joint = &frame.joints[index];
            if let Grip::Spring(now) = stiffness.joint(frame, joint, joint.grips[k]) {
                spring.stiffness = now;
            }
        }
        mesh
    }

    fn cut(&mut self, index: usize, cuts: &[f64], member: &FrameMember, stiffness: Stiffness) {
        let bar = whole(member, stiffness);
        for (k, at_mm) in cuts.iter().enumerate() {
            if k + 1 < cuts.len() {
                let start = self.places.len();
                self.elements.push(Element { member: index, start, bar: bar.with_length(cuts[k + 1] - at_mm) });
            }
            self.places.push(Place { member: index, at_mm: *at_mm, point: member.point(*at_mm) });
        }
    }

    /// Index of the place of a member nearest to `at_mm`.
    pub fn place(&self, member: usize, at_mm: f64) -> usize {
        let (first, last) = self.spans[member];
        let after = first + self.places[first..last].partition_point(|p| p.at_mm < at_mm);
        let nearer_before =
            after > first && (after == last || at_mm - self.places[after - 1].at_mm < self.places[after].at_mm - at_mm);
        if nearer_before { after - 1 } else { after }
    }

    /// Number of raw degrees of freedom.
    pub fn raw_count(&self) -> usize {
        6 * self.places.len()
    }

    fn hold(&mut self, frame: &Frame, stiffness: Stiffness) {
        for (index, joint) in frame.joints.iter().enumerate() {
            let before = self.held();
            if !self.left_out[joint.member] && !self.left_out[joint.on] {
                let carried = self.place(joint.member, joint.at_mm);
                let carrying = self.place(joint.on, joint.on_at_mm);
                let arm = sub(self.places[carried].point, self.places[carrying].point);
                for (k, grip) in joint.grips.iter().enumerate() {
                    let row = || joint_row(carried, carrying, arm, &joint.axes, k);
                    let grip = stiffness.joint(frame, joint, *grip);
                    self.grip(grip, Holder::Joint(index, k), row, 0.0);
                }
            }
            self.joint_holds.push(self.since(before));
        }
        for (index, anchor) in frame.anchors.iter().enumerate() {
            let before = self.held();
            if !self.left_out[anchor.member] {
                let place = self.place(anchor.member, anchor.at_mm);
                for (k, grip) in anchor.grips.iter().enumerate() {
                    let row = || sorted(direction(place, &anchor.axes, k, 1.0));
                    self.grip(*grip, Holder::Anchor(index, k), row, anchor.settlement[k]);
                }
            }
            self.anchor_holds.push(self.since(before));
        }
    }

    fn held(&self) -> (usize, usize) {
        (self.equations.len(), self.springs.len())
    }

    fn since(&self, (equations, springs): (usize, usize)) -> Holds {
        Holds { equations: equations..self.equations.len(), springs: springs..self.springs.len() }
    }

    fn grip(&mut self, grip: Grip, holder: Holder, row: impl Fn() -> Row, value: f64) {
        match grip {
            Grip::Free => {}
            Grip::Rigid => {
                self.equations.push(Equation { row: row(), value });
                self.holders.push(holder);
            }
            Grip::Spring(stiffness) => self.springs.push(Spring { holder, row: row(), stiffness, rest: value }),
        }
    }

    /// A member that nothing keeps from turning about its own length gets one equation that does. Its multiplier is
    /// the torque that loads put into the spin; where it is not zero the spin is a mechanism after all.
    fn set_spin_aside(&mut self, frame: &Frame) {
        let mut opposed = vec![0.0_f64; frame.members.len()];
        let rows = self.equations.iter().map(|e| &e.row).chain(self.springs.iter().map(|s| &s.row));
        for row in rows {
            let mut work: [(usize, f64); 2] = [(usize::MAX, 0.0); 2];
            for (dof, coefficient) in row.iter().filter(|e| e.0 % 6 >= 3) {
                let member = self.places[dof / 6].member;
                let amount = coefficient * frame.members[member].axes[0][dof % 6 - 3];
                if let Some(slot) = work.iter_mut().find(|w| w.0 == member || w.0 == usize::MAX) {
                    *slot = (member, slot.1 + amount);
                }
            }
            // Against a coefficient of one for a turn; an arm of 1e-6 mm is no hold.
            for (member, amount) in work.into_iter().filter(|w| w.0 != usize::MAX && w.1.abs() > 1e-6) {
                opposed[member] = opposed[member].max(amount.abs());
            }
        }
        for (member, strength) in opposed.iter().enumerate() {
            if *strength == 0.0 && !self.left_out[member] {
                let place = self.spans[member].0;
                self.equations
                    .push(Equation { row: sorted(direction(place, &frame.members[member].axes, 3, 1.0)), value: 0.0 });
                self.holders.push(Holder::Spin(member));
                self.spinning.push(member);
            }
        }
    }
}

/// A member as one bar.
fn whole(member: &FrameMember, stiffness: Stiffness) -> Bar {
    let (e, g) = stiffness.moduli(member);
    Bar {
        length: member.length_mm,
        ea: e * member.section.area_mm2,
        gj: g * member.section.j_mm4,
        eiy: e * member.section.iy_mm4,
        eiz: e * member.section.iz_mm4,
        gay: member.section.shear_area_y_mm2.map_or(f64::INFINITY, |a| a * g),
        gaz: member.section.shear_area_z_mm2.map_or(f64::INFINITY, |a| a * g),
    }
}

/// Places along each member where something happens, in order, ends included, none closer than a hair.
fn cuts(frame: &Frame, further: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut cuts: Vec<Vec<f64>> = frame.members.iter().map(|m| vec![0.0, m.length_mm]).collect();
    for (list, more) in cuts.iter_mut().zip(further) {
        list.extend(more);
    }
    for joint in &frame.joints {
        cuts[joint.member].push(joint.at_mm);
        cuts[joint.on].push(joint.on_at_mm);
    }
    for anchor in &frame.anchors {
        cuts[anchor.member].push(anchor.at_mm);
    }
    for (list, member) in cuts.iter_mut().zip(&frame.members) {
        list.sort_by(f64::total_cmp);
        // Two joints a hair apart share a place: a bar of 1e-6 of the member would only spoil the equations.
        let near = 1e-6 * member.length_mm;
        let mut kept: Vec<f64> = Vec::with_capacity(list.len());
        for at in list.iter() {
            if kept.last().is_none_or(|last| at - last > near) {
                kept.push(*at);
            }
        }
        if let Some(last) = kept.last_mut().filter(|last| member.length_mm - **last <= near) {
            *last = member.length_mm;
        }
        *list = kept;
    }
    cuts
}

fn arm(frame: &Frame) -> f64 {
    let sum: f64 = frame.members.iter().map(|m| m.length_mm).sum();
    (sum / frame.members.len().max(1) as f64).max(1e-9)
}

/// One direction of a place: a displacement along (k < 3) or a turn about (k >= 3) an axis.
fn direction(place: usize, axes: &Triad, k: usize, sign: f64) -> Row {
    let (axis, first) = (axes[k % 3], if k < 3 { 0 } else { 3 });
    (0..3).map(|i| (6 * place + first + i, sign * axis[i])).collect()
}

/// Movement of the carried place less that of the carrying one, taken to the carried place by a rigid arm:
/// e·u_c - e·(u_o + theta_o x r), with e·(theta x r) = theta·(r x e).
fn joint_row(carried: usize, carrying: usize, arm: Vector, axes: &Triad, k: usize) -> Row {
    let mut row = direction(carried, axes, k, 1.0);
    row.extend(direction(carrying, axes, k, -1.0));
    if k < 3 && norm(arm) > 0.0 {
        let lever = cross(arm, axes[k]);
        row.extend((0..3).map(|i| (6 * carrying + 3 + i, -lever[i])));
    }
    sorted(row)
}

fn sorted(mut row: Row) -> Row {
    row.retain(|e| e.1 != 0.0);
    row.sort_by_key(|e| e.0);
    row
}

#[cfg(test)]
mod tests;
