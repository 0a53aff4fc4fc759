//! One frame, all its load cases: from places to displacements, with the evidence that they are right.

use super::factor::{Factor, FactorError, Lower};
use super::load::{self, LoadCase};
use super::mechanism;
use super::mesh::{Holder, Holds, Mesh, Plan};
use super::system::{Parts, PartsError, SolvedCase, System};
use crate::design::vector::{Triad, add, norm, scale};
use crate::design::{Frame, Vector};
use crate::error::CheckError;
use crate::findings::{Fault, Motion};
use std::collections::BTreeSet;

/// Scaled condition over which nothing is computed.
const CONDITION_MAX: f64 = 1e12;
/// Most operations of one factorisation: some ten seconds of one core (P).
const OPERATIONS_MAX: f64 = 3e10;
/// Most motions that are told of one frame.
const FAULTS_MAX: usize = 12;

/// The solved frame.
pub struct Analysis<'a> {
    /// The frame.
    pub frame: &'a Frame,
    /// Its places, bars, holds and equations (of the part that could be computed).
    pub system: System,
    /// The same in the end, where parts creep differently; set by [`Analysis::creep`].
    pub crept: Option<System>,
    /// Load cases; where parts creep differently those of the end after those of the begin.
    pub cases: Vec<LoadCase>,
    /// Results of each case.
    pub solved: Vec<SolvedCase>,
    /// What kept parts from being computed.
    pub faults: Vec<Fault>,
    /// Per member: left out, or carrying (each through those below) one that is, so that its load is missing.
    pub untold: Vec<bool>,
    /// Estimate of the scaled condition.
    pub condition: f64,
}

/// Solves a frame for all its load cases. Parts that nothing holds and parts that can move are left out and named.
///
/// # Errors
/// [`CheckError::Stopped`] by the stop test, [`CheckError::TooLarge`] when memory runs out.
pub fn analyse<'a>(frame: &'a Frame, stop: &dyn Fn() -> bool) -> Result<Analysis<'a>, CheckError> {
    let cases = load::cases(frame);
    let mut faults = Vec::new();
    let mut left_out = vec![false; frame.members.len()];
    let parts = parts(frame);
    let mut blamed = BTreeSet::new();
    leave_out_unheld(frame, &parts, &mut left_out, &mut faults);
    loop {
        if stop() {
            return Err(CheckError::Stopped);
        }
        let mesh = Mesh::new(frame, &Plan::plain(&left_out));
        match attempt(frame, mesh, &cases)? {
            Attempt::Solved { system, solved, condition } => {
                let untold = untold(frame, &left_out);
                return Ok(Analysis { frame, system: *system, crept: None, cases, solved, faults, untold, condition });
            }
            Attempt::Failed { faults: found, members } => {
                let loose: Vec<usize> = members.iter().map(|m| parts[*m]).collect();
                let before = left_out.iter().filter(|l| **l).count();
                // What moves goes; the rest of its part stays, and is told as far as no load came to it from what moved.
                members.iter().for_each(|m| left_out[*m] = true);
                // Should a fault name nobody new, everything is left out rather than tried for ever.
                if left_out.iter().filter(|l| **l).count() == before {
                    left_out.fill(true);
                }
                // What then moves in the same part only follows from it.
                if !loose.iter().all(|part| blamed.contains(part)) || faults.is_empty() {
                    faults.extend(found);
                }
                blamed.extend(loose);
            }
        }
    }
}

/// Members that can't be judged: left out, or carrying (each through those below) one that is.
fn untold(frame: &Frame, left_out: &[bool]) -> Vec<bool> {
    let mut untold = left_out.to_vec();
    let mut open: Vec<usize> = (0..untold.len()).filter(|m| untold[*m]).collect();
    while let Some(member) = open.pop() {
        for joint in frame.joints.iter().filter(|j| j.member == member) {
            if !std::mem::replace(&mut untold[joint.on], true) {
                open.push(joint.on);
            }
        }
    }
    untold
}

/// Part of each member: members tied by joints are of one part, numbered by their first member.
pub fn parts(frame: &Frame) -> Vec<usize> {
    let mut part: Vec<usize> = (0..frame.members.len()).collect();
    fn find(part: &mut [usize], mut member: usize) -> usize {
        while part[member] != member {
            part[member] = part[part[member]];
            member = part[member];
        }
        member
    }
    for joint in &frame.joints {
        let (a, b) = (find(&mut part, joint.member), find(&mut part, joint.on));
        let low = a.min(b);
        part[a] = low;
        part[b] = low;
    }
    (0..part.len()).map(|m| find(&mut part, m)).collect()
}

fn leave_out_unheld(frame: &Frame, parts: &[usize], left_out: &mut [bool], faults: &mut Vec<Fault>) {
    let mut held = vec![false; parts.len()];
    for anchor in &frame.anchors {
        held[parts[anchor.member]] = true;
    }
    let mut unheld: Vec<usize> = parts.iter().copied().filter(|p| !held[*p]).collect();
    unheld.sort_unstable();
    unheld.dedup();
    for part in unheld {
        let members: Vec<usize> = (0..parts.len()).filter(|m| parts[*m] == part).collect();
        members.iter().for_each(|m| left_out[*m] = true);
        let members = members.iter().map(|m| frame.design().members[*m].tag.clone()).collect();
        faults.push(Fault::Disconnected { members });
    }
}

enum Attempt {
    Solved { system: Box<System>, solved: Vec<SolvedCase>, condition: f64 },
    Failed { faults: Vec<Fault>, members: Vec<usize> },
}

fn too_large(_: FactorError) -> CheckError {
    CheckError::TooLarge { needed_mb: u64::MAX, limit_mb: 0 }
}

fn attempt(frame: &Frame, mesh: Mesh, cases: &[LoadCase]) -> Result<Attempt, CheckError> {
    let parts = match Parts::new(frame, mesh) {
        Ok(parts) => parts,
        Err(PartsError::Contradiction { mesh, equation }) => return Ok(contradicted(frame, &mesh, equation)),
        Err(PartsError::OutOfMemory) => return Err(too_large(FactorError::OutOfMemory)),
    };
    let operations = parts.shape.operations();
    if operations > OPERATIONS_MAX {
        return Err(CheckError::TooCostly { operations, limit: OPERATIONS_MAX });
    }
    let factor = match parts.factor() {
        Ok(factor) => factor,
        Err(FactorError::OutOfMemory) => return Err(too_large(FactorError::OutOfMemory)),
        Err(FactorError::NotPositive) => return loose(frame, &parts),
    };
    let condition = condition(&parts.scaled, &factor);
    if condition > 1e10 {
        let failed = loose(frame, &parts)?;
        let Attempt::Failed { faults, .. } = &failed else { return Ok(failed) };
        if condition > CONDITION_MAX || !faults.iter().any(|f| matches!(f, Fault::IllConditioned { .. })) {
            return Ok(failed);
        }
    }
    let system = parts.with(factor);
    let solved = system.solve(frame, cases);
    if let Some(failed) = driven_spin(frame, &system.mesh, &solved) {
        return Ok(failed);
    }
    Ok(Attempt::Solved { system: Box::new(system), solved, condition })
}

fn contradicted(frame: &Frame, mesh: &Mesh, equation: usize) -> Attempt {
    let (anchor, member) = match mesh.holders[equation] {
        Holder::Anchor(index, _) => (frame.anchors[index].tag.clone(), frame.anchors[index].member),
        Holder::Joint(index, _) => (frame.joints[index].tag.clone(), frame.joints[index].member),
        Holder::Spin(member) => (frame.design().members[member].tag.clone(), member),
    };
    Attempt::Failed { faults: vec![Fault::Contradiction { anchor }], members: vec![member] }
}

/// Names what moves; when nothing does, the stiffnesses are too far apart.
fn loose(frame: &Frame, parts: &Parts) -> Result<Attempt, CheckError> {
    let mesh = &parts.mesh;
    let motions = mechanism::motions(parts).unwrap_or_default();
    if motions.is_empty() {
        return Ok(far_apart(frame, mesh));
    }
    let mut faults = Vec::new();
    let mut members = Vec::new();
    for motion in &motions {
        let (fault, movers) = mechanism::describe(frame, mesh, motion);
        if faults.len() < FAULTS_MAX {
            faults.push(fault);
        }
        members.extend(movers);
    }
    Ok(Attempt::Failed { faults, members })
}

/// Names the members with the stiffest and the softest bar.
fn far_apart(frame: &Frame, mesh: &Mesh) -> Attempt {
    let stiffness = |e: &super::mesh::Element| {
        let b = &e.bar;
        let least = b.eiy.min(b.eiz) / b.length.powi(3);
        (least.min(b.ea / b.length), least.max(b.ea / b.length))
    };
    let tag = |member: usize| frame.design().members[member].tag.clone();
    let softest = mesh
        .elements
        .iter()
        .min_by(|a, b| stiffness(a).0.total_cmp(&stiffness(b).0))
        .map(|e| (e.member, stiffness(e).0));
    let stiffest = mesh
        .elements
        .iter()
        .max_by(|a, b| stiffness(a).1.total_cmp(&stiffness(b).1))
        .map(|e| (e.member, stiffness(e).1));
    let (Some((soft, low)), Some((stiff, high))) = (softest, stiffest) else {
        return Attempt::Failed { faults: Vec::new(), members: Vec::new() };
    };
    let condition = high / low.max(f64::MIN_POSITIVE);
    let fault = Fault::IllConditioned { stiffest: tag(stiff), softest: tag(soft), condition };
    Attempt::Failed { faults: vec![fault], members: mesh.elements.iter().map(|e| e.member).collect() }
}

/// Largest row sum over the least Rayleigh quotient after a few steps of inverse iteration.
fn condition(scaled: &Lower, factor: &Factor) -> f64 {
    let n = scaled.order;
    if n == 0 {
        return 1.0;
    }
    let mut sums = vec![0.0; n];
    for column in 0..n {
        for k in scaled.starts[column]..scaled.starts[column + 1] {
            let (row, value) = (scaled.rows[k], scaled.values[k].abs());
            sums[row] += value;
            if row != column {
                sums[column] += value;
            }
        }
    }
    let largest = sums.iter().copied().fold(0.0, f64::max);
    let mut vector: Vec<f64> = (0..n).map(|i| 1.0 + 0.37 * ((i * 7919) % 101) as f64 / 101.0).collect();
    let mut least = f64::INFINITY;
    for _ in 0..3 {
        let before = vector.iter().map(|v| v * v).sum::<f64>().sqrt();
        vector.iter_mut().for_each(|v| *v /= before);
        let old = vector.clone();
        factor.solve(&mut vector, 1);
        let gain: f64 = old.iter().zip(&vector).map(|(a, b)| a * b).sum();
        let square: f64 = vector.iter().map(|v| v * v).sum();
        // Quotient of K at the solved vector: x'Kx / x'x with Kx = the vector before.
        least = least.min(gain.abs() / square.max(f64::MIN_POSITIVE));
    }
    let pivot = factor.least_pivot();
    largest / least.min(pivot).max(f64::MIN_POSITIVE)
}

/// Force and moment of the vehicle on the frame at an anchor, vehicle axes.
pub fn anchor_force(frame: &Frame, mesh: &Mesh, solved: &SolvedCase, anchor: usize) -> (Vector, Vector) {
    sum_holds(mesh, solved, &frame.anchors[anchor].axes, &mesh.anchor_holds[anchor])
}

/// Force and moment of the carrying on the carried member at a joint, vehicle axes, at the carried member's place.
pub fn joint_force(frame: &Frame, mesh: &Mesh, solved: &SolvedCase, joint: usize) -> (Vector, Vector) {
    sum_holds(mesh, solved, &frame.joints[joint].axes, &mesh.joint_holds[joint])
}

fn sum_holds(mesh: &Mesh, solved: &SolvedCase, axes: &Triad, holds: &Holds) -> (Vector, Vector) {
    let rigid = holds.equations.clone().map(|i| (mesh.holders[i], solved.held[i]));
    let springs = holds.springs.clone().map(|i| (mesh.springs[i].holder, solved.sprung[i]));
    let mut sums = [[0.0; 3]; 2];
    for (holder, value) in rigid.chain(springs) {
        if let Holder::Anchor(_, k) | Holder::Joint(_, k) = holder {
            sums[k / 3] = add(sums[k / 3], scale(axes[k % 3], value));
        }
    }
    (sums[0], sums[1])
}

/// A spin set aside must not be driven by any load: else the member does turn.
fn driven_spin(frame: &Frame, mesh: &Mesh, solved: &[SolvedCase]) -> Option<Attempt> {
    let mut faults = Vec::new();
    let mut members = Vec::new();
    for (equation, holder) in mesh.holders.iter().enumerate() {
        let Holder::Spin(member) = holder else { continue };
        if solved.iter().any(|case| drives(frame, mesh, case, equation, *member)) {
            let tag = frame.design().members[*member].tag.clone();
            faults.push(Fault::Mechanism {
                members: vec![tag],
                motion: Motion::Turn,
                direction: frame.members[*member].axes[0],
            });
            members.push(*member);
        }
    }
    (!faults.is_empty()).then_some(Attempt::Failed { faults, members })
}

/// True where a case's loads drive the spin that this equation sets aside.
fn drives(frame: &Frame, mesh: &Mesh, case: &SolvedCase, equation: usize, member: usize) -> bool {
    let largest = case.held.iter().map(|h| h.abs()).fold(norm(case.load_sum), f64::max);
    case.held[equation].abs() > 1e-7 * largest * mesh.arm.min(frame.members[member].length_mm).max(1e-9)
}

impl Analysis<'_> {
    /// The first member that a further case would spin about its own length, although its spin was set aside.
    pub fn spun_by(&self, case: &SolvedCase) -> Option<usize> {
        self.system.mesh.holders.iter().enumerate().find_map(|(equation, holder)| match holder {
            Holder::Spin(member) if drives(self.frame, &self.system.mesh, case, equation, *member) => Some(*member),
            _ => None,
        })
    }
}

#[cfg(test)]
mod tests;
